import { mkdtempSync } from 'node:fs';
import { rm } from 'node:fs/promises';
import { connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, onTestFinished } from 'vitest';
import type { ShootStatus } from '../../src/contracts/api.js';
import { readConfig } from '../../src/config.js';
import { createLog } from '../../src/log.js';
import { startService, type RunningService, type ServiceOptions } from '../../src/main.js';
import { temporaryFolder } from './temporary-folder.js';

export const FIXTURE_PROCESS = new URL('../fixtures/pool/fixture-process.ts', import.meta.url);

export interface ServiceUnderTest extends RunningService {
  dataDir: string;
  /** Lines of its log. */
  logged: string[];
}

async function start(
  environment: Record<string, string>,
  dataDir: string,
  options: ServiceOptions = {},
): Promise<ServiceUnderTest> {
  const config = readConfig({
    PORT: '0',
    DATA_DIR: dataDir,
    WORKERS: '1',
    FRAME_MAX_ATTEMPTS: '2',
    SHUTDOWN_SECONDS: '0',
    LOG_LEVEL: 'debug',
    ...environment,
  });
  const logged: string[] = [];
  const log = createLog(config, { write: (line: string) => void logged.push(line) });
  return { ...(await startService(config, { log, poolEntry: FIXTURE_PROCESS, ...options })), dataDir, logged };
}

/**
 * The real service on a free port, over a folder of its own, with one fixture process that does what a frame's text
 * says. Ends with the test that calls it.
 */
export async function serviceForTest(
  environment: Record<string, string> = {},
  options: ServiceOptions = {},
): Promise<ServiceUnderTest> {
  const service = await start(environment, environment.DATA_DIR ?? temporaryFolder(), options);
  onTestFinished(() => service.close());
  return service;
}

/** The same, started once for all tests of a file: returns how to get at it. */
export function serviceForFile(environment: Record<string, string> = {}): () => ServiceUnderTest {
  let service: ServiceUnderTest | null = null;
  beforeAll(async () => {
    service = await start(environment, mkdtempSync(join(tmpdir(), 'stopledger-test-')));
  });
  afterAll(async () => {
    await service?.close();
    await rm(service?.dataDir ?? '', { recursive: true, force: true, maxRetries: 3 });
  });
  return () => {
    if (service === null) throw new Error('the service is started before the first test');
    return service;
  };
}

/** Creates a shoot and says its address. */
export async function newShoot(url: string, body: object = { name: 'Makers’ day' }): Promise<string> {
  const response = await fetch(`${url}/v1/shoots`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(body),
  });
  if (response.status !== 201) throw new Error(`shoot not created: ${response.status} ${await response.text()}`);
  return `${url}/v1/shoots/${((await response.json()) as ShootStatus).id}`;
}

export const put = (
  shoot: string,
  name: string,
  body: string | Uint8Array<ArrayBuffer>,
  headers: Record<string, string> = {},
): Promise<Response> => fetch(`${shoot}/frames/${encodeURIComponent(name)}`, { method: 'PUT', body, headers });

/** Sends bytes over a socket of its own, as no well-behaved client would, and says all that came back. */
export function rawRequest(
  url: string,
  parts: (string | Uint8Array)[],
  then: 'wait' | 'end' | 'reset',
): Promise<string> {
  const { hostname, port } = new URL(url);
  return new Promise((resolve, reject) => {
    const socket = connect(Number(port), hostname);
    let answer = '';
    socket.setEncoding('utf8');
    socket.on('data', (text: string) => {
      answer += text;
    });
    socket.on('error', reject);
    socket.on('close', () => {
      resolve(answer);
    });
    for (const part of parts) socket.write(part);
    if (then === 'end') socket.end();
    if (then === 'reset') socket.write('', () => socket.resetAndDestroy());
  });
}
