import { closeSync, fdatasyncSync, openSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import type { Database as Connection, Statement } from 'better-sqlite3';
import { systemClock } from '../../station/clock.ts';
import { openForReading, openForWriting } from '../../server/store/database.ts';
import { KEPT_TABLES } from '../../server/store/foundation.ts';
import { INDEX_SCHEMA, INDEX_TABLES } from '../../server/store/indexes.ts';
import { openStore } from '../../server/store/store.ts';
import { PROGRAM, openingOf, recordOf, traceOf } from '../support/ledger-content.ts';
import { readyPlan, temporaryFolder } from '../support/ledger-use.ts';

/** What a durable commit costs against the least that durability can cost on the same storage in the same run. */
export interface CommitCost {
  /** Median of `closeCycle`: a record of two nests and a trace of 4 kB, from the record to its durability. */
  readonly commitMedianMs: number;
  /** Median of `openCycle` under a plan that is stored already. */
  readonly openMedianMs: number;
  /** Median of the same rows as those of `closeCycle`, ready made, in one transaction of bare statements. */
  readonly bareMedianMs: number;
  /** Median of appending 4 kB to a file and syncing its data. */
  readonly syncMedianMs: number;
  /** Medians of commit, open and bare over sync, pair by pair. */
  readonly ratio: number;
  readonly openRatio: number;
  readonly bareRatio: number;
}

/** The first cycles compile the code and lengthen the write-ahead log. */
const WARMING = 60;
const CHECKPOINT_EVERY = 30;

/**
 * Measures `rounds` cycles in a temporary folder, opening, sync, closing and bare rows in turn, so that all meet the
 * same storage. A checkpoint falls outside the times, as it falls between the cycles of a station.
 */
export function measureCommit(rounds = 300): CommitCost {
  const folder = temporaryFolder();
  const path = join(folder.path, 'ledger.db');
  const store = openStore(path, { clock: systemClock, program: PROGRAM });
  const file = openSync(join(folder.path, 'appended'), 'w');
  const bare = new BareRows(join(folder.path, 'bare.db'), path);
  try {
    const plan = readyPlan(store);
    const block = traceOf(1, 4096);
    const costs: Record<'open' | 'sync' | 'commit' | 'bare', number[]> = { open: [], sync: [], commit: [], bare: [] };
    const cost = (name: keyof typeof costs, work: () => void): void => {
      const from = systemClock.nowMs();
      work();
      costs[name].push(systemClock.nowMs() - from);
    };
    for (let round = 0; round < rounds + WARMING; round += 1) {
      const opening = openingOf(round);
      const trace = traceOf(round);
      const record = recordOf(opening, plan, round, trace);
      cost('open', () => store.openCycle(opening, plan));
      cost('sync', () => {
        writeSync(file, block);
        fdatasyncSync(file);
      });
      cost('commit', () => store.closeCycle(record, trace));
      const rows = bare.read(store.head().sequence);
      cost('bare', () => bare.write(rows));
      if (round % CHECKPOINT_EVERY === CHECKPOINT_EVERY - 1) {
        store.checkpoint();
        bare.checkpoint();
      }
    }
    const kept = (name: keyof typeof costs): number[] => costs[name].slice(WARMING);
    const syncs = kept('sync');
    const ratioOf = (name: keyof typeof costs): number =>
      median(kept(name).map((ms, index) => ms / (syncs[index] ?? Number.NaN)));
    return {
      commitMedianMs: median(kept('commit')),
      openMedianMs: median(kept('open')),
      bareMedianMs: median(kept('bare')),
      syncMedianMs: median(syncs),
      ratio: ratioOf('commit'),
      openRatio: ratioOf('open'),
      bareRatio: ratioOf('bare'),
    };
  } finally {
    bare.close();
    closeSync(file);
    store.close();
    folder.remove();
  }
}

type Rows = readonly { readonly table: string; readonly values: readonly unknown[] }[];

const TABLES = ['entry', ...Object.keys(INDEX_TABLES)];

/** A second file with the same tables and settings, into which what the store wrote is written again without it. */
class BareRows {
  readonly #to: Connection;
  readonly #from: Connection;
  readonly #inserts = new Map<string, Statement>();

  constructor(path: string, ledger: string) {
    this.#to = openForWriting(path);
    for (const statement of [...KEPT_TABLES, ...INDEX_SCHEMA]) this.#to.exec(statement);
    this.#from = openForReading(ledger);
    for (const table of [...TABLES, 'trace']) {
      const columns = this.#to.prepare(`SELECT * FROM ${table}`).columns().length;
      this.#inserts.set(
        table,
        this.#to.prepare(`INSERT INTO ${table} VALUES (${Array(columns).fill('?').join(', ')})`),
      );
    }
  }

  /** What closing a cycle wrote under this number; the entry's own number is that of the next bare entry. */
  read(sequence: number): Rows {
    const own = (this.#to.prepare('SELECT coalesce(max(sequence), 0) + 1 FROM entry').pluck().get() ?? 1) as number;
    const read = (table: string, where: string): Rows =>
      this.#from
        .prepare<[number], unknown[]>(`SELECT * FROM ${table} WHERE ${where}`)
        .raw()
        .all(sequence)
        .map((values) => ({ table, values: table === 'entry' ? [own, ...values.slice(1)] : values }));
    return [
      ...read('entry', 'sequence = ?'),
      ...read('cycle', 'closed_sequence = ?'),
      ...['serial', 'lot', 'measurement'].flatMap((table) => read(table, 'sequence = ?')),
      ...read('trace', "hash = (SELECT json_extract(content, '$.circumstances.trace') FROM entry WHERE sequence = ?)"),
    ];
  }

  write(rows: Rows): void {
    this.#to.exec('BEGIN IMMEDIATE');
    for (const { table, values } of rows) this.#inserts.get(table)?.run(...values);
    this.#to.exec('COMMIT');
  }

  checkpoint(): void {
    this.#to.pragma('wal_checkpoint(RESTART)');
  }

  close(): void {
    this.#from.close();
    this.#to.close();
  }
}

/** Measures and prints. */
export function commitBench(): void {
  const cost = measureCommit();
  const line = (name: string, ms: number, ratio: number): string =>
    `  ${name.padEnd(34)} ${ms.toFixed(2)} ms  ${ratio.toFixed(2)} x`;
  console.log(
    [
      'commit: medians, and over append 4 kB + fdatasync pair by pair',
      line('append 4 kB + fdatasync', cost.syncMedianMs, 1),
      line('opening entry', cost.openMedianMs, cost.openRatio),
      line('closing entry, ready-made rows', cost.bareMedianMs, cost.bareRatio),
      line('closing entry, from the record', cost.commitMedianMs, cost.ratio),
    ].join('\n'),
  );
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[sorted.length >> 1] ?? Number.NaN;
}
