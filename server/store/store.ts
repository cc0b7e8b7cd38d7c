import type { Database as Connection } from 'better-sqlite3';
import type { Clock } from '../../station/clock.ts';
import { hashOf } from '../../station/hash.ts';
import type { Hash } from '../../station/hash.ts';
import type { CycleRecord } from '../../station/cycle/record.ts';
import { hashOfPlan } from '../../station/profile/plan.ts';
import type { Plan } from '../../station/profile/plan.ts';
import type { ProfileRevision } from '../../station/profile/schema.ts';
import type { RigRevision } from '../../station/rig/revision.ts';
import { BUSY_TIMEOUT_MS, folderOf, isEmpty, makeFolder, openForWriting, syncFolder, translated } from './database.ts';
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
import { FailureWatch } from './failure.ts';
import { createLedger, currentIndexes } from './foundation.ts';
import { rebuildIndexes } from './indexes.ts';
import type { Indexes } from './indexes.ts';
import { interruptedRecord, checkRecord } from './closing.ts';
import { checkIssue } from './issue.ts';
import { ready } from './ledger.ts';
import type { Entry, Place, Ready } from './ledger.ts';
import { LedgerReader } from './reader.ts';
import type { Actor } from './record-format.ts';
import { RecordText } from './record-text.ts';
import type { RecordPart } from './record-text.ts';
import { storedTrace } from './traces.ts';
import { brokenLog } from './write-ahead-log.ts';
import { WriterLock } from './writer-lock.ts';

/** What is known of a cycle before anything moves, apart from what its plan says. */
export type Opening = Omit<CycleOpened, 'plan' | 'kind' | 'origin'>;

/**
 * The ledger's one writer. Every method that writes is one transaction: when it returns, what it wrote survives a power
 * cut; when it throws, nothing of it was kept. Each may throw `storage-full`, `storage-failed` (then everything after it
 * does, until the store is opened anew), `store-closed` and `invalid-content`.
 */
export class Store extends LedgerReader {
  readonly #clock: Clock;
  readonly #lock: WriterLock | undefined;
  readonly #failures: FailureWatch;
  readonly #immediate: (write: () => unknown) => unknown;
  /** Openings of the cycles that this store opened and has not closed, so that closing need not read them. */
  readonly #running = new Map<string, CycleOpened>();
  readonly #recordText = new RecordText();
  readonly #listeners = new Set<(entry: Entry) => void>();
  /** Appended in the transaction that runs. */
  #fresh: Entry[] = [];
  #indexes: Indexes;

  constructor(connection: Connection, indexes: Indexes, clock: Clock, lock: WriterLock | undefined) {
    super(connection);
    this.#clock = clock;
    this.#lock = lock;
    this.#failures = new FailureWatch(connection);
    this.#indexes = indexes;
    const transaction = connection.transaction((write: () => unknown) => write());
    this.#immediate = (write) => transaction.immediate(write);
  }

