import { resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { PluginKind, declareClassPlugin } from '@stryker-mutator/api/plugin';
import type { MutantCoverage } from '@stryker-mutator/api/core';
import {
  DryRunStatus,
  TestStatus,
  determineHitLimitReached,
  toMutantRunResult,
  type CompleteDryRunResult,
  type DryRunOptions,
  type DryRunResult,
  type MutantRunOptions,
  type MutantRunResult,
  type TestResult,
  type TestRunner,
  type TestRunnerCapabilities,
} from '@stryker-mutator/api/test-runner';
import { collectTests, getFn, type Suite, type Test, type VitestRunner } from '@vitest/runner';
import { glob } from 'tinyglobby';
import { FAST_SHOOT_TESTS } from './shoot-tests.js';

/** What mutated code reads and writes while it runs. */
interface Switches {
  activeMutant?: string | undefined;
  currentTestId?: string | undefined;
  hitCount?: number | undefined;
  hitLimit?: number | undefined;
  mutantCoverage?: MutantCoverage;
}

/**
 * Runs tests of pure code where they are loaded. Starting vitest anew for every mutant costs a second, most of it for
 * loading the contracts; here the test files are loaded once and a mutant costs what its tests do. Tests are collected by
 * vitest's own runner; hooks are not run, so a file that has any is refused.
 */
class InProcessRunner implements TestRunner {
  private readonly tests = new Map<string, { test: Test; fileName: string }>();
  /** What each test took when it was last run: the fast ones go first, since the first that fails ends a mutant. */
  private readonly tookMs = new Map<string, number>();
  private readonly stryker = ((globalThis as { __stryker__?: Switches }).__stryker__ ??= {});

  capabilities(): TestRunnerCapabilities {
    return { reloadEnvironment: false };
  }

  async init(): Promise<void> {
    const files = await glob(FAST_SHOOT_TESTS, { absolute: true });
    for (const file of await collectTests(files.sort(), collector())) {
      if (file.result?.errors) throw new Error(`Expected tests in ${file.filepath}: ${file.result.errors[0]?.message}`);
      for (const test of testsIn(file))
        this.tests.set(`${file.name}#${nameOf(test)}`, { test, fileName: file.filepath });
    }
  }

  async dryRun({ testFiles }: DryRunOptions): Promise<DryRunResult> {
    const asked = testFiles?.map((file) => resolve(file));
    const ids = [...this.tests].filter(([, { fileName }]) => asked?.includes(fileName) ?? true).map(([id]) => id);
    const result = await this.run(ids, false);
    return { ...result, mutantCoverage: inTestsFirst(this.stryker.mutantCoverage ?? { static: {}, perTest: {} }) };
  }

  async mutantRun({ activeMutant, testFilter, hitLimit, disableBail }: MutantRunOptions): Promise<MutantRunResult> {
    const ids = testFilter ?? [...this.tests.keys()];
    ids.sort((a, b) => (this.tookMs.get(a) ?? 0) - (this.tookMs.get(b) ?? 0));
    this.stryker.hitCount = 0;
    this.stryker.hitLimit = hitLimit;
    this.stryker.activeMutant = activeMutant.id;
    try {
      const result = await this.run(ids, !disableBail);
      return toMutantRunResult(determineHitLimitReached(this.stryker.hitCount, hitLimit) ?? result);
    } finally {
      this.stryker.activeMutant = undefined;
      this.stryker.hitCount = undefined;
    }
  }

  private async run(ids: readonly string[], bail: boolean): Promise<CompleteDryRunResult> {
    const tests: TestResult[] = [];
    for (const id of ids) {
      const found = this.tests.get(id);
      if (found === undefined) throw new Error(`Expected the id of a collected test but received "${id}"`);
      this.stryker.currentTestId = id;
      const startMs = performance.now();
      const failureMessage = await failureOf(found.test);
      const timeSpentMs = performance.now() - startMs;
      this.stryker.currentTestId = undefined;
      this.tookMs.set(id, timeSpentMs);
      const about = { id, name: id, fileName: found.fileName, timeSpentMs };
      tests.push(
        failureMessage === null
          ? { ...about, status: TestStatus.Success }
          : { ...about, status: TestStatus.Failed, failureMessage },
      );
      if (bail && failureMessage !== null) break;
    }
    return { status: DryRunStatus.Complete, tests };
  }
}

/** What tests reach is tried in tests alone; what is reached also while loading would cost a new process for every mutant. */
function inTestsFirst({ static: loading, perTest }: MutantCoverage): MutantCoverage {
  const inTests = new Set(Object.values(perTest).flatMap((hits) => Object.keys(hits)));
  return { static: Object.fromEntries(Object.entries(loading).filter(([id]) => !inTests.has(id))), perTest };
}

async function failureOf(test: Test): Promise<string | null> {
  try {
    await getFn(test)();
    return null;
  } catch (error) {
    return error instanceof Error ? error.message : String(error);
  }
}

function collector(): VitestRunner {
  return {
    config: {
      root: process.cwd(),
      name: undefined,
      setupFiles: [],
      passWithNoTests: false,
      testNamePattern: undefined,
      allowOnly: false,
      sequence: { seed: 0, hooks: 'stack', setupFiles: 'list' },
      maxConcurrency: 1,
      testTimeout: 60_000,
      hookTimeout: 60_000,
      retry: 0,
      includeTaskLocation: false,
      tags: [],
      tagsFilter: undefined,
      strictTags: false,
      chaiConfig: undefined,
    },
    importFile: (path) => import(pathToFileURL(resolve(path)).href),
  };
}

function testsIn(suite: Suite): Test[] {
  return suite.tasks.flatMap((task) => (task.type === 'suite' ? testsIn(task) : task.mode === 'run' ? [task] : []));
}

const nameOf = (task: Test | Suite): string =>
  task.suite === undefined ? task.name : `${nameOf(task.suite)} > ${task.name}`;

export const strykerPlugins = [declareClassPlugin(PluginKind.TestRunner, 'in-process', InProcessRunner)];
