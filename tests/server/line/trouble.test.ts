import { get, request } from 'node:http';
import { pino } from 'pino';
import { expect, test } from 'vitest';
import { buildApp } from '../../../server/app.ts';
import type { LineCommand } from '../../../server/line/contract.ts';
import { PartsInTest } from '../../../server/line/parts-in-test.ts';
import { snapshotOf } from '../../../server/line/routes.ts';
import { shiftOf } from '../../../server/line/shift.ts';
import { Hub } from '../../../server/live/hub.ts';
import { recordOf } from '../../../server/records/service.ts';
import { StoreError } from '../../../server/store/errors.ts';
import { hashOf } from '../../../station/hash.ts';
import type { Message } from '../../../station/host/message.ts';
import { EventStreamParser } from '../../support/event-stream.ts';
import { clerkHere } from '../../support/clerk.ts';
import { lineHere, PROFILES } from '../../support/line.ts';

const serial = (n: number): string => `AQ1105-26K24-${String(n).padStart(5, '0')}`;
const full = (): never => {
  throw new StoreError('storage-full', 'the disk is full', {});
};
const LEAKS: LineCommand = {
  type: 'demo',
  parts: [{ nest: 1, what: 'leak', size: 2.5, partNumber: null }],
  fault: null,
};
const ABSENT: LineCommand = {
  type: 'demo',
  parts: [{ nest: 1, what: 'no-part', size: 0, partNumber: null }],
  fault: null,
};

test('a start that cannot be kept is refused and can be made again', async () => {
  const here = await lineHere();
  await here.ready();
  here.line.command(LEAKS);
  here.scan(serial(1), serial(2));
  const journal = here.store.journal.bind(here.store);
  here.store.journal = full;
  expect(here.refused({ type: 'start' })).toBe('not-kept');
  here.store.journal = journal;
  expect(here.view()).toMatchObject({ prompt: { code: 'start' }, test: null });
  expect((await here.test()).outcome?.nests).toHaveLength(2);
});

test.each(['stop', 'loss'] as const)('a load that waits for the release of the last is given back: %s', async (how) => {
  const here = await lineHere({ paced: true });
  await here.ready();
  here.line.command(ABSENT);
  here.scan(serial(1), serial(2));
  here.line.command({ type: 'start' });
  await here.until(({ outcome }) => outcome !== null);
  here.line.command({ type: 'repeat' });
  expect(here.view().prompt.code).toBe('testing');
  if (how === 'stop') here.line.command({ type: 'stop' });
  else {
    here.host.kill();
    here.host.start();
    await here.until(({ link }) => link === 'up');
  }
  const { nests, prompt } = here.view();
  // The first had no contact; the other part was judged.
  expect(nests.map((nest) => nest.serial)).toEqual([serial(1), null]);
  expect(prompt.code).toBe('start');
});

test('a reading that cannot be kept stops the cycle: nothing runs on unseen', async () => {
  const here = await lineHere({ paced: true });
  await here.ready();
  here.scan(serial(1), serial(2));
  const said: string[] = [];
  here.host.onMessage = (message) => {
    if (message.type === 'event') said.push(message.event.type === 'phase' ? message.event.phase : message.event.type);
    return true;
  };
  let isBroken = false;
  here.store.makeReady = () => {
    isBroken = true;
    throw new Error('a reading that is none');
  };
  here.line.command({ type: 'start' });
  await here.until(() => isBroken);
  expect(here.view()).toMatchObject({ prompt: { code: 'stopping' } });
  const { outcome } = await here.until((view) => view.outcome !== null);
  expect(said).not.toContain('fill');
  expect(outcome).toMatchObject({ faults: [{ code: 'not-kept' }], nests: [{ verdict: 'none' }, { verdict: 'none' }] });
});

test('a cycle that could not be closed hides no verdict that comes after it', async () => {
  const here = await lineHere();
  await here.ready();
  here.scan(serial(1), serial(2));
  const close = here.store.closeCycle.bind(here.store);
  here.store.closeCycle = full;
  const lost = await here.test();
  here.store.closeCycle = close;
  here.line.command({ type: 'acknowledge', cycle: lost.outcome?.cycle ?? '', nest: null });
  here.line.command(LEAKS);
  here.scan(serial(3), serial(4));
  const { outcome } = await here.test();
  const again = await lineHere({ store: here.store });
  expect(again.view().outcome).toMatchObject({ cycle: outcome?.cycle, isPerhapsUnseen: true });
  again.line.command({ type: 'acknowledge', cycle: outcome?.cycle ?? '', nest: null });
  expect(again.view().prompt.code).toBe('reject');
});

test('what was learnt and cannot be kept is said, and can be learnt again', async () => {
  const here = await lineHere();
  here.line.command({ type: 'setup', operator: 'R. Tamm', partNumber: 'AQ-1105' as never, lot: 'K24-3' });
  const issue = here.store.issueRigRevision.bind(here.store);
  here.store.issueRigRevision = full;
  here.line.command({ type: 'characterise' });
  for (let hold = 0; hold < 200 && here.view().prompt.code === 'characterising'; hold += 1) await here.clock.advance(1);
  expect(here.view().prompt).toMatchObject({ code: 'fault', facts: { code: 'not-kept' } });
  expect(here.errors).toHaveLength(1);
  here.store.issueRigRevision = issue;
  await here.ready();
  expect(here.view().prompt.code).toBe('scan');
});

