/** Why the store refused or could not do something. Callers, exit codes and tests go by the code, never by the words. */
export type StoreErrorCode =
  /** Another process, or this one, already writes to this ledger. */
  | 'store-in-use'
  /** The ledger was written by a newer program than this one. */
  | 'newer-format'
  /** The ledger has a format from before the first release, for which no reader is kept. */
  | 'older-format'
  /** The file is there but is not a ledger. */
  | 'not-a-ledger'
  /** There is nothing at the path, or it may not be opened. */
  | 'cannot-open'
  /** SQLite did not accept a setting that durability or safety rests on. */
  | 'settings-refused'
  /** What is stored is not what was written. */
  | 'damaged'
  /** The storage is full; nothing was kept of this call and the store goes on. */
  | 'storage-full'
  /** The storage failed; nothing may be written until the store was opened anew. */
  | 'storage-failed'
  /** The content does not fit the format under which it would be kept. */
  | 'invalid-content'
  /** No reader for the format number of an entry or document. */
  | 'unknown-format'
  /** A cycle of this id was opened before. */
  | 'already-open'
  /** The cycle has its closing entry. */
  | 'already-closed'
  /** There is no opening entry of this cycle. */
  | 'not-open'
  /** A record says otherwise than the opening of its cycle. */
  | 'record-disagrees'
  /** A trace is missing, not named by its record, or has another hash than the record says. */
  | 'trace-disagrees'
  /** A profile's revision number does not fit what was issued of its part number. */
  | 'revision-conflict'
  /** A plan rests on a profile or rig revision that the ledger does not have. */
  | 'not-issued'
  /** The index tables are of another version than the program's: opening for writing makes them anew. */
  | 'indexes-stale'
  /** The store was closed. */
  | 'store-closed';

/** Thrown by everything in the store. `facts` carry units in their names. */
export class StoreError extends Error {
  override readonly name = 'StoreError';
  readonly code: StoreErrorCode;
  readonly facts: Readonly<Record<string, string | number>>;

  constructor(
    code: StoreErrorCode,
    message: string,
    options: { cause?: unknown; facts?: Record<string, string | number> } = {},
  ) {
    super(`${message} [${code}]`, { cause: options.cause });
    this.code = code;
    this.facts = options.facts ?? {};
  }
}
