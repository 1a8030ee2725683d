import type { ShootReport } from '../../contracts/report.js';
import { type SafeHtml, markup } from './safe.js';

/** What the numbers mean, what they rest on, and what they cannot tell. */
export function renderMethod(report: ShootReport): SafeHtml {
  const s = report.summary;
  const cautions = s.cautions;
  const reasons = toneResponseReasons(report);
  return markup`<div class="method">
    <p>
      Every number is in stops of light: one stop is twice or half the light. A level is counted from mid-grey (18 % of
      diffuse white). Each frame is compared with the typical frame of its own set-up, with the plan, or with a
      reference frame; never with a wanted brightness of skin. Tolerance here: ±${report.plan.toleranceStops.toFixed(2)}
      stops, widened by the uncertainty of the reading.
    </p>
    ${
      report.plan.finished === true
        ? markup`<h3>Finished exports</h3>
            <p>${s.notes[0] ?? ''}</p>`
        : null
    }
    <h3>Tone response</h3>
    <p>${s.toneResponse}</p>
    ${reasons.length === 0 ? null : markup`<ul>${reasons.map((reason) => markup`<li>${reason}</li>`)}</ul>`}
    <h3>Light: ${s.light.kind}</h3>
    <p>${s.light.because}</p>
    <h3>What it cannot tell</h3>
    <ul>
      <li>
        Brightness of clothing is not light. Where no skin shows below the hips, the difference between face and lower
        body is brightness only and says so.
      </li>
      <li>
        The skin of faces and legs differs by about a third of a stop from person to person, so a smaller light
        difference on one frame proves little.
      </li>
      <li>A level says nothing of taste: a frame that is off may be meant so.</li>
    </ul>
    ${
      cautions.length === 0
        ? null
        : markup`<h3>Cautions</h3>
            <ul>
              ${cautions.map((caution) => markup`<li>${caution}</li>`)}
            </ul>`
    }
    <p>
      Measuring version: ${report.shoot.measuringVersions.join(', ') || 'none told'}. Pictures of people are personal
      data: keep this file as you keep the frames.
    </p>
  </div>`;
}

const MOST_REASONS = 8;

/** Why the responses were chosen, each reason once with the number of its frames, most frames first. */
function toneResponseReasons({ frames }: ShootReport): string[] {
  const counts = new Map<string, number>();
  for (const { toneResponse } of frames)
    if (toneResponse !== null) counts.set(toneResponse.because, (counts.get(toneResponse.because) ?? 0) + 1);
  const sorted = [...counts].sort(([, a], [, b]) => b - a);
  const told = sorted
    .slice(0, MOST_REASONS)
    .map(([because, count]) => `${count} frame${count === 1 ? '' : 's'}: ${because}.`);
  const left = sorted.length - told.length;
  return left > 0 ? [...told, `And ${left} more reason${left === 1 ? '' : 's'}; each frame names its own.`] : told;
}
