import type { Database as Connection, Statement } from 'better-sqlite3';
import { canonicalJson } from '../../station/hash.ts';
import type { Hash } from '../../station/hash.ts';
import { sha256 } from './digest.ts';
import { FORMATS, checkContent, readContent } from './entry-format.ts';
import type { Contents, EntryKind, Said } from './entry-format.ts';
import { StoreError } from './errors.ts';

/**
 * The ledger: one append-only table of entries, each chained to the one before. The triggers are for honest programs:
 * they stop a slip, and REPLACE too, which would delete without firing a delete trigger. Who opens the file with
 * another tool is found by `verify`.
 */
export const LEDGER_TABLES = [
  `CREATE TABLE entry (
    sequence INTEGER PRIMARY KEY,
    kind TEXT NOT NULL,
    format INTEGER NOT NULL,
    at TEXT NOT NULL,
    content TEXT NOT NULL,
    content_hash TEXT NOT NULL,
    previous_hash TEXT NOT NULL,
    entry_hash TEXT NOT NULL
  ) STRICT`,
  `CREATE TRIGGER entry_follows BEFORE INSERT ON entry
    WHEN NEW.sequence IS NOT (SELECT coalesce(max(sequence), 0) + 1 FROM entry)
    BEGIN SELECT RAISE(ABORT, 'an entry follows the last one'); END`,
  `CREATE TRIGGER entry_stays BEFORE DELETE ON entry
    BEGIN SELECT RAISE(ABORT, 'entries are never deleted'); END`,
  `CREATE TRIGGER entry_is_frozen BEFORE UPDATE ON entry
    BEGIN SELECT RAISE(ABORT, 'entries are never changed'); END`,
];

/** What the first entry names as the one before it. */
export const NO_ENTRY: Hash = '0'.repeat(64);

/** An entry's place: what the next one is chained to. `at` is the UTC wall time of its writing. */
export interface Place {
  readonly sequence: number;
  readonly at: string;
  readonly hash: Hash;
}

export type Entry = Place & Said;

/** A row as it is stored. */
export interface EntryRow {
  readonly sequence: number;
  readonly kind: string;
  readonly format: number;
  readonly at: string;
  readonly content: string;
  readonly content_hash: string;
  readonly previous_hash: string;
  readonly entry_hash: string;
}

/** The chained hash: over everything that is stored of an entry, the content by its own hash. */
export function entryHash(row: Omit<EntryRow, 'content' | 'entry_hash'>): Hash {
  return sha256(canonicalJson([row.sequence, row.kind, row.format, row.at, row.content_hash, row.previous_hash]));
}

/** The entry that a row says. Throws `damaged` when its hashes do not fit it, or what `readContent` throws. */
export function entryOf(row: EntryRow): Entry {
  if (sha256(row.content) !== row.content_hash || entryHash(row) !== row.entry_hash)
    throw new StoreError('damaged', `entry ${row.sequence} is not what was written`, {
      facts: { sequence: row.sequence },
    });
  return {
    sequence: row.sequence,
    at: row.at,
    hash: row.entry_hash,
    ...readContent(row.kind, row.format, row.content),
  };
}

/** A content ready to be appended: checked, in the text that is stored, with its hash. */
export interface Ready<K extends EntryKind> {
  readonly kind: K;
  readonly content: Contents[K];
  readonly stored: string;
  readonly contentHash: Hash;
}

/** Does all that needs no transaction. Throws `invalid-content`. */
export function ready<K extends EntryKind>(kind: K, content: Contents[K]): Ready<K> {
  checkContent(kind, content);
  return written(kind, content, canonicalJson(content));
}

/** A content that was checked, with its canonical text. */
export function written<K extends EntryKind>(kind: K, content: Contents[K], stored: string): Ready<K> {
  return { kind, content, stored, contentHash: sha256(stored) };
}

const COLUMNS = 'sequence, kind, format, at, content, content_hash, previous_hash, entry_hash';

export class Ledger {
  readonly #insert: Statement<[number, string, number, string, string, string, string, string]>;
  readonly #previous: Statement<[number], Hash>;
  readonly #last: Statement<[], { sequence: number; at: string; entry_hash: string }>;
  readonly #one: Statement<[number], EntryRow>;
  readonly #after: Statement<[number, number], EntryRow>;

  constructor(connection: Connection) {
    this.#insert = connection.prepare(`INSERT INTO entry (${COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?, ?)`);
    this.#previous = connection.prepare<[number], Hash>('SELECT previous_hash FROM entry WHERE sequence = ?').pluck();
    this.#last = connection.prepare('SELECT sequence, at, entry_hash FROM entry ORDER BY sequence DESC LIMIT 1');
    this.#one = connection.prepare(`SELECT ${COLUMNS} FROM entry WHERE sequence = ?`);
    this.#after = connection.prepare(`SELECT ${COLUMNS} FROM entry WHERE sequence > ? ORDER BY sequence LIMIT ?`);
  }

  /** What an entry names as the hash before it. Throws `damaged` when there is no such entry. */
  previousHash(sequence: number): Hash {
    const hash = this.#previous.get(sequence);
    if (hash === undefined) throw new StoreError('damaged', `entry ${sequence} is missing`, { facts: { sequence } });
    return hash;
  }

  /** The last entry's place; undefined in an empty ledger. */
  head(): Place | undefined {
    const row = this.#last.get();
    return row && { sequence: row.sequence, at: row.at, hash: row.entry_hash };
  }

  /** Appends one entry; only inside a transaction. `head` is the last entry's place, where it is known. */
  append<K extends EntryKind>({ kind, content, stored, contentHash }: Ready<K>, at: string, head = this.head()): Entry {
    const row = {
      sequence: (head?.sequence ?? 0) + 1,
      kind,
      format: FORMATS[kind],
      at,
      content_hash: contentHash,
      previous_hash: head?.hash ?? NO_ENTRY,
    };
    const hash = entryHash(row);
    this.#insert.run(row.sequence, kind, row.format, at, stored, row.content_hash, row.previous_hash, hash);
    return { sequence: row.sequence, at, hash, kind, content } as Entry;
  }

  /** The entry with this number. Throws `damaged`, `unknown-format`, `invalid-content`. */
  entry(sequence: number): Entry | undefined {
    const row = this.#one.get(sequence);
    return row && entryOf(row);
  }

  /** Entries in order, those after `sequence`, read a few at a time so that writes may go on between them. */
  *after(sequence: number): Generator<Entry> {
    let last = sequence;
    for (;;) {
      // Ends with the ledger: each round moves forward.
      const rows = this.#after.all(last, 100);
      for (const row of rows) {
        yield entryOf(row);
        last = row.sequence;
      }
      if (rows.length === 0) return;
    }
  }
}
