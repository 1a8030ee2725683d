import { z } from 'zod';
import { FlagCode, ReportFrame, SetupChange, ShootSummary, Verdict } from './report.js';

/** What to do about a frame while the set-up still stands. */
export const FrameAdvice = z.strictObject({
  text: z.string().min(1).describe('one short line'),
  thirdStopSteps: z
    .number()
    .int()
    .nullable()
    .describe(
      'steps of a third of a stop to turn the light or the exposure by; positive brightens; null: no such step',
    ),
});
export type FrameAdvice = z.infer<typeof FrameAdvice>;

const Standing = z.strictObject({ verdict: Verdict, setup: z.string().nullable(), flags: z.array(FlagCode) });

/** One line of `stopledger watch --json`. */
export const WatchEvent = z.discriminatedUnion('event', [
  z.strictObject({
    event: z.literal('start').describe('first of all'),
    folder: z.string(),
    keptIn: z.string().describe('where measurements are kept, so that a restart measures nothing again'),
  }),
  z.strictObject({
    event: z.literal('resumed').describe('frames of an earlier run that need no measuring'),
    frames: z.number().int().min(1),
    flagged: z.number().int().min(0),
    setups: z.number().int().min(0),
  }),
  z.strictObject({
    event: z.literal('setup').describe('a set-up begins'),
    id: z.string(),
    firstFrame: z.string(),
    description: z.string(),
    changeFromPrevious: SetupChange.nullable(),
  }),
  z.strictObject({
    event: z.literal('setup-dropped').describe('later frames showed that it was none'),
    id: z.string(),
    nowIn: z.array(z.string()).describe('set-ups that its frames belong to now'),
  }),
  z.strictObject({
    event: z.literal('frame').describe('a frame is judged for the first time, or with new content'),
    path: z.string(),
    replaced: z.boolean().describe('another content stood under this name before'),
    frame: ReportFrame,
    advice: FrameAdvice.nullable(),
  }),
  z.strictObject({
    event: z.literal('revised').describe('an earlier frame is judged otherwise because of later ones'),
    was: Standing,
    frame: ReportFrame,
    advice: FrameAdvice.nullable(),
  }),
  z.strictObject({
    event: z
      .literal('rendering')
      .describe('another rendering of an exposure, such as the JPEG beside a raw: no frame of its own'),
    name: z.string(),
    of: z.string().describe('the frame that it belongs to'),
  }),
  z.strictObject({
    event: z.literal('removed').describe('the file is gone, so the frame counts no more'),
    name: z.string(),
  }),
  z.strictObject({
    event: z.literal('end').describe('last of all'),
    because: z.string(),
    summary: ShootSummary.nullable().describe('null: no frame came'),
  }),
]);
export type WatchEvent = z.infer<typeof WatchEvent>;
