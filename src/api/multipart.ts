import type { Readable } from 'node:stream';
import busboy from 'busboy';
import type { RequestHandler } from 'express';
import PQueue from 'p-queue';
import type { FrameReceipt, Problem, UploadOutcome } from '../contracts/api.js';
import { StopledgerError } from '../errors.js';
import type { ShootRecord } from '../store/port.js';
import type { AppDeps } from './deps.js';
import { checkedFrameName } from './frame-name.js';
import { fromThrown, problemOf, sendProblem } from './problem.js';
import { addressedShoot } from './requests.js';
import { letBodyCome } from './resource.js';
import { takeFrame } from './take-frame.js';

/**
 * Parts of one body being stored at a time, each over an open file. A part of a few bytes is read to its end at once, so
 * without this a body of ten thousand of them would open as many.
 */
const STORED_AT_ONCE = 64;

const LIMITS = { parts: 10_000, fields: 100, fieldSize: 64 * 1024, headerPairs: 100, fieldNameSize: 1000 };

type Outcome = { receipt: FrameReceipt } | { name: string; error: StopledgerError };

/**
 * One part: its own outcome, whatever happens to the others. What is not wanted of it is read and thrown away, since
 * the parts behind it come through the same stream.
 */
async function takePart(deps: AppDeps, shoot: ShootRecord, filename: string, part: Readable): Promise<Outcome> {
  try {
    const name = checkedFrameName(filename);
    const source = part.iterator({ destroyOnReturn: false }) as AsyncIterable<Uint8Array>;
    return { receipt: await takeFrame(deps, shoot, { name, source, sha256: null }) };
  } catch (thrown) {
    const error = fromThrown(thrown);
    if (error.code === 'internal') deps.log.error({ shootId: shoot.id, err: thrown }, 'part failed');
    return { name: filename.slice(0, 255), error };
  } finally {
    part.resume();
  }
}

/** Reads the whole body; rejected with `upload-aborted` or `bad-request` when it is not a whole multipart body. */
function takeParts(deps: AppDeps, shoot: ShootRecord, request: Parameters<RequestHandler>[0]): Promise<Outcome[]> {
  return new Promise((resolve, reject) => {
    const outcomes: Promise<Outcome>[] = [];
    const storing = new PQueue({ concurrency: STORED_AT_ONCE });
    let parser: busboy.Busboy;
    try {
      // The whole file name is looked at: one with folders in it is refused, not quietly shortened.
      parser = busboy({ headers: request.headers, preservePath: true, defParamCharset: 'utf8', limits: LIMITS });
    } catch (error) {
      const message = error instanceof Error ? error.message : String(error);
      reject(new StopledgerError('bad-request', `the multipart body cannot be read: ${message}`));
      return;
    }
    const fail = (error: StopledgerError): void => {
      request.unpipe(parser);
      parser.destroy();
      void Promise.allSettled(outcomes).then(() => {
        reject(error);
      });
    };
    const refuse = (name: string, error: StopledgerError): void => {
      outcomes.push(Promise.resolve({ name, error }));
    };
    parser.on('file', (_field, part, { filename }: { filename?: string }) => {
      // A body that ends early breaks its last part off, perhaps before anybody reads it: the reader is told then.
      part.on('error', () => undefined);
      outcomes.push(storing.add(() => takePart(deps, shoot, filename ?? '', part)));
    });
    parser.on('field', (field) => {
      refuse(field, new StopledgerError('bad-request', `part ${JSON.stringify(field)} is not a file`));
    });
    const tooMany = (what: string): void => {
      refuse('', new StopledgerError('bad-request', `the body has more ${what} than allowed; the rest was not taken`));
    };
    parser.on('partsLimit', () => {
      tooMany(`parts (${LIMITS.parts})`);
    });
    parser.on('fieldsLimit', () => {
      tooMany(`form fields (${LIMITS.fields})`);
    });
    parser.on('error', (error) => {
      const message = error instanceof Error ? error.message : String(error);
      fail(new StopledgerError('bad-request', `the multipart body cannot be read: ${message}`));
    });
    parser.on('close', () => {
      void Promise.all(outcomes).then(resolve, reject);
    });
    request.on('aborted', () => {
      fail(new StopledgerError('upload-aborted', 'the upload ended before its last byte'));
    });
    request.pipe(parser);
  });
}

/**
 * POST of many files. 201 when all were taken and at least one is new, 200 when all were here, 207 when some were
 * refused (each with its problem); when nothing at all was taken, the first refusal's own status.
 */
export function postFrames(deps: AppDeps): RequestHandler {
  return async (request, response) => {
    const shoot = await addressedShoot(deps.store, request);
    letBodyCome(request, response);
    const outcomes = await takeParts(deps, shoot, request);
    const frames: FrameReceipt[] = [];
    const refused: { name: string; problem: Problem }[] = [];
    let firstError: StopledgerError | null = null;
    for (const outcome of outcomes) {
      if ('receipt' in outcome) frames.push(outcome.receipt);
      else {
        firstError ??= outcome.error;
        refused.push({ name: outcome.name, problem: problemOf(outcome.error) });
      }
    }
    if (frames.length === 0) {
      const error = firstError ?? new StopledgerError('no-frames', 'the multipart body holds no file');
      sendProblem(response, error, { refused });
      return;
    }
    const taken = frames.some((frame) => frame.created) ? 201 : 200;
    response.status(refused.length > 0 ? 207 : taken).json({ frames, refused } satisfies UploadOutcome);
  };
}