  /**
   * Keeps that a cycle starts, with its plan when it is new; on disk before anything may move. Returns the plan's hash
   * with the entry's place. Throws `already-open`, `not-issued` when the plan's profile or rig revision is not in the
   * ledger, `record-disagrees` when opening and plan do not fit each other.
   */
  openCycle(opening: Opening, plan: Plan): Place & { readonly plan: Hash } {
    const { kind } = plan;
    const { origin, station, nests } = plan.rig.revision;
    if (opening.station !== station || opening.load.length !== nests)
      throw new StoreError('record-disagrees', `the plan is for station ${station} with ${nests} nests`);
    const hash = hashOfPlan(plan);
    const said: CycleOpened = { ...opening, kind, origin, plan: hash };
    const entry = ready('cycle-opened', said);
    const place = this.#write(() => {
      if (this.isKnown(opening.cycle))
        throw new StoreError('already-open', `cycle ${opening.cycle} was opened before`, {
          facts: { cycle: opening.cycle },
        });
      if (!this.documents.has('plan', hash)) {
        this.#checkIssued(plan);
        this.documents.put('plan', plan);
      }
      return this.#append(entry);
    });
    this.#running.set(opening.cycle, said);
    return { ...place, plan: hash };
  }

  /**
   * Checks a reading or a judgement of a running cycle, writes it out and freezes it, so that a verdict waits for the
   * rest of its record only. Nothing is kept by it, and a record is the same without it.
   */
  makeReady(part: RecordPart): void {
    this.#recordText.makeReady(part);
  }

  /**
   * Keeps a whole cycle, on disk before any verdict may be shown. `trace` are the bytes whose hash the record names;
   * null when it names none. Throws `not-open`, `already-closed`, `record-disagrees`, `trace-disagrees`.
   */
  closeCycle(record: CycleRecord, trace: Uint8Array | null): Place {
    const { cycle, trace: named } = record.circumstances;
    const stored = trace === null ? null : storedTrace(trace);
    if ((stored?.hash ?? null) !== named)
      throw new StoreError('trace-disagrees', 'the record does not name this trace', { facts: { cycle } });
    // Nobody else writes this ledger: what this store opened and did not close is open in the transaction too.
    checkRecord(record, this.#openingOf(cycle));
    const entry = this.#recordText.of(record);
    const place = this.#write(() => {
      if (stored !== null) this.traces.put(stored);
      return this.#append(entry);
    });
    this.#running.delete(cycle);
    return place;
  }

  /** The opening of a cycle that is running. Throws `not-open`, `already-closed`. */
  #openingOf(cycle: string): CycleOpened {
    const running = this.#running.get(cycle);
    if (running !== undefined) return running;
    const opened = this.#failures.watch(() => this.openingOf(cycle));
    if (opened === undefined) throw new StoreError('not-open', `cycle ${cycle} was not opened`, { facts: { cycle } });
    if (opened.closed) throw new StoreError('already-closed', `cycle ${cycle} is closed`, { facts: { cycle } });
    return opened.opening;
  }

  /**
   * Closes every unfinished cycle as interrupted: each loaded nest not judged. For the start of the server, when no
   * cycle can be running, and for one station whose process is gone. All or none; finds nothing to do when called again.
   * Returns the records, the oldest first.
   */
  closeInterrupted(station?: string): CycleRecord[] {
    return this.#write(() =>
      this.unfinished()
        .filter(({ opening }) => station === undefined || opening.station === station)
        .map(({ opening }) => {
          const record = interruptedRecord(opening, {
            at: this.#clock.wallTime().toISOString(),
            monotonicMs: this.#clock.nowMs(),
          });
          this.#append(ready('cycle-closed', record));
          this.#running.delete(record.circumstances.cycle);
          return record;
        }),
    );
  }

  /**
   * Keeps a profile revision; one that was issued already is not kept twice. Throws `revision-conflict` when its content
   * was issued under another number, or when its number is not above the part number's last one.
   */
  issueProfile(profile: ProfileRevision, actor: Actor): void {
    const { revision, content, hash } = profile;
    const { partNumber } = content;
    this.#write(() => {
      const known = this.profileRevisionOf(partNumber, hash);
      checkIssue(profile, { known, last: this.lastRevisionOf(partNumber) });
      if (known !== undefined) return;
      this.documents.put('profile', content);
      this.#append(ready('profile-issue', { partNumber, revision, content: hash, actor }));
    });
  }

  /**
   * Keeps a rig revision; the latest one again is not kept twice. Returns its hash. Throws `record-disagrees` when its
   * issue does not follow the station's latest.
   */
  issueRigRevision(revision: RigRevision, actor: Actor): Hash {
    const { station, issue } = revision;
    return this.#write(() => {
      const latest = this.latestRigRevision(station);
      const hash = this.documents.put('rig', revision);
      if (latest?.hash === hash) return hash;
      const last = latest?.revision.issue ?? 0;
      if (issue <= last)
        throw new StoreError('record-disagrees', `issue ${issue} does not follow issue ${last} of station ${station}`);
      this.#append(ready('rig-revision', { station, issue, content: hash, actor }));
      return hash;
    });
  }

  /** Keeps who did what. */
  journal(content: Journal): Place {
    return this.#write(() => this.#append(ready('journal', content)));
  }

  /** Keeps what was decided about a lot; an earlier decision stays and the latest counts. */
  disposition(content: Disposition): Place {
    return this.#write(() => this.#append(ready('disposition', content)));
  }

  /** Keeps what was decided about several lots together: all or none. */
  dispositionsTogether(contents: readonly Disposition[]): Place[] {
    const entries = contents.map((content) => ready('disposition', content));
    return this.#write(() => entries.map((entry) => this.#append(entry)));
  }

  /** Keeps how samples of a part number are drawn from now on. */
  samplingPlan(content: SamplingPlanEntry): Place {
    return this.#write(() => this.#append(ready('sampling-plan', content)));
  }

  /**
   * Keeps what happens to an audit. `act` is made from the head of the ledger that it is put upon: a draw takes its seed
   * from there, and nobody can have known it before. `besides` is what goes into the journal after it: both or neither.
   */
  audit(act: (head: Place) => AuditAct, besides: readonly Journal[] = []): Place {
    const entries = besides.map((content) => ready('journal', content));
    return this.#write(() => {
      const next = this.#next();
      const place = this.#append(ready('audit', act(next.last ?? this.head())), next);
      for (const entry of entries) this.#append(entry);
      return place;
    });
  }

  /** The wall time of this store's clock, by which its entries are dated. */
  now(): Date {
    return this.#clock.wallTime();
  }

  /** Keeps how a station stands with a proof; the latest counts. */
  proof(content: Proof): Place {
    return this.#write(() => this.#append(ready('proof', content)));
  }

  /** Tells the listener of every entry from now on, once it is on disk; the answer ends it. A listener must not throw. */
  listen(listener: (entry: Entry) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  /** Makes the index tables anew from the ledger. */
  rebuildIndexes(): void {
    this.#write(() => {
      this.#indexes = rebuildIndexes(this.connection);
    });
  }

  /**
   * For pauses between cycles, so that its 5 to 10 ms fall into none: catches up with the index rows that no verdict
   * waits for, and moves what was committed from the write-ahead log into the file. Waits for no reader, and does what
   * it can beside one. The log keeps its length: commits then overwrite it, which is quicker to sync than to extend it.
   */
  checkpoint(): void {
    this.#write(() => {
      if (!this.#indexes.catchUp()) this.#indexes = rebuildIndexes(this.connection);
    });
    this.#failures.watch(() => {
      this.connection.pragma('busy_timeout = 0');
      try {
        this.connection.pragma('wal_checkpoint(RESTART)');
        this.connection.pragma('optimize');
      } finally {
        this.connection.pragma(`busy_timeout = ${BUSY_TIMEOUT_MS}`);
      }
    });
  }

  /** Lets the ledger go. Closing twice is the same as once. */
  override close(): void {
    super.close();
    this.#lock?.release();
  }

  #checkIssued(plan: Plan): void {
    const { profile, rig } = plan;
    const revision = this.profileRevisionOf(profile.content.partNumber, profile.hash);
    if (revision !== profile.revision || hashOf(profile.content) !== profile.hash)
      throw new StoreError(
        'not-issued',
        `revision ${profile.revision} of ${profile.content.partNumber} is not issued`,
        {
          facts: { partNumber: profile.content.partNumber, revision: profile.revision },
        },
      );
    if (!this.documents.has('rig', rig.hash) || hashOf(rig.revision) !== rig.hash)
      throw new StoreError(
        'not-issued',
        `issue ${rig.revision.issue} of station ${rig.revision.station} is not issued`,
      );
  }

  #append<K extends EntryKind>(entry: Ready<K>, { at, last } = this.#next()): Place {
    const appended = this.ledger.append(entry, at, last);
    this.#indexes.add(appended);
    this.#fresh.push(appended);
    return { sequence: appended.sequence, at, hash: appended.hash };
  }

  /** When the next entry is written, and what it is put upon: that the clock was set back is told before it. */
  #next(): { readonly at: string; readonly last: Place | undefined } {
    const at = this.#clock.wallTime().toISOString();
    const last = this.ledger.head();
    if (last === undefined || at >= last.at) return { at, last };
    const back = { from: last.at, to: at, monotonicMs: this.#clock.nowMs() };
    const told = this.ledger.append(ready('clock-set-back', back), at, last);
    this.#indexes.add(told);
    this.#fresh.push(told);
    return { at, last: told };
  }

  #tell(kept: readonly Entry[]): void {
    for (const entry of kept) for (const listener of this.#listeners) listener(entry);
  }

  #write<T>(write: () => T): T {
    this.#fresh = [];
    const done = this.#failures.watch(() => this.#immediate(write) as T);
    const kept = this.#fresh;
    // Whoever wrote goes on first: a verdict may wait for it.
    if (kept.length > 0 && this.#listeners.size > 0) queueMicrotask(() => this.#tell(kept));
    return done;
  }
}

