import { closeSync, existsSync, fsyncSync, mkdirSync, openSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import Database from 'better-sqlite3';
import type { Database as Connection } from 'better-sqlite3';
import { StoreError } from './errors.ts';

/** "BRLT": what marks an SQLite file as a ledger. */
export const APPLICATION_ID = 0x42_52_4c_54;

/** Format of the ledger tables. They never migrate: a larger number is a file of a newer program. 1 was never released. */
export const LEDGER_FORMAT = 2;

/** How long one connection waits for another: only foreign tools ever make it wait. */
export const BUSY_TIMEOUT_MS = 5000;

/**
 * Set and read back at every open: the build opens an existing write-ahead database with synchronous NORMAL, which
 * would lose the last commits in a power cut. What cannot be read back as set is refused.
 */
const WRITER_PRAGMAS: readonly (readonly [pragma: string, set: string, reads: string | number])[] = [
  ['journal_mode', 'WAL', 'wal'],
  ['synchronous', 'FULL', 2],
  ['foreign_keys', 'ON', 1],
  ['trusted_schema', 'OFF', 0],
  ['cell_size_check', 'ON', 1],
  ['busy_timeout', String(BUSY_TIMEOUT_MS), BUSY_TIMEOUT_MS],
  ['cache_size', '-64000', -64_000],
  ['temp_store', 'MEMORY', 2],
  ['wal_autocheckpoint', '1000', 1000],
  ['mmap_size', '0', 0],
];

/** A reader changes no file, so what concerns writing is left out. */
const READER_PRAGMAS = WRITER_PRAGMAS.filter(
  ([pragma]) => !['journal_mode', 'synchronous', 'wal_autocheckpoint'].includes(pragma),
);

/**
 * Opens a ledger's file for its one writer, which must hold the WriterLock, and makes the file when there is none. A
 * folder that has to be made is synced into its parent; the file itself is synced into its folder by `syncFolder` once
 * its tables are committed. `:memory:` is for tests.
 * Throws `cannot-open`, `settings-refused`, `not-a-ledger`, `newer-format`, `older-format` or `damaged`.
 */
export function openForWriting(path: string): Connection {
  const connection = open(path, { readonly: false });
  const inMemory = path === ':memory:';
  try {
    // First, because a setting would already change a file that is somebody else's.
    checkIdentity(connection, { emptyAllowed: true });
    applyPragmas(
      connection,
      inMemory
        ? WRITER_PRAGMAS.filter(([pragma]) => pragma !== 'journal_mode' && pragma !== 'mmap_size')
        : WRITER_PRAGMAS,
    );
    return connection;
  } catch (cause) {
    connection.close();
    throw translated(cause);
  }
}

/**
 * Opens an existing ledger so that nothing can be written through it; any number may be open beside the writer.
 * Throws `cannot-open`, `settings-refused`, `not-a-ledger`, `newer-format`, `older-format` or `damaged`.
 */
export function openForReading(path: string): Connection {
  const connection = open(path, { readonly: true });
  try {
    applyPragmas(connection, READER_PRAGMAS);
    checkIdentity(connection, { emptyAllowed: false });
    return connection;
  } catch (cause) {
    connection.close();
    throw translated(cause);
  }
}

/** Whether the file has no tables yet: new, or cut off before its first commit. */
export function isEmpty(connection: Connection): boolean {
  return connection.prepare('SELECT 1 FROM sqlite_schema LIMIT 1').get() === undefined;
}

/** Makes the folder and every missing one above it, each synced into its parent. Throws `cannot-open`. */
export function makeFolder(folder: string): void {
  if (existsSync(folder)) return;
  const parent = dirname(folder);
  makeFolder(parent);
  try {
    mkdirSync(folder, { recursive: true });
    syncFolder(parent);
  } catch (cause) {
    throw new StoreError('cannot-open', `the folder ${folder} cannot be made`, { cause });
  }
}

/** Makes the names in a folder durable: a file's own sync does not. */
export function syncFolder(folder: string): void {
  const descriptor = openSync(folder, 'r');
  try {
    fsyncSync(descriptor);
  } finally {
    closeSync(descriptor);
  }
}

/** The folder that a ledger's file is in. */
export const folderOf = (path: string): string => dirname(resolve(path));

/**
 * An error of SQLite as the store's own; anything else unchanged. After a failed write or sync nobody knows what is on
 * the storage, so those are `storage-failed`; a full disk leaves things as they were.
 */
export function translated(cause: unknown): unknown {
  if (!(cause instanceof Database.SqliteError)) return cause;
  const { code } = cause;
  if (code === 'SQLITE_FULL') return new StoreError('storage-full', 'the storage is full', { cause });
  if (code.startsWith('SQLITE_CORRUPT') || code === 'SQLITE_NOTADB')
    return new StoreError('damaged', 'the ledger file is damaged', { cause, facts: { sqlite: code } });
  if (code.startsWith('SQLITE_BUSY'))
    return new StoreError('store-in-use', 'the ledger is locked by another program', { cause });
  if (code === 'SQLITE_CANTOPEN') return new StoreError('cannot-open', 'the ledger cannot be opened', { cause });
  return new StoreError('storage-failed', 'the storage failed', { cause, facts: { sqlite: code } });
}

function open(path: string, options: { readonly: boolean }): Connection {
  try {
    return new Database(path, {
      readonly: options.readonly,
      fileMustExist: options.readonly,
      timeout: BUSY_TIMEOUT_MS,
    });
  } catch (cause) {
    throw new StoreError('cannot-open', 'the ledger cannot be opened', { cause });
  }
}

function applyPragmas(connection: Connection, pragmas: typeof WRITER_PRAGMAS): void {
  for (const [pragma, set] of pragmas) connection.pragma(`${pragma} = ${set}`);
  for (const [pragma, set, reads] of pragmas) {
    const found: unknown = connection.pragma(pragma, { simple: true });
    if (found !== reads)
      throw new StoreError('settings-refused', `SQLite keeps ${pragma} at ${String(found)} instead of ${set}`, {
        facts: { pragma, set, found: String(found) },
      });
  }
}

function checkIdentity(connection: Connection, options: { emptyAllowed: boolean }): void {
  if (isEmpty(connection)) {
    if (options.emptyAllowed) return;
    throw new StoreError('not-a-ledger', 'the file is empty');
  }
  if (connection.pragma('application_id', { simple: true }) !== APPLICATION_ID)
    throw new StoreError('not-a-ledger', 'the file is an SQLite database but not a ledger');
  const format = connection.pragma('user_version', { simple: true }) as number;
  if (format > LEDGER_FORMAT)
    throw new StoreError('newer-format', `the ledger has format ${format}, this program knows up to ${LEDGER_FORMAT}`, {
      facts: { format, known: LEDGER_FORMAT },
    });
  if (format < LEDGER_FORMAT)
    throw new StoreError(
      'older-format',
      `the ledger has format ${format} of the time before the first release, which is not read any more: keep the file, and let this program begin a new ledger in another folder (--data)`,
      { facts: { format, known: LEDGER_FORMAT } },
    );
}
