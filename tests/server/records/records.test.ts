import fastify from 'fastify';
import type { FastifyInstance } from 'fastify';
import { serializerCompiler, validatorCompiler } from 'fastify-type-provider-zod';
import Database from 'better-sqlite3';
import { describe, expect } from 'vitest';
import { hashOf } from '../../../station/hash.ts';
import { simulatedProofs } from '../../../station/host/simulated-station.ts';
import type { PartTruth } from '../../../station/rig/simulated/part.ts';
import { answerError, answerNothing } from '../../../server/http/answer.ts';
import { runAndKeep } from '../../../server/records/keep.ts';
import type { CyclePage, RecordView, SerialLife } from '../../../server/records/contract.ts';
import { recordRoutes } from '../../../server/records/routes.ts';
import { openReader } from '../../../server/store/reader.ts';
import type { Store } from '../../../server/store/store.ts';
import { test as ledgerTest } from '../../support/ledger-fixture.ts';
import { ACTOR, PROGRAM } from '../../support/ledger-content.ts';
import { virtualClock } from '../../support/virtual-clock.ts';
import { goodPart, never, stationFor } from '../../support/simulated-plant.ts';
import type { TestStation } from '../../support/simulated-plant.ts';

const station = await stationFor('AQ-1105');
const good = (index: number): PartTruth => goodPart(station.profile, index);
const serialOf = (index: number): string => `AQ1105-26K22-${String(index).padStart(5, '0')}`;

/** Runs a cycle of the product on the simulated rig and keeps it; returns its identity. */
async function run(
  store: Store,
  { rig, plan }: TestStation,
  parts: readonly (PartTruth | null)[],
  serials: readonly (string | null)[],
  options: { lot?: string; due?: Parameters<typeof simulatedProofs>[0] } = {},
): Promise<string> {
  rig.loadParts(parts, 7);
  const kept = await runAndKeep(
    rig,
    { plan, load: serials, proofs: simulatedProofs(options.due ?? []) },
    { lot: options.lot ?? 'K22-5', program: PROGRAM, actor: ACTOR, seed: 7 },
    { clock: virtualClock(), store, stop: never },
  );
  if (kept.record === null) throw new Error('not kept', { cause: kept.problem });
  return kept.record.circumstances.cycle;
}

interface Answer<T> {
  readonly status: number;
  readonly type: string;
  readonly body: T;
}

interface RecordsFixture {
  /** The store with the station's issues in it. */
  readonly issued: Store;
  readonly app: FastifyInstance;
  readonly get: (path: string) => Promise<Answer<unknown>>;
  readonly getPage: (path: string) => Promise<Answer<CyclePage>>;
  readonly getLife: (serial: string) => Promise<Answer<SerialLife>>;
  readonly getRecord: (cycle: string) => Promise<Answer<RecordView>>;
}

/** The routes with the server's own answers to what goes wrong, over a second, read-only connection. */
const test = ledgerTest.extend<RecordsFixture>({
  issued: async ({ store }, use) => {
    store.issueProfile(station.profile, ACTOR);
    store.issueRigRevision(station.revision, ACTOR);
    await use(store);
  },
  app: async ({ issued, path }, use) => {
    const app: FastifyInstance = fastify();
    app.setValidatorCompiler(validatorCompiler);
    app.setSerializerCompiler(serializerCompiler);
    app.setErrorHandler(answerError);
    app.setNotFoundHandler(answerNothing);
    issued.checkpoint();
    const reader = openReader(path);
    recordRoutes(app, reader);
    await use(app);
    await app.close();
    reader.close();
  },
  get: async ({ app }, use) => {
    await use((path) => answerOf(app, path));
  },
  getPage: async ({ app }, use) => {
    await use(async (path) => (await answerOf(app, path)) as Answer<CyclePage>);
  },
  getLife: async ({ app }, use) => {
    await use(async (serial) => (await answerOf(app, `/api/records/serials/${serial}`)) as Answer<SerialLife>);
  },
  getRecord: async ({ app }, use) => {
    await use(async (cycle) => (await answerOf(app, `/api/records/cycles/${cycle}`)) as Answer<RecordView>);
  },
});

async function answerOf(app: FastifyInstance, path: string): Promise<Answer<unknown>> {
  const answer = await app.inject({ method: 'GET', url: path });
  return { status: answer.statusCode, type: String(answer.headers['content-type']), body: answer.json() };
}

const leaking = (index: number): PartTruth => ({ ...good(index), leakStdCm3PerMin: 2.4 });

