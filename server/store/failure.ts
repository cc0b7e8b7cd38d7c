import type { Database as Connection } from 'better-sqlite3';
import { translated } from './database.ts';
import { StoreError } from './errors.ts';
import type { StoreErrorCode } from './errors.ts';

/** After these the storage is as it was. */
const LEAVES_ALL_WELL: ReadonlySet<StoreErrorCode> = new Set(['storage-full', 'store-in-use']);

/** What stands before every use of a writer's connection: once the storage has failed, nothing goes on as if it had not. */
export class FailureWatch {
  readonly #connection: Connection;
  #failure: StoreError | undefined;

  constructor(connection: Connection) {
    this.#connection = connection;
  }

  /** Does what is asked. Throws `store-closed`, `storage-failed` from the first failure on, and what the use throws. */
  watch<T>(use: () => T): T {
    if (!this.#connection.open) throw new StoreError('store-closed', 'the store was closed');
    if (this.#failure !== undefined)
      throw new StoreError('storage-failed', 'the storage failed before; open the store anew', {
        cause: this.#failure,
      });
    try {
      return use();
    } catch (cause) {
      const error = translated(cause);
      // What SQLite itself reports leaves open what is on the storage, unless it only had no room or had to wait.
      if (error !== cause && error instanceof StoreError && !LEAVES_ALL_WELL.has(error.code)) this.#failure = error;
      throw error;
    }
  }
}
