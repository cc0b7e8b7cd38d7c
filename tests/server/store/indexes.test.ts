import type { Database as Connection } from 'better-sqlite3';
import * as fc from 'fast-check';
import { expect } from 'vitest';
import { canonicalJson, hashOf } from '../../../station/hash.ts';
import { issueOf } from '../../../station/profile/revision.ts';
import type { CycleRecord } from '../../../station/cycle/record.ts';
import { openForReading, openForWriting } from '../../../server/store/database.ts';
import { INDEX_TABLES } from '../../../server/store/indexes.ts';
import { openReader } from '../../../server/store/reader.ts';
import { openStore } from '../../../server/store/store.ts';
import type { Store } from '../../../server/store/store.ts';
import { verify } from '../../../server/store/verify.ts';
import { ACTOR, PROFILE, PROGRAM, STATION, openingOf, recordOf, traceOf } from '../../support/ledger-content.ts';
import { test } from '../../support/ledger-fixture.ts';
import { keepCycle, readyPlan, steppingClock, temporaryFolder } from '../../support/ledger-use.ts';

/** One thing done to a ledger, with the numbers and texts that nobody would choose. */
type Deed =
  | {
      readonly do: 'cycle';
      readonly close: boolean;
      readonly serials: [string | null, string | null];
      readonly values: number[];
    }
  | { readonly do: 'journal'; readonly subject: string }
  | { readonly do: 'dispose'; readonly lot: string }
  | { readonly do: 'prove' }
  | { readonly do: 'issue'; readonly title: string }
  | { readonly do: 'clock back' }
  | { readonly do: 'interrupt' };

const word = fc
  .string({ unit: 'grapheme', minLength: 1, maxLength: 20 })
  .filter((text) => /^[^\p{Cc}\p{Cs}]+$/u.test(text));
const number = fc.double({ noNaN: true, noDefaultInfinity: true });
const deed: fc.Arbitrary<Deed> = fc.oneof(
  {
    weight: 6,
    arbitrary: fc.record({
      do: fc.constant('cycle' as const),
      close: fc.boolean(),
      serials: fc.tuple(fc.option(word), fc.option(word)),
      values: fc.array(number, { minLength: 4, maxLength: 4 }),
    }),
  },
  fc.record({ do: fc.constant('journal' as const), subject: word }),
  fc.record({ do: fc.constant('dispose' as const), lot: word }),
  fc.record({ do: fc.constant('prove' as const) }),
  fc.record({ do: fc.constant('issue' as const), title: word.filter((text) => text.trim() === text) }),
  fc.record({ do: fc.constant('clock back' as const) }),
  fc.record({ do: fc.constant('interrupt' as const) }),
);

test('whatever was kept is read back byte for byte, and indexes made anew are the same row by row', () => {
  fc.assert(
    fc.property(fc.array(deed, { minLength: 1, maxLength: 25 }), (deeds) => {
      const folder = temporaryFolder();
      const path = `${folder.path}/ledger.db`;
      const clock = steppingClock();
      const store = openStore(path, { clock, program: PROGRAM });
      try {
        const kept = perform(store, deeds, (wall) => {
          clock.set(wall);
        });
        for (const [cycle, record] of kept)
          expect(canonicalJson(store.byCycle(cycle)?.record)).toBe(canonicalJson(record));
        // The readings of the latest cycles stand in the ledger only, until a pause between cycles.
        expect(verify(path)).toMatchObject({ ok: true, problems: [] });
        store.checkpoint();
        const before = rowsOf(path);
        store.rebuildIndexes();
        expect(rowsOf(path)).toEqual(before);
        expect(verify(path)).toMatchObject({ ok: true, problems: [] });
        keepCycle(store, readyPlan(store), 999);
      } finally {
        store.close();
        folder.remove();
      }
    }),
    { numRuns: 40 },
  );
});

test('index tables of another version, or none, are made anew when the ledger is opened', ({
  path,
  clock,
  store,
  plan,
}) => {
  for (const number of [1, 2, 3]) keepCycle(store, plan, number);
  store.checkpoint();
  const before = rowsOf(path);
  store.close();
  for (const spoil of [
    'UPDATE index_version SET version = 0; DELETE FROM serial; DROP TABLE lot; CREATE TABLE older (x) STRICT',
    'DROP TABLE index_version',
  ]) {
    const connection = openForWriting(path);
    connection.exec(spoil.replace('(x)', '(x TEXT)'));
    connection.close();
    expect(verify(path).ok).toBe(false);
    expect(() => openReader(path)).toThrow(/indexes-stale/);
    openStore(path, { clock, program: PROGRAM }).close();
    expect(rowsOf(path)).toEqual(before);
    expect(verify(path)).toMatchObject({ ok: true, problems: [] });
  }
});

