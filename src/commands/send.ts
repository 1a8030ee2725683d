import { setTimeout as delay } from 'node:timers/promises';
import type { ShootPlan } from '../contracts/plan.js';
import type { ShootReport } from '../contracts/report.js';
import { StopledgerError, asStopledgerError } from '../errors.js';
import { type FolderExtras, ReportFolder } from '../render/files.js';
import { type AdviceFlags, checkAdvice, maskKindOf, writeSidecars } from './advice-options.js';
import { type FoundFrame, describeIgnored } from './find-frames.js';
import { type FrameArgumentFlags, askedFrames } from './frame-arguments.js';
import { type SaveLookFlags, checkSaveLook, saveLook } from './look-options.js';
import { type PlanFlags, readPlan } from './plan-options.js';
import { exitStatusOf, printReport } from './present.js';
import { type Progress, createProgress } from './progress.js';
import { MOST_CONNECTIONS, ServiceClient } from './service-client.js';
import type { CommandContext, ExitStatus } from './terminal.js';

export interface SendFlags extends PlanFlags, AdviceFlags, SaveLookFlags, FrameArgumentFlags {
  to: string;
  token?: string;
  name?: string;
}

export interface SentShoot {
  shootId: string;
  report: ShootReport;
  /** Files that the service would not take, with its reason. */
  refused: { name: string; error: StopledgerError }[];
}

export interface SendRequest {
  client: ServiceClient;
  shootName: string;
  plan: ShootPlan;
  frames: readonly FoundFrame[];
  progress: Progress;
  signal: AbortSignal;
}

const LOOK_EVERY_MS = 250;

/** A refusal of one file is told and the rest goes on; anything else ends the sending. */
function concernsOneFile(error: StopledgerError): boolean {
  if (error.code === 'frame-file-missing') return true;
  return !error.retryable && ![401, 403, 404, 409].includes(error.status);
}

async function uploadAll(shootId: string, request: SendRequest): Promise<SentShoot['refused']> {
  const { client, frames, progress, signal } = request;
  const refused: SentShoot['refused'] = [];
  let next = 0;
  let done = 0;
  progress.show('sending', 0, frames.length);
  const takeNext = async (): Promise<void> => {
    for (let frame = frames[next++]; frame !== undefined; frame = frames[next++]) {
      try {
        await client.putFrame(shootId, frame.name, frame.path);
      } catch (thrown) {
        const error = asStopledgerError(thrown, 'frame-file-missing');
        if (signal.aborted || !concernsOneFile(error)) {
          next = frames.length;
          throw error;
        }
        refused.push({ name: frame.name, error });
      }
      done += 1;
      progress.show('sending', done, frames.length);
    }
  };
  await Promise.all(Array.from({ length: Math.min(MOST_CONNECTIONS, frames.length) }, takeNext));
  return refused;
}

/** What went wrong, and where what was sent so far lies. */
function leavingShoot(thrown: unknown, address: string): StopledgerError {
  const error = asStopledgerError(thrown);
  const { code, retryable } = error;
  const left = `what was sent lies in shoot ${address}: POST to ${address}/complete has it judged as it is, DELETE removes it`;
  return new StopledgerError(code, `${error.message}; ${left}`, { cause: error, retryable });
}

/**
 * Sends frames to a service as a new shoot, waits until all are measured and fetches the report. Throws what the service
 * refuses with, and says which shoot it leaves.
 */
export async function sendShoot(request: SendRequest): Promise<SentShoot> {
  const { client, signal } = request;
  const { id: shootId } = await client.createShoot(request.shootName, request.plan);
  try {
    return await sendInto(shootId, request);
  } catch (thrown) {
    signal.throwIfAborted();
    throw leavingShoot(thrown, client.shootAddress(shootId));
  }
}

async function sendInto(shootId: string, request: SendRequest): Promise<SentShoot> {
  const { client, progress, signal } = request;
  const refused = await uploadAll(shootId, request);
  await client.complete(shootId);
  for (;;) {
    const { state, progress: counts } = await client.status(shootId);
    progress.show('measuring', counts.measured + counts.failed, counts.total);
    if (state === 'ready') break;
    await delay(LOOK_EVERY_MS, undefined, { signal });
  }
  return { shootId, report: await client.report(shootId), refused };
}

/** Fetches every measurement and picture of a shoot and writes the report folder. Returns the report with local links. */
export async function fetchReportFolder(
  client: ServiceClient,
  sent: SentShoot,
  out: string,
  progress: Progress,
  masks: FolderExtras['masks'] = null,
): Promise<ShootReport> {
  const { shootId, report } = sent;
  const folder = await ReportFolder.create(
    out,
    report.frames.map((frame) => frame.name),
  );
  for (const [i, frame] of report.frames.entries()) {
    progress.show('fetching', i, report.frames.length);
    if (frame.measurement === null) continue;
    const [measurement, preview] = await Promise.all([
      client.measurement(shootId, frame.name),
      client.preview(shootId, frame.name),
    ]);
    await folder.putFrame(frame.name, measurement, { previewJpeg: preview });
  }
  return folder.finish(report, {
    masks,
    advice: {
      beforeAfter: (frame) => client.beforeAfter(shootId, frame.name),
      mask: (frame, { region }, kind) => client.liftMask(shootId, frame.name, { region, ...kind }),
    },
  });
}

/** `stopledger send`: has files or folders judged by a running service and prints the same as `audit`. */
export async function send(paths: readonly string[], flags: SendFlags, context: CommandContext): Promise<ExitStatus> {
  checkSaveLook(flags);
  checkAdvice(flags);
  const { frames, ignored, shootName } = await askedFrames(paths, flags, context);
  const plan = await readPlan(flags, frames);
  const told = describeIgnored(ignored);
  if (told !== '' && flags.quiet !== true) context.stderr.write(`${told}\n`);
  const progress = createProgress(context.stderr, flags.quiet === true);
  const token = flags.token ?? context.env['SERVICE_TOKEN'];
  const client = new ServiceClient({ to: flags.to, signal: context.signal, ...(token === undefined ? {} : { token }) });
  try {
    const sent = await sendShoot({
      client,
      shootName: flags.name ?? shootName,
      plan,
      frames,
      progress,
      signal: context.signal,
    });
    const report =
      flags.out === undefined
        ? sent.report
        : await fetchReportFolder(client, sent, flags.out, progress, maskKindOf(flags));
    progress.clear();
    printReport(report, flags, context);
    if (flags.out !== undefined && flags.json !== true) context.stdout.write(`\nReport files are in ${flags.out}\n`);
    await saveLook(report, flags, context);
    for (const { name, error } of sent.refused)
      context.stderr.write(`not taken: ${name}: ${error.message} (${error.code})\n`);
    const measured = new Set(sent.report.frames.filter((f) => f.measurement !== null).map((f) => f.name));
    const measurementOf = async (name: string) => (measured.has(name) ? client.measurement(sent.shootId, name) : null);
    const noSidecar = await writeSidecars(report, frames, measurementOf, flags, context);
    return sent.refused.length + noSidecar > 0 ? 2 : exitStatusOf(report);
  } finally {
    progress.clear();
    client.close();
  }
}