/** Changes the file as another tool would, past the triggers. */
function tamper(path: string, statement: string): void {
  const raw = new Database(path);
  for (const name of raw.prepare<[], string>("SELECT name FROM sqlite_master WHERE type = 'trigger'").pluck().all())
    raw.exec(`DROP TRIGGER ${name}`);
  raw.exec(statement);
  raw.close();
}

describe('the list of cycles', () => {
  test('is empty in an empty ledger', async ({ getPage }) => {
    expect(await getPage('/api/records')).toMatchObject({ status: 200, body: { cycles: [], next: null } });
  });

  test('has the newest first, and every cycle exactly once over its pages', async ({ issued, getPage }) => {
    const ran: string[] = [];
    for (let index = 0; index < 5; index += 1)
      ran.push(await run(issued, station, [good(index), null], [serialOf(index), null]));
    const seen: string[] = [];
    let path = '/api/records?limit=2';
    for (let pages = 0; pages < 3; pages += 1) {
      const { body } = await getPage(path);
      seen.push(...body.cycles.map(({ cycle }) => cycle));
      path = `/api/records?limit=2&before=${body.next ?? 0}`;
      expect(body.next === null).toBe(pages === 2);
    }
    expect(seen).toEqual(ran.reverse());
  });

  test('says what became of each nest, and why', async ({ issued, getPage }) => {
    await run(issued, station, [good(1), leaking(2)], [serialOf(1), serialOf(2)], { lot: 'K22-6' });
    const { body } = await getPage('/api/records');
    expect(body.cycles[0]).toMatchObject({
      station: 'SIM-2-1',
      origin: 'simulated',
      kind: 'line',
      condition: 'ambient',
      partNumber: 'AQ-1105',
      lot: 'K22-6',
      operator: ACTOR.name,
      nests: [
        { nest: 1, serial: serialOf(1), verdict: 'pass', why: null },
        { nest: 2, serial: serialOf(2), verdict: 'fail', why: { by: 'part', code: 'leak' } },
      ],
      faults: [],
    });
  });

  test('shows a fault as the station’s: nobody was judged', async ({ issued, getPage }) => {
    await run(issued, station, [good(1), good(2)], [serialOf(1), serialOf(2)], { due: ['master-check'] });
    const { body } = await getPage('/api/records');
    expect(body.cycles[0]?.faults.map(({ code }) => code)).toEqual(['proof-due']);
    expect(body.cycles[0]?.nests.map(({ verdict }) => verdict)).toEqual(['none', 'none']);
  });

  test.for(['limit=0', 'limit=201', 'limit=x', 'before=0', 'before=1.5', 'limit=-1'])(
    'refuses %s and names the place',
    async (query, { get }) => {
      const { status, type, body } = await get(`/api/records?${query}`);
      expect(status).toBe(400);
      expect(type).toContain('application/problem+json');
      const [name = ''] = query.split('=');
      expect(body).toMatchObject({ code: 'not-valid', errors: [{ path: `querystring/${name}` }] });
    },
  );
});

describe('the life of a serial', () => {
  test('says what was decided about its lot last', async ({ issued, getLife }) => {
    await run(issued, station, [good(1), null], [serialOf(1), null]);
    expect((await getLife(serialOf(1))).body.lots).toEqual([{ partNumber: 'AQ-1105', lot: 'K22-5', decision: null }]);
    const { partNumber } = station.profile.content;
    issued.disposition({
      partNumber,
      lot: 'K22-5',
      decision: 'hold',
      reason: 'dropped',
      concession: null,
      actor: ACTOR,
    });
    expect((await getLife(serialOf(1))).body).toMatchObject({
      lots: [{ lot: 'K22-5', decision: 'hold' }],
      cycles: [{ audit: null }],
    });
  });

  test('has all its cycles and no other, the newest first', async ({ issued, getLife }) => {
    const first = await run(issued, station, [leaking(3), good(4)], [serialOf(3), serialOf(4)]);
    await run(issued, station, [good(5), null], [serialOf(5), null]);
    const retest = await run(issued, station, [null, leaking(3)], [null, serialOf(3)]);
    const { body } = await getLife(serialOf(3));
    expect(body.serial).toBe(serialOf(3));
    expect(body.cycles.map(({ cycle }) => cycle)).toEqual([retest, first]);
  });

  test('of a serial that was never here is a problem that says so', async ({ get }) => {
    const { status, type, body } = await get('/api/records/serials/AQ1105-00000');
    expect(status).toBe(404);
    expect(type).toContain('application/problem+json');
    expect(body).toMatchObject({ code: 'no-such-serial', facts: { serial: 'AQ1105-00000' }, status: 404 });
  });

  test('takes a serial for what it is, whatever it is made of', async ({ get }) => {
    const { status, body } = await get(`/api/records/serials/${encodeURIComponent("x' OR '1'='1/..%")}`);
    expect(status).toBe(404);
    expect(body).toMatchObject({ code: 'no-such-serial', facts: { serial: "x' OR '1'='1/..%" } });
  });
});

