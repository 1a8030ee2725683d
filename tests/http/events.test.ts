import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeEach, describe, expect, it } from 'vitest';
import { FrameEvent, ShootStatus } from '../../src/contracts/api.js';
import { eventsOf } from '../support/server-sent-events.js';
import {
  newShoot,
  put,
  rawRequest,
  serviceForFile,
  serviceForTest,
  type ServiceUnderTest,
} from '../support/service.js';

const running = serviceForFile({ MAX_EVENT_STREAMS: '3' });
let service: ServiceUnderTest;
let shoot: string;
beforeEach(async () => {
  service = running();
  shoot = await newShoot(service.url);
});

describe('events of a shoot', () => {
  it('tell the state, every change in order with its progress, and the end', async () => {
    const gate = join(service.dataDir, 'gate');
    const response = await fetch(`${shoot}/events`);
    expect(response.headers.get('content-type')).toMatch(/^text\/event-stream/);
    const seen: string[] = [];
    for await (const { event, data } of eventsOf(response)) {
      if (event === 'frame') {
        const frame = FrameEvent.parse(data);
        seen.push(`${frame.name} ${frame.state}${frame.failure === undefined ? '' : ` ${frame.failure.code}`}`);
        expect(frame.progress.total).toBeGreaterThan(0);
      } else {
        const status = ShootStatus.parse(data);
        seen.push(`${event} ${status.state}`);
        if (seen.length === 1) {
          await put(shoot, 'good.jpg', `wait-for ${gate}`);
          await put(shoot, 'bad.jpg', 'refuse frame-corrupt');
          await fetch(`${shoot}/complete`, { method: 'POST' });
          writeFileSync(gate, '');
        }
      }
    }
    expect(seen[0]).toBe('progress open');
    expect(seen.at(-1)).toBe('ready ready');
    const of = (name: string) => seen.filter((line) => line.startsWith(name));
    expect(of('good.jpg')).toEqual(['good.jpg received', 'good.jpg measuring', 'good.jpg measured']);
    expect(of('bad.jpg')).toEqual(['bad.jpg received', 'bad.jpg measuring', 'bad.jpg failed frame-corrupt']);
    expect(of('ready')).toHaveLength(1);
  });

  it('start with the whole state for whoever comes late or comes back, and stay away after the end', async () => {
    await put(shoot, 'x.jpg', 'measure');
    await fetch(`${shoot}/report?wait=60`);
    await fetch(`${shoot}/complete`, { method: 'POST' });
    for (const id of ['', 'nonsense', '17']) {
      const events: string[] = [];
      for await (const { event } of eventsOf(await fetch(`${shoot}/events`, { headers: { 'last-event-id': id } }))) {
        events.push(event);
      }
      expect(events).toEqual(['progress', 'ready']);
    }
    const after = await fetch(`${shoot}/events`, { headers: { 'last-event-id': 'ready' } });
    expect(after.status).toBe(204);
  });

  it('end when the shoot is deleted', async () => {
    const events: string[] = [];
    for await (const { event } of eventsOf(await fetch(`${shoot}/events`))) {
      events.push(event);
      if (event === 'progress') await fetch(shoot, { method: 'DELETE' });
    }
    expect(events).toEqual(['progress', 'gone']);
  });

  it('end when the service shuts down', async () => {
    service = await serviceForTest();
    shoot = await newShoot(service.url);
    const stream = eventsOf(await fetch(`${shoot}/events`));
    await stream.next();
    const closed = service.close();
    expect((await stream.next()).done).toBe(true);
    await closed;
  });

  it('are told by HEAD without being begun: the connection carries the next request', async () => {
    const { pathname } = new URL(shoot);
    const head = `HEAD ${pathname}/events HTTP/1.1\r\nHost: localhost\r\n\r\n`;
    const next = `GET ${pathname} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n`;
    const answers = (await rawRequest(service.url, [head + next], 'wait')).split('HTTP/1.1 200 OK').slice(1);
    expect(answers).toHaveLength(2);
    expect(answers[0]).toMatch(/^content-type: text\/event-stream/im);
    expect(answers[1]).toContain('"state":"open"');
  });

  it('are not given to more readers than allowed, and again once one has gone', async () => {
    const stops: AbortController[] = [];
    const open = async (): Promise<number> => {
      const stop = new AbortController();
      stops.push(stop);
      return (await fetch(`${shoot}/events`, { signal: stop.signal })).status;
    };
    expect([await open(), await open(), await open(), await open()]).toEqual([200, 200, 200, 429]);
    expect((await fetch(`${shoot}/events`)).headers.get('retry-after')).toBe('15');
    stops[0]?.abort();
    let status = 429;
    while (status === 429) status = await open();
    expect(status).toBe(200);
    for (const stop of stops) stop.abort();
  });
});
