import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { describe, expect } from 'vitest';
import { openReader } from '../../../server/store/reader.ts';
import { openStore } from '../../../server/store/store.ts';
import { verify } from '../../../server/store/verify.ts';
import type { Verification } from '../../../server/store/verify.ts';
import { ACTOR, PROGRAM, drawsOf, openingOf } from '../../support/ledger-content.ts';
import { test } from '../../support/ledger-fixture.ts';
import { keepCycle, readyPlan, steppingClock } from '../../support/ledger-use.ts';

/** Opens the file past its triggers, which is what somebody with another tool would do. */
function tamper(path: string, change: (raw: Database.Database) => void): void {
  const raw = new Database(path);
  const triggers = raw.prepare<[], string>("SELECT name FROM sqlite_schema WHERE type = 'trigger'").pluck().all();
  const made = raw.prepare<[], string>("SELECT sql FROM sqlite_schema WHERE type = 'trigger'").pluck().all();
  for (const name of triggers) raw.exec(`DROP TRIGGER ${name}`);
  change(raw);
  for (const statement of made) raw.exec(statement);
  raw.close();
}

const sequencesOf = ({ problems }: Verification): (number | undefined)[] => problems.map(({ sequence }) => sequence);

describe('verify', () => {
  test('finds nothing in an untouched ledger, in use or not, and says its length and head', ({ path, store, plan }) => {
    for (const number of [1, 2, 3]) keepCycle(store, plan, number);
    store.openCycle(openingOf(4), plan);
    const head = store.head();
    const expected = { ok: true, entries: head.sequence, head: head.hash, problems: [] };
    expect(verify(path)).toEqual(expected);
    store.close();
    expect(verify(path)).toEqual(expected);
  });

  test('names the entry whose content, kind, format, time, number or hash was changed by one character', ({
    folder,
    path,
    store,
    plan,
  }) => {
    keepCycle(store, plan, 1);
    keepCycle(store, plan, 2);
    store.close();
    const draw = drawsOf(7);
    const original = readFileSync(path);
    for (const column of ['kind', 'format', 'at', 'content', 'content_hash', 'previous_hash', 'entry_hash'])
      for (const sequence of [1, 2, 3, 4, 5, 6, 7]) {
        const copy = join(folder, 'copy.db');
        writeFileSync(copy, original);
        tamper(copy, (raw) => {
          const stored = String(raw.prepare(`SELECT ${column} FROM entry WHERE sequence = ?`).pluck().get(sequence));
          const place = Math.floor(draw() * stored.length);
          const other = stored[place] === '1' ? '2' : '1';
          const changed = column === 'format' ? 2 : stored.slice(0, place) + other + stored.slice(place + 1);
          raw.prepare(`UPDATE entry SET ${column} = ? WHERE sequence = ?`).run(changed, sequence);
        });
        const found = verify(copy);
        expect(found.ok, `${column} of ${sequence}`).toBe(false);
        expect(sequencesOf(found), `${column} of ${sequence}`).toContain(sequence);
      }
  });

  test.for([
    ['an entry taken out', 'DELETE FROM entry WHERE sequence = 5', 5],
    ['the first entry taken out', 'DELETE FROM entry WHERE sequence = 1', 1],
    ['an entry moved', 'UPDATE entry SET sequence = 90 WHERE sequence = 7', 90],
    ['the number beyond what a double holds', 'UPDATE entry SET sequence = 9007199254740993 WHERE sequence = 7', 7],
    [
      'two contents exchanged with their hashes',
      `UPDATE entry SET (content, content_hash) =
      (SELECT content, content_hash FROM entry AS o WHERE o.sequence = CASE entry.sequence WHEN 4 THEN 6 ELSE 4 END)
      WHERE sequence IN (4, 6)`,
      4,
    ],
  ] as const)('names %s', ([, statement, sequence], { path, store, plan }) => {
    keepCycle(store, plan, 1);
    keepCycle(store, plan, 2);
    store.close();
    tamper(path, (raw) => raw.exec(statement));
    const found = verify(path);
    expect(found.ok).toBe(false);
    expect(sequencesOf(found)).toContain(sequence);
  });

  test.for([
    ['a document changed', "UPDATE document SET content = replace(content, 'Print', 'print')", 'document'],
    ['a document given another kind', "UPDATE document SET kind = 'profile' WHERE kind = 'rig'", 'entry'],
    ['a document given a kind that there is not', "UPDATE document SET kind = 'rug' WHERE kind = 'rig'", 'document'],
    ['a document taken out', "DELETE FROM document WHERE kind = 'plan'", 'entry'],
    ['a document put in', "INSERT INTO document SELECT 'ff', kind, content FROM document LIMIT 1", 'document'],
    [
      'a trace changed',
      "UPDATE trace SET content = CAST(substr(content, 1, 20) || x'00' || substr(content, 22) AS BLOB)",
      'trace',
    ],
    ['a trace cut short', 'UPDATE trace SET content = substr(content, 1, 300)', 'trace'],
    ['a trace given another name', "UPDATE trace SET hash = 'ff' || substr(hash, 3)", 'trace'],
    ['a trace taken out', 'DELETE FROM trace', 'entry'],
    ['a measurement improved', 'UPDATE measurement SET value = 0 WHERE rowid_of = 1', 'index'],
    ['a verdict changed in the index of serials', "UPDATE serial SET verdict = 'pass'", 'index'],
    ['a cycle closed in the index only', 'UPDATE cycle SET closed_sequence = 4 WHERE closed_sequence IS NULL', 'index'],
    ['an index row put in', "INSERT INTO lot VALUES ('AQ-2041', 'L-77', 5)", 'index'],
    ['an index row taken out', "DELETE FROM serial WHERE serial = 'S1002'", 'index'],
    ['a reading taken out of the index', "DELETE FROM measurement WHERE quantity = 'leak' AND nest = 1", 'index'],
    ['index tables of another version', 'UPDATE index_version SET version = 7', 'index'],
    ['a table put in', 'CREATE TABLE more (x TEXT) STRICT', 'schema'],
  ] as const)('names %s', ([, statement, where], { path, store, plan }) => {
    keepCycle(store, plan, 1);
    keepCycle(store, plan, 4);
    store.openCycle(openingOf(6), plan);
    store.closeInterrupted();
    store.openCycle(openingOf(7), plan);
    store.checkpoint();
    store.close();
    tamper(path, (raw) =>
      raw.exec(
        statement.replace(
          'WHERE rowid_of = 1',
          "WHERE (step, sequence, nest) IN (SELECT 'p40', min(sequence), 1 FROM measurement)",
        ),
      ),
    );
    const found = verify(path);
    expect(found.ok).toBe(false);
    expect(found.problems.map((problem) => problem.where)).toContain(where);
  });

  test('names a trigger that is gone', ({ path, store, plan }) => {
    keepCycle(store, plan, 1);
    store.close();
    const raw = new Database(path);
    raw.exec('DROP TRIGGER entry_stays');
    raw.close();
    expect(verify(path).problems).toEqual([{ where: 'schema', what: 'trigger entry_stays is missing' }]);
  });

  test('a whole chain written anew, or cut short, is told by what was noted elsewhere', ({
    folder,
    path,
    store,
    plan,
  }) => {
    keepCycle(store, plan, 1);
    const noted = [{ sequence: store.head().sequence, hash: store.head().hash }];
    store.close();
    expect(verify(path, noted).ok).toBe(true);
    const forged = join(folder, 'forged.db');
    const other = openStore(forged, { clock: steppingClock(), program: PROGRAM });
    keepCycle(other, readyPlan(other), 1);
    other.close();
    expect(verify(forged).ok).toBe(true);
    expect(verify(forged, noted).problems).toEqual([
      { where: 'entry', sequence: 5, what: 'is not the entry that was noted' },
    ]);
    expect(verify(path, [{ sequence: 9, hash: 'ff' }]).problems).toEqual([
      { where: 'entry', sequence: 9, what: 'the ledger ends before an entry that was noted' },
    ]);
  });

  test('a time that runs backwards is a problem unless the ledger says that the clock was set back', ({
    path,
    clock,
    store,
  }) => {
    const note = { action: 'note', subject: 'clock', facts: {}, comment: null, actor: ACTOR };
    store.journal(note);
    clock.set('2025-01-01T00:00:00.000Z');
    store.journal(note);
    store.close();
    expect(verify(path).ok).toBe(true);
  });

  test('what is no database at all is a problem, not an exception', ({ folder }) => {
    const path = join(folder, 'note.db');
    writeFileSync(path, 'no database '.repeat(1000));
    expect(verify(path)).toMatchObject({ ok: false, entries: 0, problems: [{ where: 'file' }] });
    writeFileSync(path, '');
    expect(verify(path)).toMatchObject({ ok: false, problems: [{ where: 'file' }] });
  });
});

