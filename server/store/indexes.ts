import Database from 'better-sqlite3';
import type { Database as Connection, Statement } from 'better-sqlite3';
import { assert } from '../../station/assert.ts';
import type { Hash } from '../../station/hash.ts';
import { DocumentTable } from './documents.ts';
import { StoreError } from './errors.ts';
import { Ledger } from './ledger.ts';
import type { Entry } from './ledger.ts';
import { laterChangesOf, planFactsOf, promptChangesOf } from './projection.ts';
import type { IndexRow, IndexTable, Past, PlanFacts } from './projection.ts';

/** Raised with every change of the tables below or of what is put into them: an older file's are then made anew. */
export const INDEX_VERSION = 6;

interface TableShape {
  readonly key: readonly string[];
  readonly columns: Readonly<Record<string, string>>;
}

/** Columns in the order of the projection's rows; the key first or not, as the row is written. */
export const INDEX_TABLES: Readonly<Record<IndexTable, TableShape>> = {
  cycle: {
    key: ['cycle'],
    columns: {
      cycle: 'TEXT NOT NULL',
      station: 'TEXT NOT NULL',
      kind: 'TEXT NOT NULL',
      part_number: 'TEXT NOT NULL',
      lot: 'TEXT NOT NULL',
      opened_sequence: 'INTEGER NOT NULL',
      closed_sequence: 'INTEGER',
    },
  },
  serial: {
    key: ['serial', 'sequence', 'nest'],
    columns: {
      serial: 'TEXT NOT NULL',
      sequence: 'INTEGER NOT NULL',
      nest: 'INTEGER NOT NULL',
      verdict: 'TEXT NOT NULL',
      kind: 'TEXT NOT NULL',
    },
  },
  lot: {
    key: ['part_number', 'lot', 'sequence'],
    columns: { part_number: 'TEXT NOT NULL', lot: 'TEXT NOT NULL', sequence: 'INTEGER NOT NULL' },
  },
  measurement: {
    key: ['part_number', 'step', 'quantity', 'condition', 'at', 'sequence', 'nest'],
    columns: {
      part_number: 'TEXT NOT NULL',
      step: 'TEXT NOT NULL',
      quantity: 'TEXT NOT NULL',
      condition: 'TEXT NOT NULL',
      at: 'TEXT NOT NULL',
      sequence: 'INTEGER NOT NULL',
      nest: 'INTEGER NOT NULL',
      kind: 'TEXT NOT NULL',
      origin: 'TEXT NOT NULL',
      value: 'REAL NOT NULL',
      u: 'REAL NOT NULL',
      low: 'REAL',
      high: 'REAL',
      margin: 'REAL NOT NULL',
      verdict: 'TEXT NOT NULL',
    },
  },
  station_cycle: {
    key: ['station', 'sequence'],
    columns: {
      station: 'TEXT NOT NULL',
      sequence: 'INTEGER NOT NULL',
      kind: 'TEXT NOT NULL',
      at: 'TEXT NOT NULL',
      took_ms: 'REAL',
      origin: 'TEXT NOT NULL',
      plan: 'TEXT NOT NULL',
    },
  },
  result: {
    key: ['sequence', 'nest'],
    columns: {
      sequence: 'INTEGER NOT NULL',
      nest: 'INTEGER NOT NULL',
      serial: 'TEXT NOT NULL',
      verdict: 'TEXT NOT NULL',
      blame: 'TEXT',
      reason: 'TEXT',
    },
  },
  journal: {
    key: ['subject', 'sequence'],
    columns: { subject: 'TEXT NOT NULL', sequence: 'INTEGER NOT NULL', action: 'TEXT NOT NULL' },
  },
  profile_revision: {
    key: ['part_number', 'content_hash'],
    columns: {
      part_number: 'TEXT NOT NULL',
      revision: 'INTEGER NOT NULL',
      content_hash: 'TEXT NOT NULL',
      sequence: 'INTEGER NOT NULL',
    },
  },
  rig_revision: {
    key: ['station', 'issue'],
    columns: {
      station: 'TEXT NOT NULL',
      issue: 'INTEGER NOT NULL',
      content_hash: 'TEXT NOT NULL',
      sequence: 'INTEGER NOT NULL',
    },
  },
  disposition: {
    key: ['part_number', 'lot', 'sequence'],
    columns: {
      part_number: 'TEXT NOT NULL',
      lot: 'TEXT NOT NULL',
      sequence: 'INTEGER NOT NULL',
      decision: 'TEXT NOT NULL',
    },
  },
  sampling_plan: {
    key: ['part_number', 'sequence'],
    columns: { part_number: 'TEXT NOT NULL', sequence: 'INTEGER NOT NULL' },
  },
  audit: {
    key: ['audit', 'sequence'],
    columns: {
      audit: 'TEXT NOT NULL',
      sequence: 'INTEGER NOT NULL',
      act: 'TEXT NOT NULL',
      part_number: 'TEXT',
      lot: 'TEXT',
    },
  },
  proof: {
    key: ['station', 'proof', 'sequence'],
    columns: {
      station: 'TEXT NOT NULL',
      proof: 'TEXT NOT NULL',
      sequence: 'INTEGER NOT NULL',
      state: 'TEXT NOT NULL',
      until: 'TEXT',
    },
  },
};

const NAMES = Object.keys(INDEX_TABLES) as IndexTable[];

