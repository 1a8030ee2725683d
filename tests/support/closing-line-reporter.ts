import { existsSync } from 'node:fs';
import type { Reporter, TestModule } from 'vitest/node';

const SHARED_ABSENT = !existsSync(new URL('../../../shared', import.meta.url));

/**
 * Ends every run with one plain line, `N passed, N failed, N skipped`, and counts what could not even be loaded as
 * failed. With CI=true every skipped test is named and fails the run, but for those that say in their title that they
 * need ../shared, where it is absent: it is no part of the project.
 */
export default class ClosingLineReporter implements Reporter {
  onTestRunEnd(modules: readonly TestModule[], unhandled: readonly unknown[]): void {
    let passed = 0;
    let failed = unhandled.length;
    const skipped: string[] = [];
    for (const module of modules) {
      failed += module.errors().length;
      for (const test of module.children.allTests()) {
        const { state } = test.result();
        if (state === 'passed') passed++;
        else if (state === 'failed') failed++;
        else skipped.push(`${module.relativeModuleId}: ${test.fullName}`);
      }
    }
    const unexcused = skipped.filter(
      (name) => !(SHARED_ABSENT && name.includes('(skipped where ../shared is absent)')),
    );
    const refused = process.env.CI === 'true' && unexcused.length > 0;
    process.on('exit', () => {
      if (refused) {
        process.exitCode = 1;
        process.stdout.write(
          `\nSkipped, which CI=true does not allow:\n${unexcused.map((name) => `  ${name}\n`).join('')}`,
        );
      }
      process.stdout.write(`\n${passed} passed, ${failed} failed, ${skipped.length} skipped\n`);
    });
  }
}