test('a part that was cut off in the hold is not said to be vented', async () => {
  const here = await lineHere({ paced: true });
  await here.ready();
  here.scan(serial(1), serial(2));
  here.line.command({ type: 'start' });
  await here.until((view) => view.test?.phase === 'measure');
  here.host.kill();
  expect(recordOf(here.store, here.view().outcome?.cycle ?? '').vented).toBe(false);
});

test('nothing is learnt while the clamps of the last test open', async () => {
  const here = await lineHere({ paced: true });
  await here.ready();
  here.scan(serial(1), serial(2));
  here.line.command({ type: 'start' });
  await here.until(({ outcome }) => outcome !== null);
  here.line.command({ type: 'setup', operator: 'R. Tamm', partNumber: 'AQ-2105' as never, lot: 'K24-4' });
  expect(here.refused({ type: 'characterise' })).toBe('testing-now');
});

test('a test is not repeated while a proof is due; what is to be read comes first, then the proof', async () => {
  // The clock of these tests begins at midnight UTC: the shift ends within the hour.
  const shifts = { zone: 'UTC', starts: ['01:00', '13:00'] };
  const here = await lineHere({ paced: true, settings: { shifts } });
  await here.ready();
  here.scan(serial(1), serial(2));
  here.line.command({ type: 'start' });
  await here.until((view) => view.test?.phase === 'fill');
  here.line.command({ type: 'stop' });
  const { outcome } = await here.until((view) => view.outcome !== null);
  await here.clock.advance(3_600_000);
  expect(here.view().prompt).toMatchObject({ code: 'fault', key: { code: 'read' } });
  here.line.command({ type: 'acknowledge', cycle: outcome?.cycle ?? '', nest: null });
  expect(here.view().prompt.code).toBe('masters-due');
}, 60_000);

test('a part is in one place only: what two stations of a server are given is tested at one', async () => {
  const inTest = new PartsInTest();
  const first = await lineHere({ inTest, paced: true });
  const second = await lineHere({ inTest, store: first.store, station: 'EOL-2' });
  await first.ready();
  await second.ready();
  first.scan(serial(1), serial(2));
  second.scan(serial(1), serial(3));
  first.line.command({ type: 'start' });
  expect(second.refused({ type: 'start' })).toBe('in-test-elsewhere');
  await first.until(({ outcome }) => outcome !== null);
  // It passed there in the meantime.
  expect(second.refused({ type: 'start' })).toBe('passed-already');
  second.line.command({ type: 'take-out', nest: 1 });
  second.scan(serial(4));
  expect((await second.test()).outcome?.nests.map((nest) => nest.serial)).toEqual([serial(4), serial(3)]);
});

const UNSERIALISED = PROFILES.map((profile) => {
  const content = { ...profile.content, serial: { rule: 'unserialised' as const } };
  return { ...profile, content, hash: hashOf(content) };
});

test('parts without serials are numbered when nothing stands in the way, and no number is given twice', async () => {
  const inTest = new PartsInTest();
  const first = await lineHere({ inTest, paced: true, profiles: UNSERIALISED });
  const second = await lineHere({ inTest, store: first.store, station: 'EOL-2', profiles: UNSERIALISED });
  await first.ready();
  await second.ready();
  first.line.command({ type: 'demo', parts: [], fault: { what: 'guard-open', size: 0, nest: null, phase: null } });
  await first.until(({ prompt }) => prompt.code === 'close-guard');
  expect(first.refused({ type: 'start' })).toBe('guard-open');
  first.line.command({ type: 'demo', parts: [], fault: null });
  const { prompt: shut } = await first.until(({ prompt }) => prompt.code !== 'close-guard');
  expect(shut).toMatchObject({ code: 'load', facts: { parts: 2 } });
  first.line.command({ type: 'start' });
  const { outcome } = await second.test();
  const { outcome: own } = await first.until((view) => view.outcome !== null);
  const numbers = [...(own?.nests ?? []), ...(outcome?.nests ?? [])].map((nest) => nest.serial);
  expect(numbers.sort()).toEqual(['K24-3/1', 'K24-3/2', 'K24-3/3', 'K24-3/4']);
  // Shutting the guard over the next load: the verdicts of the last do not stand over parts that were not tested.
  for (const what of ['guard-open', null]) {
    const fault = what === null ? null : { what, size: 0, nest: null, phase: null };
    first.line.command({ type: 'demo', parts: [], fault });
    const { outcome: standing } = await first.until(
      ({ prompt }) => (prompt.code === 'close-guard') === (what !== null),
    );
    expect(standing === null).toBe(what === null);
  }
});

test('what was refused is not said any more when something else is asked for', async () => {
  const here = await lineHere();
  await here.ready();
  expect(here.refused({ type: 'scan', text: 'hello', typed: false })).toBe('not-a-serial');
  expect(here.view().refusal?.code).toBe('not-a-serial');
  here.host.kill();
  expect(here.view()).toMatchObject({ refusal: null, prompt: { code: 'station-lost' } });
});

