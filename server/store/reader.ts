import type { Database as Connection, Statement } from 'better-sqlite3';
import type { Hash } from '../../station/hash.ts';
import type { Verdict } from '../../station/cycle/result.ts';
import type { CycleRecord } from '../../station/cycle/record.ts';
import type { CycleKind } from '../../station/profile/schema.ts';
import type { RigRevision } from '../../station/rig/revision.ts';
import { openForReading } from './database.ts';
import { DocumentTable } from './documents.ts';
import type { DocumentKind, Documents } from './document-format.ts';
import { AuditHistory } from './audit-history.ts';
import type {
  AuditAct,
  CycleOpened,
  Disposition,
  EntryKind,
  Journal,
  Proof,
  SamplingPlanEntry,
} from './entry-format.ts';
import { StoreError } from './errors.ts';
import { INDEX_VERSION, caughtUpTo, indexVersionOf } from './indexes.ts';
import { Ledger, NO_ENTRY } from './ledger.ts';
import type { Entry, Place } from './ledger.ts';
import { LotHistory } from './lot-history.ts';
import { StationHistory } from './station-history.ts';
import { TraceTable } from './traces.ts';

/** A record with its place in the ledger. */
export interface KeptCycle extends Place {
  readonly record: CycleRecord;
}

/** A cycle that was opened and has no closing entry: running now, or cut off. */
export interface OpenCycle extends Place {
  readonly opening: CycleOpened;
}

/** One judged place of one cycle that a serial was in. */
export interface SerialLine {
  readonly sequence: number;
  readonly nest: number;
  readonly verdict: Verdict;
  readonly kind: CycleKind;
}

const CLOSED_OF_SERIAL = `SELECT DISTINCT sequence FROM serial WHERE serial = ? ORDER BY sequence DESC LIMIT ?`;
const CLOSED_OF_LOT = `SELECT sequence FROM lot WHERE part_number = ? AND lot = ? ORDER BY sequence DESC LIMIT ?`;
const CLOSED_SINCE = `SELECT sequence FROM entry WHERE sequence > ? AND kind = 'cycle-closed' ORDER BY sequence DESC`;
const CLOSED_LATEST = `
  SELECT sequence FROM entry WHERE kind = 'cycle-closed' AND sequence < ? ORDER BY sequence DESC LIMIT ?`;

/**
 * Everything that can be asked of a ledger. What is read is checked against its hash and its format on the way: a
 * method that reads entries or documents throws `damaged`, `unknown-format` or `invalid-content` rather than show
 * what was not written.
 */
export class LedgerReader {
  protected readonly connection: Connection;
  protected readonly ledger: Ledger;
  protected readonly documents: DocumentTable;
  protected readonly traces: TraceTable;
  readonly #stations: StationHistory;
  readonly #lots: LotHistory;
  readonly #ofSerial: Statement<[string, number], number>;
  readonly #ofLot: Statement<[string, string, number], number>;
  readonly #since: Statement<[number], number>;
  readonly #partNumber: Statement<[string], string>;
  readonly #latest: Statement<[number, number], number>;
  readonly #cycle: Statement<[string], { opened_sequence: number; closed_sequence: number | null }>;
  readonly #unfinished: Statement<[], number>;
  readonly #history: Statement<[string], SerialLine>;
  readonly #revision: Statement<[string, string], number>;
  readonly #lastRevision: Statement<[string], number | null>;
  readonly #rig: Statement<[string], { issue: number; content_hash: string }>;
  readonly #proof: Statement<[string, string], number>;
  readonly #proofBefore: Statement<[string, string, number], number>;
  readonly #dispositions: Statement<[string, string, number], number>;
  readonly #samplingPlan: Statement<[string], number>;
  readonly #audits: AuditHistory;

