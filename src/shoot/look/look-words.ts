import type { LookComparison, SavedLook, StopsAgainstLook } from '../../contracts/look.js';
import type { ToneResponse } from '../../contracts/tone.js';
import { CAST_LIMITS } from '../causes/cast.js';
import { colourText, signedColour, signedStops, stepsThat, stopsText } from '../wording.js';

type Parts = Pick<LookComparison, 'level' | 'contrast' | 'background' | 'fallOff' | 'cast'>;

/** How a set-up stands to a look, in sentences: what differs and what to change. */
export function lookSentences(look: SavedLook, today: ToneResponse | null, parts: Parts, perStop: number): string[] {
  const told = [...levelText(parts), ...contrastText(parts), ...fallOffText(parts), ...castText(parts)];
  const compared = Object.values(parts).some((part) => part !== null);
  const head = !compared
    ? `nothing can be compared with the look "${look.name}".`
    : told.length === 0
      ? `as the look "${look.name}" in all that both show.`
      : null;
  const sources = look.toneResponses.map(({ source }) => source);
  const source = today?.source;
  const other =
    source !== undefined && !sources.includes(source)
      ? [
          `the look was read through ${sources.join(' and ') || 'an unknown tone response'}, today's frames through ${source}: a stop of difference is known to ${perStop.toFixed(2)}.`,
        ]
      : [];
  return [...(head === null ? [] : [head]), ...told, ...other];
}

const shaky = (part: StopsAgainstLook): string =>
  part.verdict === 'check' ? ` (uncertain by ${part.uncertaintyStops.toFixed(2)}: other sitters may be all of it)` : '';

function levelText({ level, background }: Parts): string[] {
  const told: string[] = [];
  if (level !== null && level.verdict !== 'within')
    told.push(
      `level ${signedStops(level.differenceStops)} stop from the look's${shaky(level)}: ${stepsThat('restore', -level.differenceStops, ' of light')}.`,
    );
  if (background !== null && background.verdict !== 'within') {
    const under = background.differenceStops;
    told.push(
      `the background stands ${stopsText(background.todayStops)} ${background.todayStops >= 0 ? 'under' : 'over'} the subject, ${signedStops(under)} stop against the look's ${background.lookStops.toFixed(2)}${shaky(background)}: ${stepsThat('restore', under, ' of light on the background')}.`,
    );
  }
  return told;
}

function contrastText({ contrast }: Parts): string[] {
  if (contrast === null || contrast.verdict === 'within') return [];
  const more = contrast.differenceStops > 0;
  return [
    `side to side the face holds ${contrast.todayStops.toFixed(2)} stops for the look's ${contrast.lookStops.toFixed(2)}: ${more ? 'bring the light round towards the camera, or turn up the fill' : 'take the light further to the side, or turn down the fill'}.`,
  ];
}

function fallOffText({ fallOff }: Parts): string[] {
  if (fallOff === null || fallOff.verdict === 'within') return [];
  const more = fallOff.differenceStops > 0;
  return [
    `the legs get ${stopsText(fallOff.differenceStops)} ${more ? 'less' : 'more'} light against the face than in the look${shaky(fallOff)}: ${more ? 'move the light back and turn it up, or light the legs' : 'bring the light nearer and turn it down, or take light off the legs'}.`,
  ];
}

function castText({ cast }: Parts): string[] {
  if (cast === null || cast.verdict === 'within') return [];
  const { differenceMired: mired, differenceDuv } = cast;
  const duv = differenceDuv !== null && Math.abs(differenceDuv) > CAST_LIMITS.checkDuv ? differenceDuv : null;
  return [
    `the colour is ${colourText(mired, duv)} than the look's: correct by ${signedColour(-mired, duv === null ? null : -duv)}.`,
  ];
}
