import type { PlanCompliance } from '../../contracts/compliance.js';
import type { Setup, ShootReport } from '../../contracts/report.js';
import { formatStops } from '../words.js';
import type { Anchors } from './anchors.js';
import { type Fact, factsTable } from './facts.js';
import { type SafeHtml, markup } from './safe.js';

const VERDICT_TEXT: Record<PlanCompliance['verdict'], string> = {
  'as-planned': 'as planned',
  check: 'check',
  'off-plan': 'off the plan',
  'cannot-tell': 'cannot be told',
};

/** What the dials have to be turned by; none has no unit. */
const stepsFact = (count: number | null): Fact => {
  const what = 'Exposure steps to follow it';
  if (count === null) return [what, null];
  if (count === 0) return [what, 'none'];
  return [what, `${count > 0 ? '+' : '−'}${Math.abs(count)}`, Math.abs(count) === 1 ? 'third-stop' : 'third-stops'];
};

function complianceCard(planned: PlanCompliance, anchors: Anchors): SafeHtml {
  const { settings, level, fallOff } = planned;
  return markup`<article class="card">
    <h3>Planned: ${planned.name}</h3>
    <p>
      ${VERDICT_TEXT[planned.verdict]}; ${planned.frames} frame${planned.frames === 1 ? '' : 's'}${planned.setups.map((id, i) => markup`${i === 0 ? ', set-up ' : ', '}<a href="#${anchors.setup(id)}">${id}</a>`)}
    </p>
    ${factsTable('Against the plan', [
      [settings?.basis === 'reading' ? 'The meter read' : 'Settings planned', settings?.asked ?? null],
      ['Settings against that', settings === null ? null : formatStops(settings.fromPlanStops), 'stops'],
      stepsFact(settings === null ? null : settings.thirdStopSteps),
      [`Light as read, from ${level?.against ?? ''}`, level === null ? null : formatStops(level.readStops), 'stops'],
      [
        'The same as measured',
        level === null ? null : `${formatStops(level.measuredStops)} ± ${level.uncertaintyStops.toFixed(2)}`,
        'stops',
      ],
      ['Face over lower body, as planned', fallOff === null ? null : formatStops(fallOff.expectedStops), 'stops'],
      [
        'The same as measured (skin)',
        fallOff === null ? null : `${formatStops(fallOff.measuredStops)} ± ${fallOff.uncertaintyStops.toFixed(2)}`,
        'stops',
      ],
    ])}
    <ul class="because">
      ${planned.because.map((text) => markup`<li>${text}</li>`)}
    </ul>
  </article>`;
}

/** Planned set-ups against what was shot; nothing when the plan names none. */
export function renderPlanCards(report: ShootReport, anchors: Anchors): SafeHtml | null {
  if (report.planCompliance.length === 0) return null;
  return markup`<div class="cards">${report.planCompliance.map((planned) => complianceCard(planned, anchors))}</div>`;
}

/** One set-up against the saved look; null without one. */
export function renderLook({ look }: Setup): SafeHtml | null {
  if (look === null) return null;
  const row = (what: string, part: (typeof look)['level']) =>
    [
      what,
      part === null ? null : `${formatStops(part.differenceStops)} ± ${part.uncertaintyStops.toFixed(2)}`,
      'stops',
    ] as const;
  const { cast } = look;
  return markup`<h4>Against the look ${look.look}</h4>
    ${factsTable('Today minus the look', [
      row('Level', look.level),
      row('Bright side of the face over dark side', look.contrast),
      row('Person over background', look.background),
      row('Face over lower body, light (skin)', look.fallOff),
      [
        'Cast',
        cast === null ? null : `${cast.differenceMired < 0 ? '−' : '+'}${Math.abs(cast.differenceMired).toFixed(0)}`,
        'mired',
      ],
    ])}
    <ul class="because">
      ${look.because.map((text) => markup`<li>${text}</li>`)}
    </ul>`;
}
