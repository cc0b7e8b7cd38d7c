import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { describe, expect } from 'vitest';
import { canonicalJson, hashOf } from '../../../station/hash.ts';
import { issueOf } from '../../../station/profile/revision.ts';
import { LEDGER_FORMAT, openForReading, openForWriting } from '../../../server/store/database.ts';
import { StoreError } from '../../../server/store/errors.ts';
import type { StoreErrorCode } from '../../../server/store/errors.ts';
import { currentIndexes } from '../../../server/store/foundation.ts';
import { openReader } from '../../../server/store/reader.ts';
import { Store, openStore } from '../../../server/store/store.ts';
import { traceHash } from '../../../server/store/traces.ts';
import { verify } from '../../../server/store/verify.ts';
import { ACTOR, PROFILE, PROGRAM, RIG, STATION, openingOf, recordOf, traceOf } from '../../support/ledger-content.ts';
import { test } from '../../support/ledger-fixture.ts';
import { keepCycle, readyPlan, steppingClock } from '../../support/ledger-use.ts';

const codeOf = (use: () => unknown): StoreErrorCode | undefined => {
  try {
    use();
    return undefined;
  } catch (cause) {
    if (cause instanceof StoreError) return cause.code;
    throw cause;
  }
};

const countOf = (store: Store): number => [...store.entriesAfter(0)].length;

describe('a cycle is kept in two entries', () => {
  test('what was closed is read back byte for byte, by cycle, by serial, by lot and as the latest', ({
    store,
    plan,
  }) => {
    const record = keepCycle(store, plan, 1);
    const text = canonicalJson(record);
    for (const kept of [
      store.byCycle('cycle-1'),
      store.bySerial('S1002')[0],
      store.byLot('AQ-2041', 'L-0')[0],
      store.latest(1)[0],
    ])
      expect(canonicalJson(kept?.record)).toBe(text);
    expect(store.trace(record.circumstances.trace!)).toEqual(Buffer.from(traceOf(1, 600)));
    expect(canonicalJson(store.document('plan', record.measurement.plan))).toBe(canonicalJson(plan));
  });

  test('the newest come first', ({ store, plan }) => {
    for (const number of [1, 2, 3]) keepCycle(store, plan, number, { load: ['S1', null] });
    const cycles = store.bySerial('S1').map(({ record }) => record.circumstances.cycle);
    expect(cycles).toEqual(['cycle-3', 'cycle-2', 'cycle-1']);
    expect(store.latest(2).map(({ record }) => record.circumstances.cycle)).toEqual(['cycle-3', 'cycle-2']);
    expect(store.historyOf('S1').map(({ nest }) => nest)).toEqual([0, 0, 0]);
  });

  test('an opened cycle is unfinished until it is closed', ({ store, plan }) => {
    const opening = openingOf(1);
    store.openCycle(opening, plan);
    expect(store.unfinished().map((open) => open.opening.cycle)).toEqual(['cycle-1']);
    expect(store.byCycle('cycle-1')).toBeUndefined();
    store.closeCycle(recordOf(opening, plan, 1, null), null);
    expect(store.unfinished()).toEqual([]);
  });

  test('an unknown cycle, serial or lot has no records', ({ store, plan }) => {
    keepCycle(store, plan, 1);
    expect(store.byCycle('cycle-9')).toBeUndefined();
    expect(store.bySerial('S9')).toEqual([]);
    expect(store.byLot('AQ-2041', 'L-9')).toEqual([]);
    expect(store.trace('0'.repeat(64))).toBeUndefined();
  });

  test('the same trace of two cycles is stored once', ({ store, plan }) => {
    const trace = traceOf(5, 600);
    for (const number of [1, 2]) {
      const opening = openingOf(number);
      store.openCycle(opening, plan);
      store.closeCycle(recordOf(opening, plan, number, trace), trace);
    }
    const names = store.latest(2).map(({ record }) => record.circumstances.trace);
    expect(names).toEqual([traceHash(trace), traceHash(trace)]);
    expect(store.trace(traceHash(trace))).toEqual(Buffer.from(trace));
  });
});

