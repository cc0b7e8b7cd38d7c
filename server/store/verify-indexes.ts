import type { Database as Connection, Statement } from 'better-sqlite3';
import { INDEX_TABLES, INDEX_VERSION, caughtUpTo, indexVersionOf } from './indexes.ts';
import type { Entry } from './ledger.ts';
import { changesOf, promptChangesOf } from './projection.ts';
import type { IndexRow, IndexTable, Past } from './projection.ts';
import type { Problems } from './problem.ts';

const NAMES = Object.keys(INDEX_TABLES) as IndexTable[];

/** Compares the index tables with what the ledger says they hold: each row by its key, and none besides. */
export class IndexCheck {
  readonly #connection: Connection;
  readonly #problems: Problems;
  readonly #same: ReadonlyMap<IndexTable, Statement<IndexRow[number][]>>;
  readonly #counts = new Map<IndexTable, number>();
  /** Cycles that are not closed so far: their row is told by the closing entry, or at the end by the opening one. */
  readonly #open = new Map<string, { readonly row: IndexRow; readonly sequence: number }>();
  /** The later rows of the entries after this one are not in their tables yet. */
  readonly #caughtUp: number;
  /** Set when an entry could not be read: how many rows there should be is then not known. */
  unknown = false;

  constructor(connection: Connection, problems: Problems) {
    this.#connection = connection;
    this.#problems = problems;
    const statements = new Map<IndexTable, Statement<IndexRow[number][]>>();
    let caughtUp = 0;
    // Tables of another version are a finding of the schema already and cannot be compared.
    if (indexVersionSafely(connection) === INDEX_VERSION)
      problems.within('index', () => {
        for (const table of NAMES) statements.set(table, connection.prepare(sameRow(table)));
        caughtUp = caughtUpTo(connection);
      });
    this.#same = statements;
    this.#caughtUp = caughtUp;
  }

  expect(entry: Entry, past: Past): void {
    const { sequence } = entry;
    for (const { table, row } of (sequence > this.#caughtUp ? promptChangesOf : changesOf)(entry, past)) {
      if (table === 'cycle') {
        const [cycle] = row;
        const closed = this.#open.delete(String(cycle));
        if (!closed) {
          this.#open.set(String(cycle), { row, sequence });
          continue;
        }
      }
      this.#check(table, row, sequence);
    }
  }

  finish(): void {
    for (const { row, sequence } of this.#open.values()) this.#check('cycle', row, sequence);
    if (this.unknown) return;
    const last = this.#connection.prepare<[], number>('SELECT max(sequence) FROM entry').pluck().get() ?? 0;
    if (this.#caughtUp > last) this.#problems.add('index', `tables are said to be caught up to ${this.#caughtUp}`);
    for (const table of this.#same.keys()) {
      const found = this.#connection.prepare<[], number>(`SELECT count(*) FROM ${table}`).pluck().get();
      const expected = this.#counts.get(table) ?? 0;
      if (found !== expected) this.#problems.add('index', `${table} has ${found ?? 0} rows instead of ${expected}`);
    }
  }

  #check(table: IndexTable, row: IndexRow, sequence: number): void {
    this.#counts.set(table, (this.#counts.get(table) ?? 0) + 1);
    if (this.#same.get(table)?.get(...row) === undefined && this.#same.size > 0)
      this.#problems.add('index', `${table} does not say what the entry says`, sequence);
  }
}

function sameRow(table: IndexTable): string {
  const columns = Object.keys(INDEX_TABLES[table].columns);
  return `SELECT 1 FROM ${table} WHERE ${columns.map((column) => `${column} IS ?`).join(' AND ')}`;
}

function indexVersionSafely(connection: Connection): number | undefined {
  try {
    return indexVersionOf(connection);
  } catch {
    return undefined;
  }
}