describe('one record', () => {
  test('holds the sums that the data sheet’s transfer function gives', async ({ issued, getRecord }) => {
    const cycle = await run(issued, station, [good(1), good(2)], [serialOf(1), serialOf(2)]);
    const { body } = await getRecord(cycle);
    const outputs = body.readings.filter(({ quantity, step }) => quantity === 'output' && step !== 'ambient-check');
    expect(outputs).toHaveLength(10);
    for (const { arithmetic, value, low, high, pointKpaAbs } of outputs) {
      const of = (name: string): number => arithmetic.find(({ term }) => term === name)?.value ?? Number.NaN;
      // The transfer function printed in the data sheet of the MPXA6115A: Vout = Vs (0.009 P - 0.095), P in kPa.
      const expectedV = 5 * (0.009 * of('point') - 0.095);
      if (pointKpaAbs !== null) expect(of('point')).toBe(pointKpaAbs);
      expect(Math.abs(of('expected output') - expectedV)).toBeLessThan(1e-6);
      // Allowed: ±1.5 kPa (the sheet's pressure error from 15 to 115 kPa) times a factor of 1 between 0 and 85 °C.
      expect(Math.abs((high ?? 0) - (expectedV + 5 * 0.009 * 1.5))).toBeLessThan(1e-6);
      expect(Math.abs((low ?? 0) - (expectedV - 5 * 0.009 * 1.5))).toBeLessThan(1e-6);
      // The error is the pressure that output and supply stand for, less the reference.
      const decodedKpa = (of('output as read') / of('supply as read') + 0.095) / 0.009;
      expect(Math.abs(of('error') - (decodedKpa - of('reference')))).toBeLessThan(1e-3);
      expect(Math.abs(value - expectedV - 5 * 0.009 * of('error'))).toBeLessThan(1e-4);
    }
  });

  test('tells nests as they are marked, with what decided', async ({ issued, getRecord }) => {
    const cycle = await run(issued, station, [good(1), leaking(2)], [serialOf(1), serialOf(2)]);
    const { body } = await getRecord(cycle);
    const failed = body.readings.filter(({ verdict }) => verdict === 'fail');
    expect(failed.map(({ nest, quantity }) => [nest, quantity])).toEqual([[2, 'leak']]);
    expect(failed[0]?.high).toBe(0.5);
    expect(Math.abs((failed[0]?.value ?? 0) - 2.4)).toBeLessThan(0.2);
    expect(body).toMatchObject({
      profileRevision: station.profile.revision,
      rule: { kind: 'guard-band', factor: 1.645 },
      vented: true,
      proof: 'stated',
      circumstances: { operator: ACTOR.name, seed: 7 },
      verified: { entry: true, chain: true, trace: true },
    });
    expect(body.phases[0]?.phase).toBe('ready');
    expect(body.phases.find(({ phase }) => phase === 'measure')?.kPaAbs).toBe(150);
    expect(body.phases.find(({ phase }) => phase === 'point:20-kpa')?.kPaAbs).toBe(20);
    expect(new Set(body.taken.map(({ nest }) => nest))).toEqual(new Set([1, 2]));
  });

  test('shows the test as it ran in at most 600 instants, from the first to the last', async ({
    issued,
    getRecord,
  }) => {
    const cycle = await run(issued, station, [good(1), null], [serialOf(1), null]);
    const { body } = await getRecord(cycle);
    const times = body.frames.map(({ atMs }) => atMs);
    expect(times.length).toBeGreaterThan(200);
    expect(times.length).toBeLessThanOrEqual(600);
    expect(times).toEqual([...times].sort((a, b) => a - b));
    const ranMs = body.phases.reduce((sum, { ms }) => sum + ms, 0);
    expect(times.at(-1)).toBeGreaterThan(ranMs - 100);
    expect(Math.max(...body.frames.map(({ kPaAbs }) => kPaAbs))).toBeGreaterThan(149);
    expect(body.frames[0]?.nests).toHaveLength(2);
  });

  test('names hashes that fit what is kept', async ({ issued, getRecord }) => {
    const cycle = await run(issued, station, [good(1), null], [serialOf(1), null]);
    const { body } = await getRecord(cycle);
    const kept = issued.byCycle(cycle)!;
    expect(body.hashes).toMatchObject({
      plan: hashOf(station.plan),
      profile: station.profile.hash,
      rig: hashOf(station.revision),
      measurement: hashOf(kept.record.measurement),
      entry: issued.head().hash,
      trace: kept.record.circumstances.trace,
    });
    // The opening of the cycle stands before its closing.
    expect([...issued.entriesAfter(kept.sequence - 2)][0]?.hash).toBe(body.hashes.before);
  });

  test('of a cycle that was never here is a problem that says so', async ({ get }) => {
    expect(await get('/api/records/cycles/none')).toMatchObject({ status: 404, body: { code: 'no-such-cycle' } });
    expect(await get('/api/records/cycles/none/export')).toMatchObject({
      status: 404,
      body: { code: 'no-such-cycle' },
    });
  });

  test('of a cycle that is not closed is none yet', async ({ issued, get }) => {
    issued.openCycle(
      {
        cycle: 'open-1',
        station: station.revision.station,
        lot: 'K22-5',
        load: [serialOf(1), null],
        openedAt: '2026-11-10T10:43:00.000Z',
        openedMonotonicMs: 0,
        program: PROGRAM,
        actor: ACTOR,
        seed: 7,
      },
      station.plan,
    );
    expect(await get('/api/records/cycles/open-1')).toMatchObject({ status: 404, body: { code: 'no-such-cycle' } });
  });

  test('is exported as the stable JSON, to be saved under its own name', async ({ issued, app }) => {
    const cycle = await run(issued, station, [good(1), null], [serialOf(1), null]);
    const answer = await app.inject({ method: 'GET', url: `/api/records/cycles/${cycle}/export` });
    expect(answer.headers['content-disposition']).toBe(`attachment; filename="cycle-${cycle}.json"`);
    expect(answer.json()).toMatchObject({
      format: 1,
      partNumber: 'AQ-1105',
      nests: [{ nest: 1, serial: serialOf(1), verdict: 'pass' }],
      hashes: { measurement: hashOf(issued.byCycle(cycle)!.record.measurement) },
    });
  });
});

