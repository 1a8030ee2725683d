import { z } from 'zod';
import { CalibrationFile } from './calibration.js';
import { SavedLook } from './look.js';
import { FrameMeasurement } from './measurement.js';
import { PlanArithmetic } from './plan-arithmetic.js';
import { ShootPlan } from './plan.js';
import { ShootReport } from './report.js';
import { WatchEvent } from './watch.js';

/** What is published as JSON Schema (draft 2020-12) with the package, by file name. Input shapes: what a writer may leave out is optional. */
export const PUBLISHED_SCHEMAS = {
  'shoot-plan': ShootPlan,
  'saved-look': SavedLook,
  'shoot-report': ShootReport,
  'frame-measurement': FrameMeasurement,
  'calibration-file': CalibrationFile,
  'plan-arithmetic': PlanArithmetic,
  'watch-event': WatchEvent,
} as const;

export type PublishedSchema = keyof typeof PUBLISHED_SCHEMAS;

/** The JSON Schema of one published shape, as indented text. */
export function jsonSchemaText(name: PublishedSchema): string {
  const schema = z.toJSONSchema(PUBLISHED_SCHEMAS[name], { target: 'draft-2020-12', io: 'input' });
  return `${JSON.stringify({ title: name, ...schema }, null, 2)}\n`;
}
