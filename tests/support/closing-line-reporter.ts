import type { Reporter, TestModule } from 'vitest/node';

/** Ends every run with one plain line, `N passed, N failed, N skipped`, and counts what could not even be loaded as failed. */
export default class ClosingLineReporter implements Reporter {
  onTestRunEnd(modules: readonly TestModule[], unhandled: readonly unknown[]): void {
    let passed = 0;
    let failed = unhandled.length;
    let skipped = 0;
    for (const module of modules) {
      failed += module.errors().length;
      for (const test of module.children.allTests()) {
        const { state } = test.result();
        if (state === 'passed') passed++;
        else if (state === 'failed') failed++;
        else skipped++;
      }
    }
    process.on('exit', () => {
      process.stdout.write(`\n${passed} passed, ${failed} failed, ${skipped} skipped\n`);
    });
  }
}
