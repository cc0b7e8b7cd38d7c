import { get } from 'node:http';
import type { AddressInfo } from 'node:net';
import { pathToFileURL } from 'node:url';
import { pino } from 'pino';
import { afterAll, afterEach, beforeAll, expect, test, vi } from 'vitest';
import { buildApp } from '../../../server/app.ts';
import { decideLot } from '../../../server/audit/deciding.ts';
import { AuditMemory } from '../../../server/audit/memory.ts';
import { answerOf } from '../../../server/clerk/answer.ts';
import { Clerks } from '../../../server/clerk/clerks.ts';
import type { Answer, Clerk, Question } from '../../../server/clerk/question.ts';
import { HttpProblem } from '../../../server/http/problem.ts';
import { openReader } from '../../../server/store/reader.ts';
import { systemClock } from '../../../station/clock.ts';
import type { Clock } from '../../../station/clock.ts';
import { auditedLedger } from '../../support/audited-ledger.ts';
import type { AuditedLedger } from '../../support/audited-ledger.ts';
import { compile } from '../../support/compiled.ts';
import type { Compiled } from '../../support/compiled.ts';
import { never } from '../../support/simulated-plant.ts';
import { readPdf } from '../../support/pdf-text.ts';
import { virtualClock } from '../../support/virtual-clock.ts';

const SOURCE = new URL('../../support/clerk-from-source.mjs', import.meta.url);
const PAPERS = { plant: 'Alder Quay', timeZone: 'America/Monterrey' };

let ledger: AuditedLedger;
let audit: string;
let compiled: Compiled;
/** The thread's program as it is delivered, and with trouble in it. */
let DELIVERED: URL;
let TROUBLED: URL;
const all: Clerks[] = [];
beforeAll(async () => {
  ledger = await auditedLedger(['K90-1', 'K90-2'], { parts: 16, audited: 5 });
  compiled = compile(['station', 'server', 'tests']);
  DELIVERED = pathToFileURL(compiled.fileOf('server/clerk/main.ts'));
  TROUBLED = pathToFileURL(compiled.fileOf('tests/support/troubled-clerk.ts'));
  audit = ledger.store.audits.drawn({ partNumber: null, lot: null }, 1)[0]!.audit;
}, 60_000);
afterEach(async () => {
  for (const clerks of all.splice(0)) await clerks.end();
});
afterAll(() => {
  ledger.remove();
  compiled.remove();
});

function clerksOf(program: URL, clock: Clock = systemClock): Clerks {
  const clerks = new Clerks({ ...PAPERS, ledger: ledger.path, clock, log: { error: () => undefined }, program });
  all.push(clerks);
  return clerks;
}

const lot = (name: string): Question => ({ kind: 'lot', partNumber: 'AQ-1105', lot: name });
const told = ({ bytes }: Answer): unknown => JSON.parse(new TextDecoder().decode(bytes));
const codeOf = async (answer: Promise<Answer>): Promise<string> => {
  try {
    await answer;
    return 'answered';
  } catch (cause) {
    if (cause instanceof HttpProblem) return `${cause.status} ${cause.code}`;
    return cause instanceof Error ? cause.name : String(cause);
  }
};
const isAnswered = async (clerks: Clerks): Promise<void> => {
  expect(told(await clerks.ask(lot('K90-1'), never))).toMatchObject({ lot: 'K90-1', counts: { parts: 16 } });
};

const reportAsked = (): Question => ({ kind: 'report', audit, paper: 'Letter', language: 'es' });
/** One of every kind there is: a new kind has none until it is written here. */
const questions = (): Question[] => {
  const [, other] = ledger.store.audits.drawn({ partNumber: null, lot: null }, 2).map((drawn) => drawn.audit);
  return Object.values({
    audits: { kind: 'audits', partNumber: null, lot: null, limit: 30 },
    audit: { kind: 'audit', audit },
    report: reportAsked(),
    readings: { kind: 'readings', audit },
    'audit-json': { kind: 'audit-json', audit },
    'drift-csv': { kind: 'drift-csv', audit },
    others: { kind: 'others', audit },
    comparison: { kind: 'comparison', audit, other: other! },
    'comparison-csv': { kind: 'comparison-csv', audit, other: other! },
    lots: { kind: 'lots', limit: 50 },
    lot: lot('K90-2'),
    suspects: { kind: 'suspects', partNumber: 'AQ-1105', lot: 'K90-2' },
    'suspects-csv': { kind: 'suspects-csv', partNumber: 'AQ-1105', lot: 'K90-2' },
    'sampling-plan': { kind: 'sampling-plan', conditions: [], partNumber: 'AQ-1105' },
  } satisfies Record<Question['kind'], Question>);
};