/**
 * Opens a ledger for writing and makes it, with its folder, when there is none. `:memory:` is for tests. What a cut-off
 * program left is recovered and moved into the file before this returns. Throws `store-in-use`, `cannot-open`,
 * `not-a-ledger`, `newer-format`, `older-format`, `settings-refused`, `damaged`.
 */
export function openStore(path: string, options: { clock: Clock; program: string; server?: string }): Store {
  const inMemory = path === ':memory:';
  let lock: WriterLock | undefined;
  let connection: Connection | undefined;
  try {
    if (!inMemory) {
      makeFolder(folderOf(path));
      lock = new WriterLock(path);
      refuseBrokenLog(path);
    }
    connection = openForWriting(path);
    const indexes = isEmpty(connection) ? createLedger(connection, options) : currentIndexes(connection);
    // At every open: the program that made the file may have been cut off between its first commit and this.
    if (!inMemory) syncFolder(folderOf(path));
    const store = new Store(connection, indexes, options.clock, lock);
    store.lastEntry();
    if (!inMemory) store.checkpoint();
    return store;
  } catch (cause) {
    connection?.close();
    lock?.release();
    throw translated(cause);
  }
}

/** Opening would cut a damaged log off where it is damaged, and take committed transactions along without a word. */
function refuseBrokenLog(path: string): void {
  const broken = brokenLog(path);
  if (broken !== undefined)
    throw new StoreError('damaged', `${broken}; keep a copy of the folder before anything else`);
}