/** The statements that make the index tables of this version. */
export const INDEX_SCHEMA: readonly string[] = [
  'CREATE TABLE index_version (version INTEGER NOT NULL PRIMARY KEY) STRICT',
  'CREATE TABLE caught_up (through INTEGER NOT NULL PRIMARY KEY) STRICT',
  ...NAMES.map((table) => {
    const { columns, key } = INDEX_TABLES[table];
    const lines = Object.entries(columns).map(([column, type]) => `${column} ${type}`);
    return `CREATE TABLE ${table} (${[...lines, `PRIMARY KEY (${key.join(', ')})`].join(', ')}) STRICT, WITHOUT ROWID`;
  }),
];

/** The index tables' version in a file; undefined when they are missing. */
export function indexVersionOf(connection: Connection): number | undefined {
  const there = connection.prepare("SELECT 1 FROM sqlite_schema WHERE name = 'index_version'").get();
  if (there === undefined) return undefined;
  return connection.prepare<[], number>('SELECT version FROM index_version').pluck().get();
}

type Puts = Readonly<Record<IndexTable, Statement<IndexRow[number][]>>>;

/** The number of the last entry whose later rows stand in their tables. */
export function caughtUpTo(connection: Connection): number {
  return connection.prepare<[], number>('SELECT through FROM caught_up').pluck().get() ?? 0;
}

/**
 * Writes the index tables: each entry's rows in the transaction of the entry, but for those that may come later. The
 * readings go into many places of a large table, and no verdict waits for them: `catchUp` puts them in at a pause, and
 * a mark says up to which entry that has been done.
 */
export class Indexes implements Past {
  readonly #puts: Puts;
  readonly #opened: Statement<[string], number>;
  readonly #ledger: Ledger;
  readonly #mark: Statement<[number]>;
  readonly #connection: Connection;
  readonly #documents: DocumentTable;
  readonly #plans = new Map<Hash, PlanFacts>();

  /** Needs the tables to be there and of this version. */
  constructor(connection: Connection) {
    this.#puts = Object.fromEntries(NAMES.map((table) => [table, connection.prepare(putOf(table))])) as Puts;
    this.#opened = connection.prepare<[string], number>('SELECT opened_sequence FROM cycle WHERE cycle = ?').pluck();
    this.#documents = new DocumentTable(connection);
    this.#ledger = new Ledger(connection);
    this.#mark = connection.prepare('UPDATE caught_up SET through = ?');
    this.#connection = connection;
  }

  /** Only inside the transaction that appends the entry. */
  add(entry: Entry): void {
    for (const { table, row } of promptChangesOf(entry, this)) this.#puts[table].run(...row);
  }

  /**
   * Puts in the later rows of every entry since the mark, and moves it; only inside a transaction. False when the mark
   * is not where the tables are, so that they have to be made anew.
   */
  catchUp(): boolean {
    const before = caughtUpTo(this.#connection);
    let through = before;
    if (through > (this.#ledger.head()?.sequence ?? 0)) return false;
    for (const entry of this.#ledger.after(through)) {
      for (const { table, row } of laterChangesOf(entry, this)) if (!this.#isPut(table, row)) return false;
      through = entry.sequence;
    }
    if (through !== before) this.#mark.run(through);
    return true;
  }

  /** Puts a row in; false when there is one of its key already. */
  #isPut(table: IndexTable, row: IndexRow): boolean {
    try {
      this.#puts[table].run(...row);
      return true;
    } catch (cause) {
      if (cause instanceof Database.SqliteError && cause.code === 'SQLITE_CONSTRAINT_PRIMARYKEY') return false;
      throw cause;
    }
  }

  /** Throws `not-issued` for a plan that is not stored. */
  planFacts(hash: Hash): PlanFacts {
    const known = this.#plans.get(hash);
    if (known !== undefined) return known;
    const plan = this.#documents.get('plan', hash);
    if (plan === undefined) throw new StoreError('not-issued', `plan ${hash} is not stored`, { facts: { hash } });
    const facts = planFactsOf(plan);
    this.#plans.set(hash, facts);
    return facts;
  }

  /** Throws `not-open`. */
  openedSequence(cycle: string): number {
    const sequence = this.#opened.get(cycle);
    if (sequence === undefined) throw new StoreError('not-open', `cycle ${cycle} was not opened`, { facts: { cycle } });
    return sequence;
  }
}

/** Drops whatever index tables a file has and makes them anew from its ledger; only inside a transaction. */
export function rebuildIndexes(connection: Connection): Indexes {
  const stale = connection
    .prepare<[], string>(
      `SELECT name FROM sqlite_schema
       WHERE type = 'table' AND name NOT IN ('entry', 'document', 'trace') AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\'`,
    )
    .pluck()
    .all();
  for (const table of stale) connection.exec(`DROP TABLE "${table.replaceAll('"', '""')}"`);
  for (const statement of INDEX_SCHEMA) connection.exec(statement);
  connection.prepare('INSERT INTO index_version (version) VALUES (?)').run(INDEX_VERSION);
  connection.exec('INSERT INTO caught_up (through) VALUES (0)');
  const indexes = new Indexes(connection);
  for (const entry of new Ledger(connection).after(0)) indexes.add(entry);
  indexes.catchUp();
  assert(indexVersionOf(connection) === INDEX_VERSION, 'index tables are of the version just made');
  return indexes;
}

function putOf(table: IndexTable): string {
  const { columns, key } = INDEX_TABLES[table];
  const names = Object.keys(columns);
  const places = names.map(() => '?').join(', ');
  // Only a cycle's row is put twice: at its opening and at its closing. Any other repetition is a mistake.
  const again =
    table === 'cycle'
      ? ` ON CONFLICT (${key.join(', ')}) DO UPDATE SET closed_sequence = excluded.closed_sequence`
      : '';
  return `INSERT INTO ${table} (${names.join(', ')}) VALUES (${places})${again}`;
}
