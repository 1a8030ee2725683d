import { beforeAll, describe, expect, it } from 'vitest';
import { STUDIO_PRESENT } from '../../samples/make/studio.js';
import { CLEAN, FROM_THE_FRONT, INCIDENTS, shootSameLight, type SameLightResult } from '../accuracy/same-light.js';

/** More curves and another light: `npm run accuracy same-light`. */
describe.skipIf(!STUDIO_PRESENT)('one light on skin from pale to deep (skipped where ../shared is absent)', () => {
  let result: SameLightResult;

  beforeAll(async () => {
    result = await shootSameLight(FROM_THE_FRONT, 'middle-toe');
  }, 200_000);

  it('gives the same flags for the same light, whoever stands in it', () => {
    const { flags } = result;
    for (const [sitter, own] of flags.entries()) expect(own, FROM_THE_FRONT.sitters[sitter]).toEqual(flags[0]);
  });

  it('and they are the right ones: nothing on clean frames, each incident by its name', () => {
    for (const own of result.flags) {
      for (const place of CLEAN) expect(own[place], `frame ${place}`).toBe('');
      for (const [place, code] of INCIDENTS) expect(own[place]).toContain(code);
    }
  });

  it('is one set-up', () => {
    expect(result.report.setups).toHaveLength(1);
  });
});