  /** Takes over the connection, whose index tables are of this version. */
  constructor(connection: Connection) {
    this.connection = connection;
    this.ledger = new Ledger(connection);
    this.documents = new DocumentTable(connection);
    this.traces = new TraceTable(connection);
    this.#stations = new StationHistory(connection);
    this.#lots = new LotHistory(connection);
    const numbers = <P extends unknown[]>(sql: string) =>
      connection.prepare<P, number>(sql).pluck() as Statement<P, number>;
    this.#ofSerial = numbers(CLOSED_OF_SERIAL);
    this.#ofLot = numbers(CLOSED_OF_LOT);
    this.#since = numbers(CLOSED_SINCE);
    this.#partNumber = connection.prepare<[string], string>('SELECT part_number FROM cycle WHERE cycle = ?').pluck();
    this.#latest = numbers(CLOSED_LATEST);
    this.#cycle = connection.prepare('SELECT opened_sequence, closed_sequence FROM cycle WHERE cycle = ?');
    this.#unfinished = numbers(
      'SELECT opened_sequence FROM cycle WHERE closed_sequence IS NULL ORDER BY opened_sequence',
    );
    this.#history = connection.prepare(
      'SELECT sequence, nest, verdict, kind FROM serial WHERE serial = ? ORDER BY sequence, nest',
    );
    this.#revision = numbers('SELECT revision FROM profile_revision WHERE part_number = ? AND content_hash = ?');
    this.#lastRevision = numbers('SELECT max(revision) FROM profile_revision WHERE part_number = ?');
    this.#rig = connection.prepare(
      'SELECT issue, content_hash FROM rig_revision WHERE station = ? ORDER BY issue DESC LIMIT 1',
    );
    this.#proof = numbers('SELECT sequence FROM proof WHERE station = ? AND proof = ? ORDER BY sequence DESC LIMIT 1');
    this.#proofBefore = numbers(
      'SELECT sequence FROM proof WHERE station = ? AND proof = ? AND sequence < ? ORDER BY sequence DESC LIMIT 1',
    );
    this.#dispositions = numbers(
      'SELECT sequence FROM disposition WHERE part_number = ? AND lot = ? ORDER BY sequence DESC LIMIT ?',
    );
    this.#samplingPlan = numbers('SELECT max(sequence) FROM sampling_plan WHERE part_number = ?');
    this.#audits = new AuditHistory(connection);
  }

  /** Looks several times at one and the same moment of the ledger, the latest: the writer may write meanwhile. */
  atOneMoment<T>(look: () => T): T {
    return this.connection.transaction(look)();
  }

  /** The last entry's place, which stands for the whole ledger. */
  head(): Place {
    const head = this.ledger.head();
    if (head === undefined) throw new StoreError('damaged', 'the ledger has no first entry');
    return head;
  }

  /** The last entry itself, checked: what a writer is about to build upon. */
  lastEntry(): Entry {
    const { sequence } = this.head();
    const entry = this.ledger.entry(sequence);
    if (entry === undefined) throw new StoreError('damaged', `entry ${sequence} is missing`, { facts: { sequence } });
    return entry;
  }

  /** The identity that the first entry gave this ledger. */
  server(): string {
    return this.#entry(1, 'server').content.server;
  }

  /** The hash that an entry names as the one before it, and whether the entry before it is whole and hashes to that. */
  chainAt(sequence: number): { readonly before: Hash; readonly holds: boolean } {
    const before = this.ledger.previousHash(sequence);
    try {
      return { before, holds: (this.ledger.entry(sequence - 1)?.hash ?? NO_ENTRY) === before };
    } catch (error) {
      if (error instanceof StoreError && error.code === 'damaged') return { before, holds: false };
      throw error;
    }
  }

  /** The entries after a sequence number, in order. */
  entriesAfter(sequence: number): Generator<Entry> {
    return this.ledger.after(sequence);
  }

  /** The latest cycles in which a part of this serial was, the newest first. */
  bySerial(serial: string, limit = 100): KeptCycle[] {
    return this.#ofSerial.all(serial, limit).map((sequence) => this.#kept(sequence));
  }

  /** The latest cycles of a lot, the newest first. */
  byLot(partNumber: string, lot: string, limit = 100): KeptCycle[] {
    // One moment of the ledger: the writer may catch up between two looks.
    const read = this.connection.transaction(() => {
      const since = this.#sinceCaughtUp().filter(
        ({ record: { circumstances } }) =>
          circumstances.lot === lot && this.#partNumber.get(circumstances.cycle) === partNumber,
      );
      const before = this.#ofLot.all(partNumber, lot, Math.max(0, limit - since.length));
      return [...since, ...before.map((sequence) => this.#kept(sequence))].slice(0, limit);
    });
    return read();
  }

  /** The latest closed cycles, or those before an entry, the newest first. */
  latest(limit: number, before = Number.MAX_SAFE_INTEGER): KeptCycle[] {
    return this.#latest.all(before, limit).map((sequence) => this.#kept(sequence));
  }

  /** A closed cycle; undefined when it was never opened or is not closed. */
  byCycle(cycle: string): KeptCycle | undefined {
    const closed = this.#cycle.get(cycle)?.closed_sequence;
    return closed === undefined || closed === null ? undefined : this.#kept(closed);
  }

  /** The closed cycle of an entry. Throws `damaged` when the entry is none. */
  cycleAt(sequence: number): KeptCycle {
    return this.#kept(sequence);
  }

  /** Cycles without a closing entry, the oldest first. */
  unfinished(): OpenCycle[] {
    return this.#unfinished.all().map((sequence) => this.#opened(sequence));
  }

  /** How a serial was judged so far, the oldest first; reads no record. */
  historyOf(serial: string): SerialLine[] {
    return this.#history.all(serial);
  }

  /** What a station did, as far as the writer has caught up: everything, after `checkpoint`. */
  get stations(): StationHistory {
    return this.#stations;
  }

  /** What became of the lots, as far as the writer has caught up: everything, after `checkpoint`. */
  get lots(): LotHistory {
    return this.#lots;
  }

  /** The latest closed cycle of a station, of those the writer has caught up with; undefined when there is none. */
  lastOfStation(station: string): KeptCycle | undefined {
    const sequence = this.#stations.lastCycle(station);
    return sequence === undefined ? undefined : this.#kept(sequence);
  }

  /** The latest journal entries about a subject that the writer has caught up with, the newest first. */
  journalOf(subject: string, limit = 100): (Place & { readonly content: Journal })[] {
    return this.#stations.journal(subject, limit).map((sequence) => this.#entry(sequence, 'journal'));
  }

  /** The number under which a content was issued for a part number; undefined when it never was. */
  profileRevisionOf(partNumber: string, content: Hash): number | undefined {
    return this.#revision.get(partNumber, content);
  }

  /** The latest issue of a station's rig facts. */
  latestRigRevision(station: string): { readonly hash: Hash; readonly revision: RigRevision } | undefined {
    const row = this.#rig.get(station);
    return row && { hash: row.content_hash, revision: this.document('rig', row.content_hash) };
  }

  /** How a station last stood with a proof; undefined when it never had one. */
  latestProof(station: string, proof: Proof['proof']): (Place & { readonly content: Proof }) | undefined {
    const sequence = this.#proof.get(station, proof);
    return sequence === undefined ? undefined : this.#entry(sequence, 'proof');
  }

  /** How a station stood with a proof just before an entry; undefined when it had none then. */
  proofBefore(
    station: string,
    proof: Proof['proof'],
    before: number,
  ): (Place & { readonly content: Proof }) | undefined {
    const sequence = this.#proofBefore.get(station, proof, before);
    return sequence === undefined ? undefined : this.#entry(sequence, 'proof');
  }

  /** The number of a cycle's opening entry; undefined when it was never opened. */
  openingSequenceOf(cycle: string): number | undefined {
    return this.#cycle.get(cycle)?.opened_sequence;
  }

  /** What was last decided about a lot; undefined when nothing was. */
  latestDisposition(partNumber: string, lot: string): (Place & { readonly content: Disposition }) | undefined {
    return this.dispositions(partNumber, lot, 1)[0];
  }

  /** What was decided about a lot, the latest first. */
  dispositions(partNumber: string, lot: string, limit = 100): (Place & { readonly content: Disposition })[] {
    return this.#dispositions.all(partNumber, lot, limit).map((sequence) => this.#entry(sequence, 'disposition'));
  }

  /** How samples of a part number are drawn; undefined when nobody said. */
  samplingPlanOf(partNumber: string): (Place & { readonly content: SamplingPlanEntry }) | undefined {
    const sequence = this.#samplingPlan.get(partNumber) ?? null;
    return sequence === null ? undefined : this.#entry(sequence, 'sampling-plan');
  }

  /** Which audits there are. */
  get audits(): AuditHistory {
    return this.#audits;
  }

  /** What an entry says of an audit, read without the rest of it. Throws `damaged` when the entry says nothing of one. */
  auditActAt(sequence: number): Place & { readonly content: AuditAct } {
    return this.#entry(sequence, 'audit');
  }

  /** What happened to an audit, in order: its acts and its closed cycles; empty for one that is not known. */
  auditEntries(audit: string): Extract<Entry, { kind: 'audit' | 'cycle-closed' }>[] {
    return this.#audits.sequencesOf(audit).map((sequence) => {
      const entry = this.ledger.entry(sequence);
      if (entry?.kind !== 'audit' && entry?.kind !== 'cycle-closed')
        throw new StoreError('damaged', `entry ${sequence} is not one of an audit`, { facts: { sequence } });
      return entry;
    });
  }

  /** A document by its hash. Throws `damaged` when something rests on it and it is not there. */
  document<K extends DocumentKind>(kind: K, hash: Hash): Documents[K] {
    const document = this.documents.get(kind, hash);
    if (document === undefined)
      throw new StoreError('damaged', `${kind} ${hash} is missing`, { facts: { kind, hash } });
    return document;
  }

  /** The bytes of a trace as they were given; undefined when there is none of this hash. */
  trace(hash: Hash): Uint8Array | undefined {
    return this.traces.get(hash);
  }

  close(): void {
    this.connection.close();
  }

  protected lastRevisionOf(partNumber: string): number {
    return this.#lastRevision.get(partNumber) ?? 0;
  }

  /** Whether a cycle of this id was ever opened. */
  protected isKnown(cycle: string): boolean {
    return this.#cycle.get(cycle) !== undefined;
  }

  /** The opening of a cycle and whether it is closed; undefined when it was never opened. */
  protected openingOf(cycle: string): (OpenCycle & { readonly closed: boolean }) | undefined {
    const row = this.#cycle.get(cycle);
    return row && { ...this.#opened(row.opened_sequence), closed: row.closed_sequence !== null };
  }

  /** Closed cycles whose later index rows the writer has not put in yet, the newest first: those since its last pause. */
  #sinceCaughtUp(): KeptCycle[] {
    return this.#since.all(caughtUpTo(this.connection)).map((sequence) => this.#kept(sequence));
  }

  #opened(sequence: number): OpenCycle {
    const { at, hash, content } = this.#entry(sequence, 'cycle-opened');
    return { sequence, at, hash, opening: content };
  }

  #kept(sequence: number): KeptCycle {
    const { at, hash, content } = this.#entry(sequence, 'cycle-closed');
    return { sequence, at, hash, record: content };
  }

  #entry<K extends EntryKind>(sequence: number, kind: K): Extract<Entry, { kind: K }> {
    const entry = this.ledger.entry(sequence);
    if (entry?.kind !== kind)
      throw new StoreError('damaged', `entry ${sequence} is not a ${kind} entry`, { facts: { sequence, kind } });
    return entry as Extract<Entry, { kind: K }>;
  }
}

/**
 * Opens a ledger so that nothing can be written through it, beside a running writer or without one.
 * Throws `cannot-open`, `not-a-ledger`, `newer-format`, `older-format`, `indexes-stale`, `settings-refused`, `damaged`.
 */
export function openReader(path: string): LedgerReader {
  const connection = openForReading(path);
  const version = indexVersionOf(connection);
  if (version !== INDEX_VERSION) {
    connection.close();
    throw new StoreError('indexes-stale', 'open the ledger for writing once, so that its index tables are made anew', {
      facts: { version: version ?? 'none', known: INDEX_VERSION },
    });
  }
  return new LedgerReader(connection);
}