test('a thread answers with the same bytes as this one, however often it is asked', async () => {
  const clerks = clerksOf(DELIVERED);
  const reader = openReader(ledger.path);
  for (const question of questions()) {
    const here = await answerOf({ ...PAPERS, reader, memory: new AuditMemory() }, question, () => undefined);
    const [first, again] = await Promise.all([clerks.ask(question, never), clerks.ask(question, never)]);
    for (const there of [first, again]) {
      expect([question.kind, there.type, there.disposition]).toEqual([question.kind, here.type, here.disposition]);
      expect(Buffer.compare(there.bytes, here.bytes)).toBe(0);
    }
  }
  reader.close();
  const { pages } = await readPdf((await clerks.ask(reportAsked(), never)).bytes);
  expect(pages.join(' ')).toContain(audit);
}, 60_000);

test('it runs from its sources too', async () => {
  await isAnswered(clerksOf(SOURCE));
});

test('what was written before it was asked is in the answer', async () => {
  const clerks = clerksOf(DELIVERED);
  const actor = { name: 'M. Orrell', role: 'quality engineer', proof: 'stated' } as const;
  const partNumber = 'AQ-1107' as never;
  for (let n = 1; n <= 50; n += 1) {
    ledger.store.samplingPlan({ partNumber, plan: { kind: 'fixed', n }, reason: 'r', actor });
    const said = told(await clerks.ask({ kind: 'sampling-plan', conditions: [], partNumber }, never));
    expect(said).toMatchObject({ plan: { kind: 'fixed', n } });
  }
  const wish = { decision: 'hold', reason: 'a customer called', concession: null } as const;
  decideLot(ledger.store, { partNumber: 'AQ-1105' as never, lot: 'K90-1' }, wish, actor);
  const view = told(await clerks.ask(lot('K90-1'), never));
  expect(view).toMatchObject({ state: 'on-hold', decided: { reason: 'a customer called' } });
});

test('what is refused is refused as it is here', async () => {
  const clerks = clerksOf(DELIVERED);
  expect(await codeOf(clerks.ask({ kind: 'audit', audit: 'none' }, never))).toBe('404 no-such-audit');
  expect(await codeOf(clerks.ask(lot('K1-1'), never))).toBe('404 no-such-lot');
  // A zone that is none: nobody foresaw it, and it comes with its own words for the log.
  const bad = new Clerks({
    ...{ plant: '', timeZone: 'Mars/Olympus', ledger: ledger.path, clock: systemClock },
    ...{ log: { error: () => undefined }, program: DELIVERED },
  });
  all.push(bad);
  await expect(bad.ask(reportAsked(), never)).rejects.toThrow(/time zone/i);
  const gone = new Clerks({
    ...{ ...PAPERS, ledger: `${ledger.path}-none`, clock: systemClock },
    ...{ log: { error: () => undefined }, program: DELIVERED },
  });
  all.push(gone);
  expect(await codeOf(gone.ask(lot('K90-1'), never))).toBe('503 cannot-open');
});

test('a thread that dies loses its own question only, and is replaced', async () => {
  const clerks = clerksOf(TROUBLED);
  const dies = codeOf(clerks.ask(lot('DIES'), never));
  const [other] = await Promise.all([clerks.ask(lot('K90-1'), never), dies]);
  expect(await dies).toBe('503 work-lost');
  expect(told(other)).toMatchObject({ lot: 'K90-1' });
  for (let time = 0; time < 3; time += 1) expect(await codeOf(clerks.ask(lot('DIES'), never))).toBe('503 work-lost');
  await isAnswered(clerks);
});

test('a thread that hangs is ended, and what waited is answered by another', async () => {
  const clock = virtualClock();
  const clerks = clerksOf(TROUBLED, clock);
  const hang = [codeOf(clerks.ask(lot('HANGS'), never)), codeOf(clerks.ask(lot('HANGS'), never))];
  const waits = isAnswered(clerks);
  await clock.advance(30_000);
  expect(await Promise.all(hang)).toEqual(['503 took-too-long', '503 took-too-long']);
  await waits;
});

test('nobody begins what nobody waits for any more, and what runs is stopped', async () => {
  const clerks = clerksOf(TROUBLED);
  const gone = new AbortController();
  const spins = [0, 1].map(() => codeOf(clerks.ask(lot('SPINS'), gone.signal)));
  const waits = codeOf(clerks.ask(lot('HANGS'), gone.signal));
  gone.abort();
  expect(await Promise.all([...spins, waits])).toEqual(['AbortError', 'AbortError', 'AbortError']);
  // The same threads are free again: none was ended for it, and none hangs.
  await Promise.all([isAnswered(clerks), isAnswered(clerks)]);
  expect(clerks.threads).toBe(2);
  expect(await codeOf(clerks.ask(lot('K90-1'), AbortSignal.abort()))).toBe('AbortError');
});

test('a thread that does not notice that nobody waits is ended', async () => {
  const clock = virtualClock();
  const clerks = clerksOf(TROUBLED, clock);
  const gone = new AbortController();
  const hang = [0, 1].map(() => codeOf(clerks.ask(lot('HANGS'), gone.signal)));
  gone.abort();
  await Promise.all(hang);
  const waits = isAnswered(clerks);
  await clock.advance(2000);
  await waits;
});

