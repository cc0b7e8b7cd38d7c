import type { Database as Connection, Statement } from 'better-sqlite3';
import type { Hash } from '../../station/hash.ts';
import { sha256 } from './digest.ts';
import { StoreError } from './errors.ts';

/**
 * Traces, apart from the entries so that no scan touches them, under the hash of their bytes, which the record carries.
 * Packed as they come (`station/cycle/trace.ts`), so they are stored as they are. With row numbers: in a table that is
 * clustered by the hash, each search reads the whole content of every trace that it compares with.
 */
export const TRACE_TABLES = [
  `CREATE TABLE trace (
    hash TEXT NOT NULL PRIMARY KEY,
    content BLOB NOT NULL
  ) STRICT`,
  `CREATE TRIGGER trace_is_new BEFORE INSERT ON trace
    WHEN EXISTS (SELECT 1 FROM trace WHERE hash = NEW.hash)
    BEGIN SELECT RAISE(ABORT, 'a trace is stored once'); END`,
  `CREATE TRIGGER trace_stays BEFORE DELETE ON trace
    BEGIN SELECT RAISE(ABORT, 'traces are never deleted'); END`,
  `CREATE TRIGGER trace_is_frozen BEFORE UPDATE ON trace
    BEGIN SELECT RAISE(ABORT, 'traces are never changed'); END`,
];

/** Largest trace: an hour of 20 ms means of 20 channels is about a tenth of it. */
export const TRACE_LIMIT_BYTES = 32 * 1024 * 1024;

export interface StoredTrace {
  readonly hash: Hash;
  readonly content: Uint8Array;
}

/** Makes a trace ready to be stored: everything that needs no transaction. Throws `invalid-content` when it is too large. */
export function storedTrace(content: Uint8Array): StoredTrace {
  if (content.byteLength > TRACE_LIMIT_BYTES)
    throw new StoreError('invalid-content', 'the trace is too large', {
      facts: { bytes: content.byteLength, limitBytes: TRACE_LIMIT_BYTES },
    });
  return { hash: traceHash(content), content };
}

export class TraceTable {
  readonly #insert: Statement<[string, Uint8Array]>;
  readonly #one: Statement<[string], StoredTrace>;
  readonly #has: Statement<[string], number>;

  constructor(connection: Connection) {
    this.#insert = connection.prepare('INSERT INTO trace (hash, content) VALUES (?, ?)');
    this.#one = connection.prepare('SELECT hash, content FROM trace WHERE hash = ?');
    this.#has = connection.prepare<[string], number>('SELECT 1 FROM trace WHERE hash = ?').pluck();
  }

  has(hash: Hash): boolean {
    return this.#has.get(hash) !== undefined;
  }

  /** Stores a trace unless it is there; only inside a transaction. */
  put({ hash, content }: StoredTrace): void {
    if (!this.has(hash)) this.#insert.run(hash, content);
  }

  /** The bytes as they were given. Throws `damaged`. */
  get(hash: Hash): Uint8Array | undefined {
    const row = this.#one.get(hash);
    if (row !== undefined) checkTrace(row);
    return row?.content;
  }
}

/** The name of a trace: SHA-256 of its bytes. */
export const traceHash = (trace: Uint8Array): Hash => sha256(trace);

/** Throws `damaged` when any stored byte is not what was written. */
export function checkTrace({ hash, content }: StoredTrace): void {
  if (traceHash(content) !== hash)
    throw new StoreError('damaged', `trace ${hash} is not what was written`, { facts: { hash } });
}
