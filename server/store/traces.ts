import { deflateRawSync, inflateRawSync } from 'node:zlib';
import type { Database as Connection, Statement } from 'better-sqlite3';
import type { Hash } from '../../station/hash.ts';
import { sha256 } from './digest.ts';
import { StoreError } from './errors.ts';

/**
 * Traces, apart from the entries so that no scan touches them. The name is the hash before compression, which the
 * record carries; `packed_hash` covers the stored bytes, whose last bits no inflating would miss.
 */
export const TRACE_TABLES = [
  `CREATE TABLE trace (
    hash TEXT NOT NULL PRIMARY KEY,
    bytes INTEGER NOT NULL,
    packed_hash TEXT NOT NULL,
    content BLOB NOT NULL
  ) STRICT, WITHOUT ROWID`,
  `CREATE TRIGGER trace_is_new BEFORE INSERT ON trace
    WHEN EXISTS (SELECT 1 FROM trace WHERE hash = NEW.hash)
    BEGIN SELECT RAISE(ABORT, 'a trace is stored once'); END`,
  `CREATE TRIGGER trace_stays BEFORE DELETE ON trace
    BEGIN SELECT RAISE(ABORT, 'traces are never deleted'); END`,
  `CREATE TRIGGER trace_is_frozen BEFORE UPDATE ON trace
    BEGIN SELECT RAISE(ABORT, 'traces are never changed'); END`,
];

/** Largest trace, in bytes before compression: an hour of 20 ms means of 20 channels is about half of it. */
export const TRACE_LIMIT_BYTES = 32 * 1024 * 1024;

export interface TraceRow {
  readonly hash: string;
  readonly bytes: number;
  readonly packed_hash: string;
  readonly content: Uint8Array;
}

/** Makes a trace ready to be stored: everything that needs no transaction. Throws `invalid-content` when it is too large. */
export function packedTrace(trace: Uint8Array): TraceRow {
  if (trace.byteLength > TRACE_LIMIT_BYTES)
    throw new StoreError('invalid-content', 'the trace is too large', {
      facts: { bytes: trace.byteLength, limitBytes: TRACE_LIMIT_BYTES },
    });
  const content = deflateRawSync(trace);
  return { hash: traceHash(trace), bytes: trace.byteLength, packed_hash: sha256(content), content };
}

export class TraceTable {
  readonly #insert: Statement<[string, number, string, Uint8Array]>;
  readonly #one: Statement<[string], TraceRow>;
  readonly #has: Statement<[string], number>;

  constructor(connection: Connection) {
    this.#insert = connection.prepare('INSERT INTO trace (hash, bytes, packed_hash, content) VALUES (?, ?, ?, ?)');
    this.#one = connection.prepare('SELECT hash, bytes, packed_hash, content FROM trace WHERE hash = ?');
    this.#has = connection.prepare<[string], number>('SELECT 1 FROM trace WHERE hash = ?').pluck();
  }

  has(hash: Hash): boolean {
    return this.#has.get(hash) !== undefined;
  }

  /** Stores a trace unless it is there; only inside a transaction. */
  put({ hash, bytes, packed_hash, content }: TraceRow): void {
    if (!this.has(hash)) this.#insert.run(hash, bytes, packed_hash, content);
  }

  /** The bytes as they were given. Throws `damaged`. */
  get(hash: Hash): Uint8Array | undefined {
    const row = this.#one.get(hash);
    return row && unpackedTrace(row);
  }
}

/** The name of a trace: SHA-256 of its bytes before compression. */
export const traceHash = (trace: Uint8Array): Hash => sha256(trace);

/** The bytes of a stored trace. Throws `damaged` when any stored byte is not what was written. */
export function unpackedTrace(row: TraceRow): Uint8Array {
  const damaged = (what: string, cause?: unknown) =>
    new StoreError('damaged', `trace ${row.hash}: ${what}`, { cause, facts: { hash: row.hash } });
  if (sha256(row.content) !== row.packed_hash) throw damaged('the stored bytes are not what was written');
  let trace: Uint8Array;
  try {
    trace = inflateRawSync(row.content, { maxOutputLength: TRACE_LIMIT_BYTES });
  } catch (cause) {
    throw damaged('cannot be unpacked', cause);
  }
  if (trace.byteLength !== row.bytes) throw damaged(`${trace.byteLength} bytes instead of ${row.bytes}`);
  if (traceHash(trace) !== row.hash) throw damaged('the bytes are not those of its hash');
  return trace;
}