test('a report is cut off between two sections', async () => {
  const reader = openReader(ledger.path);
  const question = { kind: 'report', audit, paper: 'A4', language: 'en' } as const;
  let calls = 0;
  const counted = (): void => {
    calls += 1;
  };
  await answerOf({ ...PAPERS, reader, memory: new AuditMemory() }, question, counted);
  expect(calls).toBeGreaterThan(5);
  let left = 3;
  const cut = answerOf({ ...PAPERS, reader, memory: new AuditMemory() }, question, () => {
    left -= 1;
    if (left === 0) throw new Error('cut off');
  });
  await expect(cut).rejects.toThrow('cut off');
  expect(left).toBe(0);
  reader.close();
});

test.each(['others', 'comparison', 'comparison-csv', 'audit', 'drift-csv', 'readings', 'audit-json'] as const)(
  '%s is cut off between two audits',
  async (kind) => {
    const reader = openReader(ledger.path);
    const [, other] = reader.audits.drawn({ partNumber: null, lot: null }, 2).map((drawn) => drawn.audit);
    const cut = answerOf(
      { ...PAPERS, reader, memory: new AuditMemory() },
      { kind, audit, ...(kind.startsWith('comparison') ? { other } : {}) } as Question,
      () => {
        throw new Error('cut off');
      },
    );
    await expect(cut).rejects.toThrow('cut off');
    reader.close();
  },
);

test('other audits are listed without working anything out from their readings', async () => {
  const reader = openReader(ledger.path);
  const memory = new AuditMemory();
  const whole = vi.spyOn(memory, 'whole');
  const said = await answerOf({ ...PAPERS, reader, memory }, { kind: 'others', audit }, () => undefined);
  expect(told(said)).toMatchObject([{ lot: 'K90-1', phase: 'decided' }]);
  expect(whole).not.toHaveBeenCalled();
  reader.close();
});

test('reports leave a thread to the screens', async () => {
  const clerks = clerksOf(DELIVERED);
  const order: string[] = [];
  const asked = (name: string, question: Question): Promise<void> =>
    clerks.ask(question, never).then(() => void order.push(name));
  await Promise.all([isAnswered(clerks), isAnswered(clerks)]);
  const reports = [1, 2].map((n) => asked(`report ${n}`, reportAsked()));
  await asked('lot', lot('K90-1'));
  expect(order.filter((name) => name !== 'report 1')).toEqual(['lot']);
  await Promise.all(reports);
});

test('more than may wait are sent away with the time to come back, over HTTP', async () => {
  const clerks = clerksOf(TROUBLED);
  const app = await appWith(clerks);
  const gone = Array.from({ length: 42 }, () => new AbortController());
  const waiting = gone.map(({ signal }) => codeOf(clerks.ask(lot('SPINS'), signal)));
  const full = await app.inject('/api/lots/AQ-1105/K90-1');
  expect(full.statusCode).toBe(503);
  expect(full.headers['retry-after']).toBe('2');
  expect(full.headers['content-type']).toMatch(/^application\/problem\+json/);
  expect(full.json()).toMatchObject({ code: 'too-busy', status: 503 });
  for (const each of gone) each.abort();
  await Promise.all(waiting);
  expect((await app.inject('/api/lots/AQ-1105/K90-1')).statusCode).toBe(200);
  await app.close();
});

test('who hangs up takes the question back', async () => {
  const clerks = clerksOf(TROUBLED);
  let arrived = 0;
  const app = await appWith({
    ask: (question, signal) => {
      arrived += 1;
      return clerks.ask(question, signal);
    },
  });
  await app.listen({ host: '127.0.0.1', port: 0 });
  const { port } = app.server.address() as AddressInfo;
  await Promise.all([isAnswered(clerks), isAnswered(clerks)]);
  for (const time of [1, 2]) {
    const request = get({ host: '127.0.0.1', port, path: '/api/lots/AQ-1105/SPINS' });
    request.on('error', () => undefined);
    while (arrived < time) await new Promise((resolve) => setImmediate(resolve));
    request.destroy();
  }
  await Promise.all([isAnswered(clerks), isAnswered(clerks)]);
  expect(clerks.threads).toBe(2);
  await app.close();
});

test('the end tells whoever waits, ends what runs, and leaves no thread', async () => {
  const clerks = clerksOf(TROUBLED);
  const asked = ['HANGS', 'SPINS', 'K90-1'].map((name) => codeOf(clerks.ask(lot(name), never)));
  await clerks.end();
  expect(await Promise.all(asked)).toEqual(['503 not-ready', '503 not-ready', '503 not-ready']);
  expect(clerks.threads).toBe(0);
  expect(await codeOf(clerks.ask(lot('K90-1'), never))).toBe('503 not-ready');
  // A reader that was ended in the middle holds nothing back: the writer goes on, and its log is moved into the file.
  ledger.store.checkpoint();
  expect(ledger.store.head().sequence).toBeGreaterThan(0);
});

const appWith = (clerk: Clerk) =>
  buildApp({
    ...{ lines: [], labs: [], store: ledger.store, profiles: [], history: () => null, reader: ledger.store, clerk },
    ...{ clock: virtualClock(), log: pino({ level: 'silent' }), life: 'life', web: null, isLoopback: false },
  });