test('the end of the pressure is said with the verdict, not after it', async () => {
  const here = await lineHere({ paced: true });
  await here.ready();
  here.scan(serial(1), serial(2));
  here.line.command({ type: 'start' });
  await here.until(({ outcome }) => outcome !== null);
  expect(here.line.live()?.pressure.state).toBe('vented');
});

test('who missed more than may wait is told where things stand, over a real connection', async () => {
  const here = await lineHere({ nests: 8 });
  const hub = new Hub('a', here.clock, () => ({ event: 'snapshot', data: snapshotOf(here.line) }));
  for (let said = 0; said < 300; said += 1) hub.say({ event: 'view', data: here.view() });
  const app = await buildApp({
    lines: [],
    labs: [],
    store: here.store,
    profiles: [],
    history: () => null,
    reader: here.store,
    clerk: clerkHere(here.store),
    clock: here.clock,
    log: pino({ level: 'silent' }),
    life: 'a',
    web: null,
    isLoopback: true,
  });
  app.get('/stream', (_request, reply) => {
    reply.hijack();
    reply.raw.writeHead(200, { 'content-type': 'text/event-stream' });
    hub.join(reply.raw, 'a-1');
  });
  const address = await app.listen({ port: 0, host: '127.0.0.1' });
  const events = await new Promise<readonly { event: string }[]>((resolve, reject) => {
    get(`${address}/stream`, { agent: false }, (reply) => {
      const parser = new EventStreamParser();
      reply.setEncoding('utf8').on('data', (text: string) => {
        parser.push(text);
        if (parser.events.length === 0) return;
        reply.destroy();
        resolve(parser.events);
      });
    }).on('error', reject);
  });
  expect(events.map(({ event }) => event)).toEqual(['snapshot']);
  hub.end();
  await app.close();
});

test('a measurement that was missed is told as past', async () => {
  const here = await lineHere();
  const hub = new Hub('a', here.clock, () => ({ event: 'snapshot', data: null }));
  for (const event of ['view', 'live']) hub.say({ event, data: 1, ...(event === 'live' ? { later: 'past' } : {}) });
  const parser = new EventStreamParser();
  const sink = { write: (text: string) => parser.push(text), end: () => undefined, writableLength: 0, on: () => sink };
  hub.join(sink as never, 'a-0');
  expect(parser.events.map(({ event }) => event)).toEqual(['view', 'past']);
  hub.end();
});

test('an address that cannot be read, and a question without an answer, are problems (RFC 9457)', async () => {
  const here = await lineHere();
  const app = await buildApp({
    lines: [here.line],
    labs: [],
    store: here.store,
    profiles: [],
    history: () => null,
    reader: here.store,
    clerk: clerkHere(here.store),
    clock: here.clock,
    log: pino({ level: 'silent' }),
    life: 'a',
    web: null,
    isLoopback: true,
  });
  const address = await app.listen({ port: 0, host: '127.0.0.1' });
  const broken = await fetch(`${address}/api/stations/%ZZ/line`);
  expect(broken.status).toBe(400);
  expect(broken.headers.get('content-type')).toContain('application/problem+json');
  expect(await broken.json()).toMatchObject({ code: 'bad-request', status: 400 });
  const status = await new Promise((resolve, reject) => {
    request(`${address}/api/stations/EOL-1/line/live`, { method: 'HEAD', agent: false }, (reply) => {
      reply.resume();
      resolve(reply.statusCode);
    })
      .on('error', reject)
      .end();
  });
  expect(status).toBe(404);
  await app.close();
});

test.each(['02:00', '02:30'])('a shift that begins at %s, in the hour that a spring night skips', (start) => {
  // Europe/Berlin, 2026-03-29: at 01:00 UTC clocks go from 02:00 to 03:00 (IANA time zone database).
  const shifts = { zone: 'Europe/Berlin', starts: [start, '14:00'] };
  const { until } = shiftOf(new Date('2026-03-29T00:30:00Z'), shifts);
  const at = new Date(`2026-03-29T01:${start.slice(3)}:00Z`);
  expect(until).toEqual(at);
  const next = shiftOf(at, shifts);
  expect(next.from.getTime()).toBeLessThanOrEqual(at.getTime());
  expect(next.until).toEqual(new Date('2026-03-29T12:00:00Z'));
});

test('what a station said last and is heard after its end opens nothing', async () => {
  const here = await lineHere({ paced: true });
  await here.ready();
  here.scan(serial(1), serial(2));
  // The opening is on its way while the process is already gone.
  const late: Message[] = [];
  here.host.onMessage = (message) => {
    if (message.type === 'event') late.push(message);
    return late.length === 0;
  };
  here.line.command({ type: 'start' });
  while (late.length === 0) await here.clock.advance(20);
  await here.line.end();
  here.host.onMessage = () => true;
  here.host.deliver(late[0]!);
  expect(late[0]).toMatchObject({ event: { type: 'opened' } });
  expect(here.store.unfinished()).toEqual([]);
});