test('one flipped byte anywhere in the file is named, or nothing that was kept reads otherwise', ({
  folder,
  path,
  store,
  plan,
}) => {
  for (const number of [1, 2]) keepCycle(store, plan, number);
  store.close();
  const original = readFileSync(path);
  const before = everything(path);
  const copy = join(folder, 'copy.db');
  const seed = 20_250_304;
  const draw = drawsOf(seed);
  const count = 800;
  let named = 0;
  for (let flip = 0; flip < count; flip += 1) {
    const offset = flip < 100 ? flip : Math.floor(draw() * original.length);
    const spoiled = Buffer.from(original);
    spoiled.writeUInt8(original.readUInt8(offset) ^ (1 << Math.floor(draw() * 8)), offset);
    writeFileSync(copy, spoiled);
    const { ok } = verify(copy);
    if (!ok) named += 1;
    else expect(everything(copy), `byte ${offset}, seed ${seed}`).toBe(before);
  }
  // In a small file half of the room is unused: there a flip changes nothing and is not found.
  expect(named).toBeGreaterThan(count / 3);
});

/** All that a reader can see: every entry, document and trace, as one text. */
function everything(path: string): string {
  const reader = openReader(path);
  const seen: unknown[] = [];
  for (const entry of reader.entriesAfter(0)) {
    seen.push(entry);
    if (entry.kind === 'cycle-closed') {
      const { trace } = entry.content.circumstances;
      if (trace !== null) seen.push(Buffer.from(reader.trace(trace) ?? []).toString('hex'));
    }
    if (entry.kind === 'cycle-opened') seen.push(reader.document('plan', entry.content.plan));
    if (entry.kind === 'profile-issue') seen.push(reader.document('profile', entry.content.content));
    if (entry.kind === 'rig-revision') seen.push(reader.document('rig', entry.content.content));
  }
  reader.close();
  return JSON.stringify(seen);
}
