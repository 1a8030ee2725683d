import { randomUUID } from 'node:crypto';
import pg from 'pg';
import { z } from 'zod';
import { FrameState } from '../../contracts/api.js';
import { FrameFailure } from '../../contracts/jobs.js';
import type { ChangeRelay, ShootChange } from '../port.js';
import { type DatabaseLink, connectionOptions } from './connection.js';

const CHANNEL = 'stopledger_changes';
/** A notification holds less than 8,000 bytes (PostgreSQL documentation, NOTIFY). */
const MOST_BYTES = 7900;
/** Waits between attempts to connect again: doubled from the first to the last. */
const RECONNECT_MS = [100, 5000] as const;

const Message = z.object({
  from: z.string(),
  change: z.object({
    shootId: z.string(),
    frame: z.object({ name: z.string(), state: FrameState, failure: FrameFailure.nullable() }).nullable(),
    deleted: z.boolean(),
  }),
});

/** What others are told; without the frame where it would be too long, which makes them look at the shoot. */
function messageOf(from: string, change: ShootChange): string {
  const text = JSON.stringify({ from, change });
  return Buffer.byteLength(text) <= MOST_BYTES ? text : JSON.stringify({ from, change: { ...change, frame: null } });
}

function changeOf(from: string, text: string | undefined): ShootChange | null {
  try {
    const message = Message.parse(JSON.parse(text ?? ''));
    return message.from === from ? null : message.change;
  } catch {
    // A process of another version may say more than is known here.
    return null;
  }
}

/**
 * Changes told between processes by LISTEN and NOTIFY of the database that they share, over one connection of its
 * own, opened again whenever it breaks. Waking by it makes a change visible everywhere in milliseconds with its
 * frame, without each open stream asking the database for a new version several times a second.
 */
export async function openPostgresChanges(link: DatabaseLink): Promise<ChangeRelay> {
  const me = randomUUID();
  let client: pg.Client | null = null;
  let listener: ((change: ShootChange) => void) | null = null;
  let outgoing: string[] = [];
  let sending: Promise<void> | null = null;
  let timer: NodeJS.Timeout | undefined;
  let failures = 0;
  let closed = false;

  /** Connections that were given up: what one of them says later is no trouble of the one in its place. */
  const givenUp = new WeakSet<pg.Client>();

  const lost = (which: pg.Client, error: Error): void => {
    if (givenUp.has(which)) return;
    givenUp.add(which);
    if (client === which) client = null;
    which.end().catch(() => undefined);
    if (closed || timer !== undefined) return;
    link.onTrouble(error);
    timer = setTimeout(
      () => {
        timer = undefined;
        void connect();
      },
      Math.min(RECONNECT_MS[0] * 2 ** failures, RECONNECT_MS[1]),
    );
    failures = Math.min(failures + 1, 10);
  };

  async function connect(): Promise<void> {
    const next = new pg.Client(connectionOptions(link.url));
    next.on('error', (error: Error) => {
      lost(next, error);
    });
    next.on('end', () => {
      if (client === next) lost(next, new Error('the connection for changes ended'));
    });
    next.on('notification', ({ payload }) => {
      const change = changeOf(me, payload);
      if (change !== null) listener?.(change);
    });
    try {
      await next.connect();
      await next.query(`listen ${CHANNEL}`);
      // Given up while it was being made: another one is on its way.
      if (givenUp.has(next)) return;
      if (closed) await next.end();
      else client = next;
      failures = 0;
    } catch (error) {
      lost(next, error instanceof Error ? error : new Error(String(error)));
    }
  }

  /** All that was told in one turn of the event loop goes out in one statement. */
  async function send(): Promise<void> {
    await new Promise(setImmediate);
    while (outgoing.length > 0) {
      const batch = outgoing;
      outgoing = [];
      const to = client;
      if (to === null) continue;
      try {
        await to.query('select pg_notify($1, message) from unnest($2::text[]) as message', [CHANNEL, batch]);
      } catch (error) {
        lost(to, error instanceof Error ? error : new Error(String(error)));
      }
    }
    sending = null;
  }

  await connect();
  return {
    publish(change) {
      if (closed) return;
      outgoing.push(messageOf(me, change));
      sending ??= send();
    },
    listen(given) {
      listener = given;
    },
    async close() {
      if (sending !== null) await sending;
      closed = true;
      clearTimeout(timer);
      await client?.end().catch(() => undefined);
      client = null;
    },
  };
}