function perform(store: Store, deeds: readonly Deed[], setClock: (wall: string) => void): Map<string, CycleRecord> {
  const kept = new Map<string, CycleRecord>();
  let plan = readyPlan(store);
  let issued = 1;
  deeds.forEach((deed, index) => {
    switch (deed.do) {
      case 'cycle': {
        const opening = openingOf(index, { load: deed.serials });
        const trace = index % 3 === 0 ? null : traceOf(index, 100);
        store.openCycle(opening, plan);
        if (!deed.close) return;
        const record = withValues(recordOf(opening, plan, index, trace), deed.values);
        store.closeCycle(record, trace);
        kept.set(opening.cycle, record);
        return;
      }
      case 'journal':
        store.journal({ action: 'note', subject: deed.subject, facts: { index }, comment: null, actor: ACTOR });
        return;
      case 'dispose':
        store.disposition({
          partNumber: PROFILE.partNumber,
          lot: deed.lot,
          decision: 'hold',
          reason: 'audit',
          concession: null,
          actor: ACTOR,
        });
        return;
      case 'prove':
        store.proof({
          station: STATION,
          proof: 'calibration',
          state: 'valid',
          evidence: 'C-1',
          until: null,
          actor: ACTOR,
        });
        return;
      case 'issue': {
        const content = { ...PROFILE, title: deed.title };
        const revision = store.profileRevisionOf(content.partNumber, hashOf(content)) ?? (issued += 1);
        const profile = issueOf(revision, content);
        store.issueProfile(profile, ACTOR);
        plan = { ...plan, profile };
        return;
      }
      case 'clock back':
        setClock('2025-03-01T00:00:00.000Z');
        return;
      case 'interrupt':
        for (const record of store.closeInterrupted()) kept.set(record.circumstances.cycle, record);
        return;
    }
  });
  return kept;
}

/** Puts chosen numbers where a record's judgements keep theirs. */
function withValues(record: CycleRecord, [value = 0, u = 0, low = 0, margin = 0]: number[]): CycleRecord {
  const judgements = record.measurement.judgements.map((judgement) => ({ ...judgement, value, u, low, margin }));
  return { ...record, measurement: { ...record.measurement, judgements } };
}

function rowsOf(path: string): Record<string, unknown[]> {
  const connection: Connection = openForReading(path);
  const rows = Object.entries(INDEX_TABLES).map(([table, { key }]) => [
    table,
    connection.prepare(`SELECT * FROM ${table} ORDER BY ${key.join(', ')}`).all(),
  ]);
  connection.close();
  return Object.fromEntries(rows) as Record<string, unknown[]>;
}

test('readings go into their table at a pause, or at the next opening after a cut, and count from there', ({
  path,
  clock,
  store,
  plan,
}) => {
  const readings = (): number => {
    const reader = openForReading(path);
    const count = reader.prepare<[], number>('SELECT count(*) FROM measurement').pluck().get() ?? Number.NaN;
    reader.close();
    return count;
  };
  const perCycle = keepCycle(store, plan, 1).measurement.judgements.length;
  expect(readings()).toBe(0);
  store.checkpoint();
  expect(readings()).toBe(perCycle);
  keepCycle(store, plan, 2);
  store.close();
  expect(readings()).toBe(perCycle);
  expect(verify(path)).toMatchObject({ ok: true, problems: [] });
  openStore(path, { clock, program: PROGRAM }).close();
  expect(readings()).toBe(2 * perCycle);
});

test.for([
  ['ahead of the ledger, which would leave readings out for good', 'UPDATE caught_up SET through = 99'],
  ['behind its tables', 'UPDATE caught_up SET through = 5'],
  ['gone', 'DELETE FROM caught_up'],
])(
  'a mark that is %s is found, and the tables are made anew at the next opening',
  ([, spoil = ''], { path, clock, store, plan }) => {
    for (const number of [1, 2, 3]) keepCycle(store, plan, number);
    store.checkpoint();
    const before = rowsOf(path);
    store.close();
    const raw = openForWriting(path);
    raw.exec(spoil);
    raw.close();
    expect(verify(path).problems.map(({ where }) => where)).toContain('index');
    openStore(path, { clock, program: PROGRAM }).close();
    expect(rowsOf(path)).toEqual(before);
    expect(verify(path)).toMatchObject({ ok: true, problems: [] });
  },
);

test('the cycles of a lot are all there, before and after a pause, for the writer and for a reader beside it', ({
  path,
  store,
  plan,
}) => {
  const reader = openReader(path);
  const expected: string[] = [];
  for (const number of [1, 2, 3, 4]) {
    keepCycle(store, plan, number);
    keepCycle(store, plan, number + 100);
    expected.unshift(`cycle-${number}`);
    for (const each of [store, reader]) {
      expect(each.byLot(PROFILE.partNumber, 'L-0').map(({ record }) => record.circumstances.cycle)).toEqual(expected);
      expect(each.byLot(PROFILE.partNumber, 'L-0', 2)).toHaveLength(Math.min(2, number));
      expect(each.byLot('AQ-2042', 'L-0')).toEqual([]);
    }
    if (number === 2) store.checkpoint();
  }
  reader.close();
});
