import { readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect } from 'vitest';
import { canonicalJson } from '../../../station/hash.ts';
import type { CycleRecord } from '../../../station/cycle/record.ts';
import { readTrace } from '../../../station/cycle/trace.ts';
import { FORMATS } from '../../../server/store/entry-format.ts';
import { openStore } from '../../../server/store/store.ts';
import { verify } from '../../../server/store/verify.ts';
import { exportGolden, layGolden } from '../../support/golden.ts';
import type { Golden } from '../../support/golden.ts';
import { ACTOR, PROFILE, PROGRAM, STATION, openingOf } from '../../support/ledger-content.ts';
import { test } from '../../support/ledger-fixture.ts';
import { keepCycle, readyPlan, steppingClock, temporaryFolder } from '../../support/ledger-use.ts';

/**
 * Ledgers as released programs wrote them, frozen as text: never edited, one for each release that changes a format.
 * GOLDEN_TO=<name>.json writes one, of the ledger GOLDEN_FROM or, without it, of the one that is made below:
 *   GOLDEN_FROM=<ledger.db> GOLDEN_TO=format-2.json npm test -- tests/server/store/golden
 */
const folder = join(import.meta.dirname, '../../reference/golden');
const [from, to] = [process.env['GOLDEN_FROM'], process.env['GOLDEN_TO']];
if (to !== undefined) {
  const place = temporaryFolder();
  const made = join(place.path, 'made.db');
  if (from === undefined) makeLedger(made);
  const golden = exportGolden(from ?? made, `a ledger written by ${PROGRAM}`);
  writeFileSync(join(folder, to), `${JSON.stringify(golden, null, 1)}\n`);
  place.remove();
}

const goldens = readdirSync(folder).filter((name) => name.endsWith('.json'));

test('there is a ledger of every released format', () => {
  expect(goldens).toContain('format-2.json');
});

test.for(goldens)('%s holds real cycles of every ending: passed, failed, faulted, cut off', (name) => {
  const { entries, traces } = JSON.parse(readFileSync(join(folder, name), 'utf8')) as Golden;
  const records = entries
    .filter(({ kind }) => kind === 'cycle-closed')
    .map(({ content }) => (JSON.parse(content) as CycleRecord).measurement);
  const verdicts = records.flatMap(({ results }) => results.map(({ verdict }) => verdict));
  expect(new Set(verdicts)).toEqual(new Set(['pass', 'fail', 'none']));
  const faults = new Set(records.flatMap((record) => record.faults.map(({ code }) => code)));
  expect(faults.has('interrupted') && faults.size > 1).toBe(true);
  expect(traces.length).toBeGreaterThan(2);
  for (const { content } of traces) expect(readTrace(Buffer.from(content, 'base64')).length).toBeGreaterThan(10);
});

test.for(goldens)(
  '%s: today’s program reads it, finds it sound, and shows the verdicts as they were',
  (name, { clock, folder: place }) => {
    const golden = JSON.parse(readFileSync(join(folder, name), 'utf8')) as Golden;
    const file = join(place, 'golden.db');
    layGolden(file, golden);
    clock.set('2999-01-01T00:00:00.000Z');
    const store = openStore(file, { clock, program: PROGRAM });
    expect(store.head()).toMatchObject({ sequence: golden.entries.length, hash: golden.entries.at(-1)?.entry_hash });
    for (const entry of store.entriesAfter(0)) {
      const row = golden.entries[entry.sequence - 1]!;
      // Only an entry of today's own format is said in the very words that are stored.
      if (row.format === FORMATS[entry.kind]) expect(canonicalJson(entry.content)).toBe(row.content);
    }
    for (const [serial, verdicts] of Object.entries(golden.verdicts))
      expect(
        store.historyOf(serial).map(({ verdict }) => verdict),
        serial,
      ).toEqual(verdicts);
    for (const { hash, content } of golden.traces) expect(store.trace(hash)).toEqual(Buffer.from(content, 'base64'));
    const last = golden.entries.at(-1)!;
    expect(verify(file, [{ sequence: last.sequence, hash: last.entry_hash }])).toMatchObject({
      ok: true,
      problems: [],
    });
    // And it is gone on with.
    keepCycle(store, readyPlan(store), 1_000_000);
    store.close();
    expect(verify(file)).toMatchObject({ ok: true, problems: [] });
  },
);

test('a ledger written out and laid down again is the same', ({ clock, folder: place }) => {
  const path = join(place, 'made.db');
  makeLedger(path);
  const golden = exportGolden(path, 'every kind of entry');
  expect(new Set(golden.entries.map(({ kind }) => kind))).toEqual(new Set(Object.keys(FORMATS)));
  const copy = join(place, 'copy.db');
  layGolden(copy, golden);
  openStore(copy, { clock, program: PROGRAM }).close();
  expect(exportGolden(copy, 'every kind of entry')).toEqual(golden);
});

/** A ledger with every kind of entry in it, the same one each time. */
function makeLedger(path: string): void {
  const clock = steppingClock();
  const store = openStore(path, { clock, program: PROGRAM, server: '5b1f6a52-9a52-4b7e-8d57-3c4b7f0e1a11' });
  const plan = readyPlan(store);
  for (const proof of ['calibration', 'master-check'] as const)
    store.proof({ station: STATION, proof, state: 'valid', evidence: 'C-118', until: null, actor: ACTOR });
  for (const number of [1, 2, 3]) keepCycle(store, plan, number);
  keepCycle(store, plan, 4, { load: ['S1004', null] });
  store.openCycle(openingOf(5), plan);
  store.closeInterrupted();
  const about = { partNumber: PROFILE.partNumber, lot: 'L-0', concession: null, actor: ACTOR };
  store.journal({
    action: 'verdict-acknowledged',
    subject: 'cycle-5',
    facts: { nests: 2 },
    comment: null,
    actor: ACTOR,
  });
  store.disposition({ ...about, decision: 'hold', reason: 'audit not finished' });
  store.samplingPlan({
    partNumber: PROFILE.partNumber,
    plan: { kind: 'fixed', n: 2 },
    reason: 'process audit',
    actor: ACTOR,
  });
  const lotHash = 'b'.repeat(64);
  store.audit((head) => ({
    audit: 'audit-1',
    act: 'drawn',
    station: STATION,
    partNumber: PROFILE.partNumber,
    lot: 'L-0',
    profile: plan.profile.hash,
    plan: { kind: 'fixed', n: 2 },
    method: 'sha256-counter/1',
    seed: `${head.hash} L-0`,
    lotSize: 3,
    lotHash,
    serials: ['S1001', 'S1002'],
    conditions: ['ambient'],
    actor: ACTOR,
  }));
  clock.set('2025-03-04T05:00:00.000Z');
  keepCycle(store, plan, 6);
  store.close();
}
