import type { Reporter, TestModule } from 'vitest/node';

/**
 * Ends every run with one plain line, `N passed, N failed, N skipped`, and counts what could not even be loaded as
 * failed. With CI=true every skipped test is named and fails the run: nothing is left out there without being seen.
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
    const refused = process.env.CI === 'true' && skipped.length > 0;
    process.on('exit', () => {
      if (refused) {
        process.exitCode = 1;
        process.stdout.write(
          `\nSkipped, which CI=true does not allow:\n${skipped.map((name) => `  ${name}\n`).join('')}`,
        );
      }
      process.stdout.write(`\n${passed} passed, ${failed} failed, ${skipped.length} skipped\n`);
    });
  }
}
