import type { Flag } from '../../contracts/report.js';
import { mainPerson } from '../facts.js';
import type { FrameContext } from '../setup-state.js';

/** Under this the person was hardly found. Ours. */
const LOW_CONFIDENCE = 0.35;

/** What is not there to judge by. */
export function dataFlags({ frame, light }: FrameContext): Flag[] {
  const { measurement } = frame.facts;
  const flags: Flag[] = [];
  const absent = (['fNumber', 'exposureTimeSeconds', 'iso'] as const).filter(
    (field) => measurement.exposure[field] === null,
  );
  if (absent.length > 0)
    flags.push({
      code: 'no-exposure-data',
      severity: 'note',
      because: `The file does not tell ${absent.join(', ')}: it is judged on what it shows, settings and light not told apart.`,
    });
  const main = mainPerson(measurement);
  if (main === null || main.face === null || main.face.levelStops === null)
    flags.push({
      code: 'no-face',
      severity: 'note',
      because: `No face with a level was found; ${main !== null && frame.facts.basis === 'body' ? 'the body' : 'the whole frame'} stands for the subject.`,
    });
  if (main !== null && main.basis === null)
    flags.push({
      code: 'lower-body-not-in-frame',
      severity: 'note',
      region: 'lower-body',
      because: 'No lower body is in the frame, so nothing is said about light on it.',
    });
  if (main !== null && main.confidence < LOW_CONFIDENCE)
    flags.push({
      code: 'low-confidence',
      severity: 'note',
      because: `The person was found with confidence ${main.confidence.toFixed(2)} only (told under ${LOW_CONFIDENCE}).`,
    });
  if (light.witnesses === 'none')
    flags.push({
      code: 'low-confidence',
      severity: 'note',
      because:
        'Neither another frame of this sitter nor a readable background is there to compare with, so no level is judged.',
    });
  return flags;
}
