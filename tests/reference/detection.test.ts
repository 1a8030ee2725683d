import { describe, expect, it } from 'vitest';
import { STUDIO_PRESENT } from '../../samples/make/studio.js';
import { detect } from '../accuracy/detection.js';

/** All figures, curves, framings and exposures: `npm run accuracy detection`. */
describe.skipIf(!STUDIO_PRESENT)('faces and legs in dark and bright frames (skipped where ../shared is absent)', () => {
  it.each(['ada-front', 'dina-front'])(
    '%s is found at -6, -3, 0 and +2 stops',
    async (render) => {
      for (const stops of [-6, -3, 0, 2]) {
        const found = await detect(render, 'middle-toe', 'full', stops);
        expect(found, `${stops} stops`).toMatchObject({ faceFound: true, legsFound: true, people: 1 });
      }
    },
    60_000,
  );

  it('where no legs are in the frame none are found', async () => {
    expect(await detect('ada-front', 'middle-toe', 'head and shoulders', 0)).toMatchObject({
      faceFound: true,
      legsFound: null,
    });
  });
});
