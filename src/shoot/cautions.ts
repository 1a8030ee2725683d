import type { FlagCode } from '../contracts/report.js';
import type { LightKindDecision } from './light-kind.js';

/** Codes whose advice is to move, raise, turn up or open a light. */
const TOUCHES_LIGHTS: readonly FlagCode[] = [
  'light-changed',
  'light-missing',
  'light-short',
  'lower-body-dark',
  'background-shifted',
  'contrast-shifted',
  'face-dark',
  'face-bright',
];

/**
 * What to mind before following advice that touches lights. General care, no substitute for the maker's
 * instructions, local rules and qualified people.
 */
export function cautionsFor(codes: ReadonlySet<FlagCode>, light: Omit<LightKindDecision, 'usualTv'>): string[] {
  if (!TOUCHES_LIGHTS.some((code) => codes.has(code))) return [];
  const cautions = [
    'Before a light is moved or raised: weigh down the stand, spread its legs, keep cables off the floor where people walk, and let nobody stand under it.',
    'Lamps and their fittings stay hot after use: let them cool, and keep cloth and paper away from them.',
  ];
  if (light.kind === 'flash') {
    cautions.push(
      'More flash power or a nearer flash: never fire close to eyes, and ask first whether anyone is sensitive to flashing light.',
    );
    if (codes.has('light-missing') || codes.has('light-short'))
      cautions.push(
        'A flash that does not fire or charge holds a dangerous voltage even when unplugged: do not open it; have it looked at by a qualified person.',
      );
  } else {
    cautions.push(
      'Lamps that flicker can trouble photosensitive people and band the frames: ask, and try another shutter time.',
    );
  }
  cautions.push('Local rules and the advice of qualified people come before anything said here.');
  return cautions;
}

export const isMixed = ({ shutterWeight }: Pick<LightKindDecision, 'shutterWeight'>): boolean =>
  shutterWeight > 0 && shutterWeight < 1;

/** Two kinds of light are most often two colours, and fall differently on sitter and background. */
export function mixedLightCaution(light: Pick<LightKindDecision, 'shutterWeight'>): string[] {
  if (!isMixed(light)) return [];
  return [
    `${(100 * light.shutterWeight).toFixed(0)} % of the light is ambient beside the flash: the two may differ in colour, and no one white balance suits both. Use a shorter shutter time (within the sync speed) to shut the ambient out, or filter the flash to its colour.`,
  ];
}
