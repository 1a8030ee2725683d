import { describe, expect, it } from 'vitest';
import { CLUSTER_INSTALLED, CLUSTER_NOTE } from '../cluster/cluster.js';
import { crashRuns } from '../cluster/crash-runs.js';
import { SCENARIOS } from '../cluster/strikes.js';

const FRAMES = 40;

/** The short form of `npm run crash`, which makes twenty runs of 300 frames of each. */
describe.skipIf(!CLUSTER_INSTALLED)(`a shoot sent while parts of the cluster are killed${CLUSTER_NOTE}`, () => {
  it.each(SCENARIOS)(
    'loses nothing, doubles nothing and falsifies nothing: %s',
    async (scenario) => {
      const results = await crashRuns({ scenarios: [scenario], runs: 1, seed: 7, frames: FRAMES, from: 'source', measuring: 'blank' }); // prettier-ignore
      const [run] = results.get(scenario) ?? [];
      expect(run).toMatchObject({ acknowledged: FRAMES, lost: 0, double: 0, wrong: 0, left: 0 });
      expect(run?.strikes).toHaveLength(3);
    },
    300_000,
  );
});
