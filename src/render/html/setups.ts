import type { FrameMeasurement } from '../../contracts/measurement.js';
import type { Setup, ShootReport } from '../../contracts/report.js';
import { formatSettings, formatStops } from '../words.js';
import type { Anchors } from './anchors.js';
import { factsTable, keepTogether } from './facts.js';
import { renderLook, renderPlanCards } from './plan.js';
import { renderSetupFallOff } from './setup-fall-off.js';
import { type SafeHtml, markup } from './safe.js';

function renderCard(setup: Setup, anchors: Anchors, measurements: ReadonlyMap<string, FrameMeasurement>): SafeHtml {
  const b = setup.baseline;
  const sitters = setup.sitters.length;
  return markup`<article class="card" id="${anchors.setup(setup.id)}" aria-labelledby="${anchors.setup(setup.id)}-title">
    <h3 id="${anchors.setup(setup.id)}-title">Set-up ${setup.id}</h3>
    <p>${setup.description}</p>
    <p>
      ${setup.frames.length} frame${setup.frames.length === 1 ? '' : 's'},
      <a href="#${anchors.frame(setup.firstFrame)}">${setup.firstFrame}</a> to
      <a href="#${anchors.frame(setup.lastFrame)}">${setup.lastFrame}</a
      >${setup.representativeFrame === null ? null : markup`; most typical: <a href="#${anchors.frame(setup.representativeFrame)}">${setup.representativeFrame}</a>`}.
    </p>
    ${
      setup.changeFromPrevious === null
        ? null
        : markup`<h4>Change from set-up ${setup.changeFromPrevious.fromSetup}</h4>
            <p>${setup.changeFromPrevious.because}</p>`
    }
    ${factsTable('Baseline', [
      ['Camera settings', keepTogether(formatSettings(b))],
      ['Subject over mid-grey', formatStops(b.subjectLevelStops), 'stops'],
      ['Spread of the frames', b.subjectSpreadStops === null ? null : b.subjectSpreadStops.toFixed(2), 'stops'],
      [
        'Bright over dark side of the face',
        b.sideToSideStops === null ? null : formatStops(b.sideToSideStops),
        'stops',
      ],
      [
        'Person over background',
        b.personToBackgroundStops === null ? null : formatStops(b.personToBackgroundStops),
        'stops',
      ],
      [
        'Face over lower body, light',
        b.faceToLowerBodyLightStops === null ? null : formatStops(b.faceToLowerBodyLightStops),
        'stops',
      ],
      [
        'Face over lower body, brightness',
        b.faceToLowerBodyStops === null ? null : formatStops(b.faceToLowerBodyStops),
        'stops',
      ],
      [
        'Cast',
        b.castMired === null ? null : `${b.castMired < 0 ? '−' : '+'}${Math.abs(b.castMired).toFixed(0)}`,
        'mired',
      ],
      ['Sitters told apart by clothing', sitters === 0 ? null : sitters],
    ])}
    ${setup.drift === null ? null : markup`<h4>Light that drifts</h4><p>${setup.drift.because}</p>`}
    ${setup.automation === null ? null : markup`<h4>Exposure that the camera moved</h4><p>${setup.automation.because}</p>`}
    ${renderLook(setup)} ${renderSetupFallOff(setup, measurements)}
  </article>`;
}

export function renderSetups(
  report: ShootReport,
  anchors: Anchors,
  measurements: ReadonlyMap<string, FrameMeasurement>,
): SafeHtml {
  if (report.setups.length === 0) return markup`<p>No frame could be measured, so there is no set-up.</p>`;
  return markup`<div class="cards">${report.setups.map((setup) => renderCard(setup, anchors, measurements))}</div>
    ${renderPlanCards(report, anchors)}`;
}
