import type { CycleRecord } from '../../station/cycle/record.ts';
import type { Clock } from '../../station/clock.ts';
import type { ProfileRevision } from '../../station/profile/schema.ts';
import type { Actor } from '../store/record-format.ts';
import type { Store } from '../store/store.ts';
import { operatorOf } from './actors.ts';
import { ShiftCounts } from './counts.ts';
import type { Lock, NestReason } from './lock.ts';
import { lockOf } from './lock.ts';
import { stateMasters } from './proofs.ts';
import { shiftOf } from './shift.ts';
import type { Shifts } from './shift.ts';

/** What was last set up at a station. */
export interface KeptWork {
  readonly operator: string;
  readonly partNumber: string;
  readonly lot: string;
}

/**
 * What a station remembers in the ledger besides its cycles: who works on what, counts of the shift, the last reasons of
 * each nest, the masters. Read once at the start, carried on from then.
 */
export class StationBooks {
  readonly #store: Store;
  readonly #clock: Clock;
  readonly #station: string;
  readonly #rules: { readonly shifts: Shifts; readonly sameReason: number };
  readonly #reasons: NestReason[][];
  #lastWork: KeptWork | null;
  #counts: ShiftCounts;
  #shift: { readonly from: Date; readonly until: Date };

  constructor(
    given: { readonly store: Store; readonly clock: Clock; readonly station: string; readonly nests: number },
    rules: { readonly shifts: Shifts; readonly sameReason: number },
  ) {
    this.#store = given.store;
    this.#clock = given.clock;
    this.#station = given.station;
    this.#rules = rules;
    this.#lastWork = workOf(given.store, this.#workSubject);
    this.#shift = shiftOf(given.clock.wallTime(), rules.shifts);
    this.#counts = new ShiftCounts(this.#shift.from.toISOString());
    for (const row of given.store.stations.resultsSince(given.station, this.#counts.since)) this.#counts.add(row);
    this.#reasons = Array.from({ length: given.nests }, (_, nest) => {
      const unlocked = given.store.journalOf(this.#nestSubject(nest + 1), 1)[0]?.sequence ?? 0;
      return given.store.stations.reasonsOf(given.station, nest, unlocked, rules.sameReason);
    });
  }

  get counts(): ShiftCounts {
    return this.#counts;
  }

  get shiftUntil(): Date {
    return this.#shift.until;
  }

  /** Begins a new shift when the clock says so; answers whether it did. */
  turnShift(): boolean {
    if (this.#clock.wallTime() < this.#shift.until) return false;
    this.#shift = shiftOf(this.#clock.wallTime(), this.#rules.shifts);
    this.#counts = new ShiftCounts(this.#shift.from.toISOString());
    return true;
  }

  lockOf(nest: number): Lock | null {
    return lockOf(this.#reasons[nest - 1] ?? [], this.#rules.sameReason);
  }

  /** Counts a line cycle's record, and remembers each nest's reason. `wasJudged` says it of a serial before it. */
  add(record: CycleRecord, wasJudged: (serial: string) => boolean): void {
    const sequence = this.#store.head().sequence;
    const { measurement, circumstances } = record;
    const tookMs =
      measurement.phases.length === 0 ? null : circumstances.closedMonotonicMs - circumstances.openedMonotonicMs;
    for (const { nest, serial, verdict, why } of measurement.results) {
      this.#counts.add({
        sequence,
        at: circumstances.closedAt,
        tookMs,
        serial,
        verdict,
        wasJudgedBefore: wasJudged(serial),
      });
      const first = why[0];
      if (first?.by === 'station') continue;
      const before = this.#reasons[nest] ?? [];
      this.#reasons[nest] = [{ verdict, reason: first?.code ?? null }, ...before].slice(0, this.#rules.sameReason);
    }
  }

  /** Keeps that a person looked at a locked nest. */
  unlock(nest: number, lock: Lock, who: { readonly name: string; readonly found: string }): void {
    const actor: Actor = { name: who.name, role: 'person called', proof: 'stated' };
    const facts = { reason: lock.reason, times: lock.times };
    this.#store.journal({
      action: 'nest-unlocked',
      subject: this.#nestSubject(nest),
      facts,
      comment: who.found,
      actor,
    });
    this.#reasons[nest - 1] = [];
  }

  /** The work that was last set up here; null before the first. */
  lastWork(): KeptWork | null {
    return this.#lastWork;
  }

  /** Keeps a change of work; another part number lets the masters be due. */
  setUp(work: KeptWork, profile: ProfileRevision, isChangeover: boolean): void {
    const actor = operatorOf(work.operator);
    this.#store.issueProfile(profile, actor);
    if (isChangeover)
      this.#store.proof({
        station: this.#station,
        proof: 'master-check',
        state: 'due',
        evidence: `changeover to ${work.partNumber}`,
        until: null,
        actor,
      });
    const { operator, partNumber, lot } = work;
    const facts = { operator, partNumber, lot, revision: profile.revision };
    this.#store.journal({ action: 'work-set', subject: this.#workSubject, facts, comment: null, actor });
    this.#lastWork = work;
  }

  /** Keeps that the operator states the masters to read right, until the shift ends. */
  stateMasters(operator: string, partNumber: string): void {
    stateMasters(this.#store, this.#station, { by: operator, partNumber, until: this.#shift.until });
  }

  get #workSubject(): string {
    return `${this.#station}/work`;
  }

  #nestSubject(nest: number): string {
    return `${this.#station}/nest-${nest}`;
  }
}

function workOf(store: Store, subject: string): KeptWork | null {
  const facts = store.journalOf(subject, 1)[0]?.content.facts;
  if (facts === undefined) return null;
  const { operator, partNumber, lot } = facts;
  return { operator: String(operator), partNumber: String(partNumber), lot: String(lot) };
}