describe('what does not fit is refused and leaves nothing behind', () => {
  test('a second opening, a second closing and a closing without opening', ({ store, plan }) => {
    const record = keepCycle(store, plan, 1);
    const before = countOf(store);
    expect(codeOf(() => store.openCycle(openingOf(1), plan))).toBe('already-open');
    expect(codeOf(() => store.closeCycle(record, traceOf(1, 600)))).toBe('already-closed');
    expect(codeOf(() => store.closeCycle(recordOf(openingOf(2), plan, 2, null), null))).toBe('not-open');
    expect(countOf(store)).toBe(before);
  });

  test('a record that says otherwise than its opening', ({ store, plan }) => {
    const opening = openingOf(1);
    store.openCycle(opening, plan);
    const record = recordOf(opening, plan, 1, null);
    const { measurement, circumstances } = record;
    const others = [
      { measurement, circumstances: { ...circumstances, lot: 'L-other' } },
      { measurement, circumstances: { ...circumstances, openedAt: '2025-03-04T06:00:00.001Z' } },
      { measurement: { ...measurement, plan: '0'.repeat(64) }, circumstances },
      { measurement: { ...measurement, load: ['S1002', null] }, circumstances },
      { measurement: { ...measurement, results: measurement.results.slice(1) }, circumstances },
      { measurement: { ...measurement, results: [...measurement.results, ...measurement.results] }, circumstances },
    ];
    for (const other of others) expect(codeOf(() => store.closeCycle(other, null))).toBe('record-disagrees');
    expect(store.unfinished()).toHaveLength(1);
  });

  test('a pass with a reason against it, and a fail without one', ({ store, plan }) => {
    const opening = openingOf(1);
    store.openCycle(opening, plan);
    const record = recordOf(opening, plan, 1, null);
    const { measurement } = record;
    const bare = measurement.results.map((result) => ({ ...result, verdict: 'fail' as const, why: [] }));
    const blamed = measurement.results.map((result) => ({
      ...result,
      verdict: 'pass' as const,
      why: [{ by: 'part' as const, code: 'leak' as const, facts: {} }],
    }));
    for (const results of [bare, blamed])
      expect(codeOf(() => store.closeCycle({ ...record, measurement: { ...measurement, results } }, null))).toBe(
        'invalid-content',
      );
  });

  test.for([
    ['no number', { barometerKpaAbs: Number.NaN }],
    ['more than JSON can say', { roomC: Number.POSITIVE_INFINITY }],
    ['another time', { closedAt: '2025-03-04 06:00' }],
    ['something nobody asked for', { comment: 'fine' }],
  ] as const)('%s in a record', ([, wrong], { store, plan }) => {
    const opening = openingOf(1);
    store.openCycle(opening, plan);
    const record = recordOf(opening, plan, 1, null);
    const spoiled = { ...record, circumstances: { ...record.circumstances, ...wrong } };
    expect(codeOf(() => store.closeCycle(spoiled, null))).toBe('invalid-content');
  });

  test('a trace that the record does not name, and a named one that is not there', ({ store, plan }) => {
    const opening = openingOf(1);
    store.openCycle(opening, plan);
    const trace = traceOf(1, 600);
    expect(codeOf(() => store.closeCycle(recordOf(opening, plan, 1, null), trace))).toBe('trace-disagrees');
    expect(codeOf(() => store.closeCycle(recordOf(opening, plan, 1, trace), null))).toBe('trace-disagrees');
    expect(codeOf(() => store.closeCycle(recordOf(opening, plan, 1, trace), traceOf(2, 600)))).toBe('trace-disagrees');
  });

  test('a plan of a profile or a rig revision that was not issued', ({ store, plan }) => {
    const { profile, rig } = plan;
    const others = [
      { ...plan, profile: { ...profile, revision: 2 } },
      { ...plan, profile: { ...profile, content: { ...profile.content, title: 'another' } } },
      { ...plan, rig: { ...rig, revision: { ...rig.revision, chamber: true } } },
    ];
    for (const other of others) expect(codeOf(() => store.openCycle(openingOf(1), other))).toBe('not-issued');
  });

  test('a load that the station has no nests for', ({ store, plan }) => {
    expect(codeOf(() => store.openCycle(openingOf(1, { load: ['S1'] }), plan))).toBe('record-disagrees');
    expect(codeOf(() => store.openCycle(openingOf(1, { station: 'line-2' }), plan))).toBe('record-disagrees');
  });

  test('a profile whose text would not be read back as it is', ({ store }) => {
    expect(codeOf(() => store.issueProfile(issueOf(2, { ...PROFILE, title: ' blank before ' }), ACTOR))).toBe(
      'invalid-content',
    );
  });

  test('anything after closing the store, which may be closed twice', ({ store, plan }) => {
    store.close();
    store.close();
    expect(codeOf(() => store.openCycle(openingOf(1), plan))).toBe('store-closed');
    expect(codeOf(() => store.checkpoint())).toBe('store-closed');
  });
});

