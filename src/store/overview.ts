import { type Kysely, sql } from 'kysely';
import type { StoreOverview } from './port.js';
import { FAILED, type Tables, UNFINISHED } from './tables.js';

interface Row {
  total: number | string;
  received: number | string;
  measuring: number | string;
  failed: number | string;
  oldest: string | null;
}

/**
 * Frames of all shoots by state, in one statement, so that they add up. Only what is not measured is counted, by
 * indexes of its own; what is measured, which is nearly all, follows from the shoots' own counts.
 */
export async function overviewOf(db: Kysely<Tables>): Promise<StoreOverview> {
  const { rows } = await sql<Row>`select
    (select coalesce(sum(frame_count), 0) from shoots) as total,
    (select count(*) from frames where ${UNFINISHED} and state = 'received') as received,
    (select count(*) from frames where ${UNFINISHED} and state = 'measuring') as measuring,
    (select count(*) from frames where ${FAILED}) as failed,
    (select min(received_at) from frames where ${UNFINISHED} and state = 'received') as oldest`.execute(db);
  const [row] = rows;
  const [total, received, measuring, failed] = [row?.total, row?.received, row?.measuring, row?.failed].map((n) => Number(n ?? 0)) as [number, number, number, number]; // prettier-ignore
  return {
    frames: { received, measuring, measured: total - received - measuring - failed, failed },
    oldestReceivedAt: row?.oldest ?? null,
  };
}
