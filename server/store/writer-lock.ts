import Database from 'better-sqlite3';
import { StoreError } from './errors.ts';

/**
 * One writer a ledger. The lock is an exclusive transaction, held open and never written in, on an empty database
 * beside the ledger: an advisory lock of the operating system. It ends with the process however the process ends, so
 * it cannot be left behind, and it does not touch the ledger's own file, so readers come and go as they like.
 */
export class WriterLock {
  readonly #database: Database.Database;

  /** Throws `store-in-use` at once when another connection, of this or another process, holds it. */
  constructor(ledgerPath: string) {
    this.#database = new Database(`${ledgerPath}-writer`, { timeout: 0 });
    try {
      this.#database.exec('BEGIN EXCLUSIVE');
    } catch (cause) {
      this.#database.close();
      if (cause instanceof Database.SqliteError && cause.code.startsWith('SQLITE_BUSY'))
        throw new StoreError('store-in-use', 'another program writes to this ledger', { cause });
      throw cause;
    }
  }

  release(): void {
    this.#database.close();
  }
}