describe('cycles that were cut off', () => {
  test('are closed as interrupted, every loaded nest not judged, once', ({ store, plan }) => {
    keepCycle(store, plan, 1);
    store.openCycle(openingOf(2), plan);
    store.openCycle(openingOf(3, { load: [null, 'S9'] }), plan);
    const closed = store.closeInterrupted();
    expect(closed.map(({ circumstances }) => circumstances.cycle)).toEqual(['cycle-2', 'cycle-3']);
    expect(store.byCycle('cycle-3')?.record.measurement).toMatchObject({
      results: [{ nest: 1, serial: 'S9', verdict: 'none', why: [{ by: 'station', code: 'interrupted' }] }],
      faults: [{ code: 'interrupted', nest: null }],
      readings: [],
      vented: false,
    });
    expect(store.historyOf('S1004')).toMatchObject([{ verdict: 'none' }]);
    const entries = countOf(store);
    expect(store.closeInterrupted()).toEqual([]);
    expect(countOf(store)).toBe(entries);
    expect(store.unfinished()).toEqual([]);
  });

  test('are found by the next program that opens the ledger', ({ path, clock, store, plan }) => {
    store.openCycle(openingOf(1), plan);
    store.close();
    const next = openStore(path, { clock, program: PROGRAM });
    expect(next.closeInterrupted()).toHaveLength(1);
    next.close();
    expect(verify(path)).toMatchObject({ ok: true, problems: [] });
  });
});

describe('the chain', () => {
  test('begins with the server and links every entry to the one before', ({ store, plan }) => {
    keepCycle(store, plan, 1);
    const entries = [...store.entriesAfter(0)];
    expect(entries.map(({ kind }) => kind)).toEqual([
      'server',
      'profile-issue',
      'rig-revision',
      'cycle-opened',
      'cycle-closed',
    ]);
    expect(entries.map(({ sequence }) => sequence)).toEqual([1, 2, 3, 4, 5]);
    expect(store.server()).toMatch(/^[0-9a-f-]{36}$/);
    expect(store.head()).toMatchObject({ sequence: 5, hash: entries[4]?.hash });
    expect([...store.entriesAfter(3)].map(({ sequence }) => sequence)).toEqual([4, 5]);
  });

  test('a clock set back is an entry of its own before the next', ({ store, clock, plan }) => {
    keepCycle(store, plan, 1);
    clock.set('2025-03-03T00:00:00.000Z');
    store.journal({ action: 'note', subject: 'clock', facts: {}, comment: null, actor: ACTOR });
    const [before, back, after] = [...store.entriesAfter(4)];
    expect(back).toMatchObject({
      kind: 'clock-set-back',
      content: { from: before?.at, to: '2025-03-03T00:00:00.007Z' },
    });
    expect(after).toMatchObject({ kind: 'journal', at: '2025-03-03T00:00:00.007Z' });
    keepCycle(store, plan, 2);
    expect([...store.entriesAfter(0)].filter(({ kind }) => kind === 'clock-set-back')).toHaveLength(1);
  });

  test('entries, documents and traces can be neither changed nor deleted nor put in again', ({ store, plan, path }) => {
    keepCycle(store, plan, 1);
    store.close();
    const raw = new Database(path);
    for (const statement of [
      "UPDATE entry SET at = '2025-01-01' WHERE sequence = 2",
      'DELETE FROM entry WHERE sequence = 5',
      'REPLACE INTO entry SELECT * FROM entry WHERE sequence = 2',
      'INSERT INTO entry SELECT 9, kind, format, at, content, content_hash, previous_hash, entry_hash FROM entry WHERE sequence = 2',
      "UPDATE document SET content = '{}'",
      'DELETE FROM document',
      'REPLACE INTO document SELECT * FROM document',
      "UPDATE trace SET content = x'00'",
      'DELETE FROM trace',
      'REPLACE INTO trace SELECT * FROM trace',
    ])
      expect(() => raw.exec(statement), statement).toThrow(/never|follows|once/);
    raw.close();
    expect(verify(path).ok).toBe(true);
  });
});