describe('a ledger that somebody changed', () => {
  test('shows a record with a trace cut short, and says that its trace is not what was written', async ({
    issued,
    path,
    getRecord,
  }) => {
    const cycle = await run(issued, station, [good(1), null], [serialOf(1), null]);
    tamper(path, 'UPDATE trace SET content = substr(content, 1, length(content) - 1)');
    const { body } = await getRecord(cycle);
    expect(body.verified).toEqual({ entry: true, chain: true, trace: false });
    expect(body.frames).toEqual([]);
  });

  test('says that a trace is gone', async ({ issued, path, getRecord }) => {
    const cycle = await run(issued, station, [good(1), null], [serialOf(1), null]);
    tamper(path, 'DELETE FROM trace');
    const { body } = await getRecord(cycle);
    expect(body.verified.trace).toBe(false);
  });

  test.for([
    ['changed', "UPDATE entry SET content = replace(content, 'K22-5', 'K22-9') WHERE sequence = ?"],
    ['taken out', 'DELETE FROM entry WHERE sequence = ?'],
  ])('says that the entry before was %s', async ([, statement], { issued, path, getRecord }) => {
    const cycle = await run(issued, station, [good(1), null], [serialOf(1), null]);
    tamper(path, statement!.replace('?', String(issued.byCycle(cycle)!.sequence - 1)));
    const { body } = await getRecord(cycle);
    expect(body.verified).toEqual({ entry: true, chain: false, trace: true });
  });

  test('gives no record where the record itself was changed', async ({ issued, path, get }) => {
    const cycle = await run(issued, station, [leaking(1), null], [serialOf(1), null]);
    const { sequence } = issued.byCycle(cycle)!;
    tamper(path, `UPDATE entry SET content = replace(content, '"fail"', '"pass"') WHERE sequence = ${sequence}`);
    const { status, body } = await get(`/api/records/cycles/${cycle}`);
    expect(status).toBe(503);
    expect(body).toMatchObject({ code: 'damaged', facts: { sequence } });
  });
});
