import { z } from 'zod';

/** A level in stops of light re mid-grey, log2(Y / 0.18), diffuse white Y = 1. */
export const levelStops = () => z.number().describe('stops re mid-grey: log2(Y / 0.18), diffuse white Y = 1');
/** A difference in stops, log2 of a ratio of light. */
export const stops = () => z.number().describe('stops: log2 of a ratio of light');
/** A share of pixels, 0..1. */
export const share = () => z.number().min(0).max(1).describe('share, 0..1');
/** A coordinate as a share of the upright frame, origin top left. */
export const coordinate = () => z.number().describe('share of the upright frame, origin top left');
export const positive = () => z.number().positive();
export const count = () => z.number().int().min(0);

/** x, y of the top-left corner, width and height, all shares of the upright frame. */
export const Box = z.object({ x: coordinate(), y: coordinate(), width: coordinate(), height: coordinate() });
export type Box = z.infer<typeof Box>;

/** Closed polygon, [x, y] corners as shares of the upright frame. */
export const Outline = z.array(z.tuple([coordinate(), coordinate()]));
export type Outline = z.infer<typeof Outline>;

/** CIE 1931 x, y. */
export const Chromaticity = z.object({ x: z.number(), y: z.number() });
export type Chromaticity = z.infer<typeof Chromaticity>;

/** A part of the picture that a flag, a lift or a correction is about. */
export const Region = z.enum(['frame', 'face', 'lower-body', 'background']);
export type Region = z.infer<typeof Region>;