describe('what people issue and decide', () => {
  test('a profile revision is kept once under the number that it has; numbers grow and are never used again', ({
    path,
    store,
  }) => {
    const changed = { ...PROFILE, title: 'Manifold sensor, 1 bar, tighter' };
    const issue = (revision: number, content: typeof PROFILE) => () =>
      store.issueProfile(issueOf(revision, content), ACTOR);
    issue(1, PROFILE)();
    issue(4, changed)();
    issue(1, PROFILE)();
    const third = { ...PROFILE, title: 'Manifold sensor, 1 bar, wider' };
    expect(issue(4, third)).toThrow('raise `revision` to 5');
    expect(issue(2, third)).toThrow('raise `revision` to 5');
    expect(issue(5, changed)).toThrow('set `revision` to 4');
    expect(codeOf(issue(4, third))).toBe('revision-conflict');
    expect(store.profileRevisionOf('AQ-2041', hashOf(changed))).toBe(4);
    expect(store.profileRevisionOf('AQ-2042', hashOf(changed))).toBeUndefined();
    expect(countOf(store)).toBe(3);
    expect(codeOf(() => store.issueProfile({ ...issueOf(5, third), hash: hashOf(RIG) }, ACTOR))).toBe(
      'invalid-content',
    );
    expect(verify(path)).toMatchObject({ ok: true, problems: [] });
  });

  test('the latest rig revision counts, is not kept twice, and no earlier issue follows it', ({ store }) => {
    expect(store.latestRigRevision(STATION)).toBeUndefined();
    const second = { ...RIG, issue: 2, chamber: true };
    store.issueRigRevision(RIG, ACTOR);
    store.issueRigRevision(second, ACTOR);
    store.issueRigRevision(second, ACTOR);
    expect(countOf(store)).toBe(3);
    expect(store.latestRigRevision(STATION)).toMatchObject({ hash: hashOf(second), revision: { issue: 2 } });
    expect(codeOf(() => store.issueRigRevision(RIG, ACTOR))).toBe('record-disagrees');
  });

  test('the latest proof and the latest disposition count, the earlier ones stay', ({ store }) => {
    const proof = { station: STATION, proof: 'master-check', evidence: 'cycle-1', until: null, actor: ACTOR } as const;
    expect(store.latestProof(STATION, 'master-check')).toBeUndefined();
    store.proof({ ...proof, state: 'valid' });
    store.proof({ ...proof, state: 'failed' });
    expect(store.latestProof(STATION, 'master-check')?.content.state).toBe('failed');
    const about = { partNumber: PROFILE.partNumber, lot: 'L-1', concession: null, reason: 'audit', actor: ACTOR };
    expect(store.latestDisposition('AQ-2041', 'L-1')).toBeUndefined();
    store.disposition({ ...about, decision: 'hold' });
    store.disposition({ ...about, decision: 'accept' });
    expect(store.latestDisposition('AQ-2041', 'L-1')?.content.decision).toBe('accept');
    expect(countOf(store)).toBe(5);
  });
});

