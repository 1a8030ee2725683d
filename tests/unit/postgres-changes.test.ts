import pg from 'pg';
import { expect, it, onTestFinished, vi } from 'vitest';
import { openPostgresChanges } from '../../src/store/postgres/changes.js';
import { POSTGRES_INSTALLED, POSTGRES_NOTE, postgresForFile } from '../support/postgres-server.js';
import { until } from '../support/until.js';

const postgres = POSTGRES_INSTALLED ? postgresForFile() : null;

it.skipIf(postgres === null)(
  `a connection given up that fails once more opens no further one${POSTGRES_NOTE}`,
  async () => {
    const url = (await postgres?.().newDatabase()) ?? '';
    const spy = vi.spyOn(pg.Client.prototype, 'connect');
    onTestFinished(() => {
      spy.mockRestore();
    });
    const made = spy.mock.contexts as pg.Client[];
    const trouble: string[] = [];
    const changes = await openPostgresChanges({ url, onTrouble: ({ message }) => void trouble.push(message) });
    onTestFinished(() => changes.close());
    made[0]?.emit('error', new Error('first'));
    await until(() => made.length === 2);
    made[0]?.emit('error', new Error('late'));
    made[1]?.emit('error', new Error('second'));
    await until(() => made.length === 3);
    expect(trouble).toEqual(['first', 'second']);
  },
);
