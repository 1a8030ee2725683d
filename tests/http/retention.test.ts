import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { newShoot, put, serviceForTest } from '../support/service.js';
import { temporaryFolder } from '../support/temporary-folder.js';

const DAY_MS = 24 * 3600 * 1000;
const inDays = (days: number) => () => Date.now() + days * DAY_MS;
const complete = (shoot: string) => fetch(`${shoot}/complete`, { method: 'POST' });

it('deletes shoots that were complete, or untouched, for RETAIN_DAYS, and no other', async () => {
  const DATA_DIR = temporaryFolder();
  const first = await serviceForTest({ DATA_DIR });
  const done = await newShoot(first.url);
  await put(done, '1.jpg', 'measure 1');
  await complete(done);
  expect((await fetch(`${done}/report?wait=60`)).status).toBe(200);
  const left = await newShoot(first.url);
  await put(left, '2.jpg', 'measure 2');
  const empty = await newShoot(first.url);
  const folders = () => readdirSync(join(DATA_DIR, 'shoots')).sort();
  expect(folders()).toHaveLength(2);
  await first.close();

  /** The service started anew at another time: which of the three shoots are there. */
  const thereAt = async (days: number, RETAIN_DAYS: string): Promise<string[]> => {
    const service = await serviceForTest({ DATA_DIR, RETAIN_DAYS }, { now: inDays(days) });
    const there: string[] = [];
    for (const [name, shoot] of Object.entries({ done, left, empty })) {
      const { status } = await fetch(service.url + new URL(shoot).pathname);
      if (status === 200) there.push(name);
    }
    await service.close();
    return there;
  };
  expect(await thereAt(40, '0')).toEqual(['done', 'left', 'empty']);
  expect(await thereAt(29, '30')).toEqual(['done', 'left', 'empty']);
  expect(await thereAt(31, '30')).toEqual([]);
  expect(folders()).toEqual([]);
});