describe('opening', () => {
  test('makes the folder, keeps everything, and asserts synchronous FULL on a reopened file', ({
    path,
    clock,
    store,
    plan,
  }) => {
    keepCycle(store, plan, 1);
    const [server, head] = [store.server(), store.head()];
    store.close();
    const plain = new Database(path);
    // Why it must be set at every open: this build opens an existing write-ahead file with NORMAL.
    expect(plain.pragma('synchronous', { simple: true })).toBe(1);
    plain.close();
    const connection = openForWriting(path);
    expect(connection.pragma('synchronous', { simple: true })).toBe(2);
    expect(connection.pragma('journal_mode', { simple: true })).toBe('wal');
    connection.close();
    const again = openStore(path, { clock, program: PROGRAM });
    expect([again.server(), again.head()]).toEqual([server, head]);
    again.close();
  });

  test('a second writer is refused, in this process as in another, and a reader is not', ({
    path,
    clock,
    store,
    plan,
  }) => {
    keepCycle(store, plan, 1);
    expect(codeOf(() => openStore(path, { clock, program: PROGRAM }))).toBe('store-in-use');
    const reader = openReader(path);
    expect(reader.latest(1)).toEqual(store.latest(1));
    keepCycle(store, plan, 2);
    expect(reader.latest(1)).toEqual(store.latest(1));
    reader.close();
    store.close();
    openStore(path, { clock, program: PROGRAM }).close();
  });

  test('a checkpoint waits for no reader', ({ path, store, plan }) => {
    keepCycle(store, plan, 1);
    const reader = openForReading(path);
    reader.exec('BEGIN');
    expect(reader.prepare('SELECT count(*) FROM entry').pluck().get()).toBe(5);
    keepCycle(store, plan, 2);
    const from = performance.now();
    store.checkpoint();
    expect(performance.now() - from).toBeLessThan(1000);
    keepCycle(store, plan, 3);
    expect(reader.prepare('SELECT count(*) FROM entry').pluck().get()).toBe(5);
    reader.close();
    store.checkpoint();
    expect(store.latest(9)).toHaveLength(3);
  });

  test('a reader finds nothing where nothing is, and makes nothing', ({ folder }) => {
    const missing = join(folder, 'missing.db');
    expect(codeOf(() => openReader(missing))).toBe('cannot-open');
    expect(codeOf(() => verify(missing))).toBe('cannot-open');
    expect(existsSync(missing)).toBe(false);
  });

  test('a folder that cannot be made is said', ({ folder, clock }) => {
    writeFileSync(join(folder, 'file'), '');
    expect(codeOf(() => openStore(join(folder, 'file', 'ledger.db'), { clock, program: PROGRAM }))).toBe('cannot-open');
    mkdirSync(join(folder, 'ledger.db'));
    expect(codeOf(() => openStore(join(folder, 'ledger.db'), { clock, program: PROGRAM }))).toBe('cannot-open');
  });

  test.for([
    { whose: 'a newer program', format: LEDGER_FORMAT + 1, code: 'newer-format' },
    { whose: 'a trial before the first release', format: LEDGER_FORMAT - 1, code: 'older-format' },
  ])('the file of $whose is left alone', ({ format, code }, { path, clock, store }) => {
    store.close();
    const raw = new Database(path);
    raw.pragma(`user_version = ${format}`);
    raw.close();
    const before = readFileSync(path);
    expect(codeOf(() => openStore(path, { clock, program: PROGRAM }))).toBe(code);
    expect(codeOf(() => openReader(path))).toBe(code);
    expect(readFileSync(path)).toEqual(before);
  });

  test('another database, and a file that is none, is not a ledger', ({ folder, clock }) => {
    const other = join(folder, 'other.db');
    const raw = new Database(other);
    raw.exec('CREATE TABLE part (serial TEXT)');
    raw.close();
    const before = readFileSync(other);
    expect(codeOf(() => openStore(other, { clock, program: PROGRAM }))).toBe('not-a-ledger');
    expect(readFileSync(other)).toEqual(before);
    writeFileSync(
      join(folder, 'note.db'),
      'not a database, but long enough to be looked at as if it were one'.repeat(20),
    );
    expect(codeOf(() => openStore(join(folder, 'note.db'), { clock, program: PROGRAM }))).toBe('damaged');
    writeFileSync(join(folder, 'empty.db'), '');
    expect(codeOf(() => openReader(join(folder, 'empty.db')))).toBe('not-a-ledger');
  });

  test('in memory it does the same, for tests of others', () => {
    const store = openStore(':memory:', { clock: steppingClock(), program: PROGRAM, server: 'server-1' });
    keepCycle(store, readyPlan(store), 1);
    expect(store.server()).toBe('server-1');
    expect(store.latest(9)).toHaveLength(1);
    store.close();
  });

  test('a damaged last entry is not built upon', ({ path, clock, store, plan }) => {
    keepCycle(store, plan, 1);
    store.close();
    const raw = new Database(path);
    raw.exec("DROP TRIGGER entry_is_frozen; UPDATE entry SET content = '{}' WHERE sequence = 5");
    raw.close();
    expect(codeOf(() => openStore(path, { clock, program: PROGRAM }))).toBe('damaged');
  });
});

test('a full storage keeps nothing of the call, and the store goes on when there is room', ({
  path,
  clock,
  store,
  plan,
}) => {
  const opening = openingOf(1);
  store.openCycle(opening, plan);
  store.close();
  const connection = openForWriting(path);
  const limited = new Store(connection, currentIndexes(connection), clock, undefined);
  const trace = traceOf(1, 200_000);
  const record = recordOf(opening, plan, 1, trace);
  connection.pragma(`max_page_count = ${connection.pragma('page_count', { simple: true }) as number}`);
  expect(codeOf(() => limited.closeCycle(record, trace))).toBe('storage-full');
  expect(limited.unfinished()).toHaveLength(1);
  connection.pragma('max_page_count = 100000');
  limited.closeCycle(record, trace);
  expect(limited.unfinished()).toEqual([]);
  limited.close();
  expect(verify(path)).toMatchObject({ ok: true, problems: [] });
});
