import type { Clock } from '../../station/clock.ts';
import type { ProfileContent, ProfileRevision } from '../../station/profile/schema.ts';
import type { RigRevision } from '../../station/rig/revision.ts';
import { StoreError } from '../store/errors.ts';
import type { Store } from '../store/store.ts';
import { StationFault } from '../../station/faults.ts';
import { admitAgain, admitSerial } from './admission.ts';
import type { LineCommand, ProofView } from './contract.ts';
import { Fixture } from './fixture.ts';
import type { Loaded } from './fixture.ts';
import { ABOUT_CYCLE, LastOutcome } from './last-outcome.ts';
import { lotState } from '../records/lot-standing.ts';
import { Refusal } from './line.ts';
import { mustNotBeHeld, mustTakeParts } from './lot-gate.ts';
import type { PartsInTest } from './parts-in-test.ts';
import { proofsOf } from './proofs.ts';
import type { Shifts } from './shift.ts';
import { operatorOf } from './actors.ts';
import { StationBooks } from './station-books.ts';
import { makeWork } from './work.ts';
import type { Work } from './work.ts';

/** A part in its nest (from 1), ready to be tested. */
export type Placed = Loaded & { readonly nest: number };

export interface DeskGiven {
  readonly store: Store;
  readonly clock: Clock;
  readonly station: string;
  readonly nests: number;
  readonly profiles: readonly ProfileRevision[];
  readonly inTest: PartsInTest;
  readonly settings: {
    readonly shifts: Shifts;
    readonly scanner: { readonly separators: string };
    readonly rules: { readonly retests: number; readonly sameReason: number };
  };
}

/**
 * What lies between two cycles of a line station: who works on what, which part is in which nest, what the last cycle
 * left to be done. Every method either does what it says, kept where it has to be, or throws the Refusal that says why
 * not. It knows nothing of the station's process.
 */
export class Desk {
  readonly books: StationBooks;
  readonly fixture: Fixture;
  readonly #given: DeskGiven;
  #work: Work | null = null;
  #lot: { readonly sequence: number; readonly work: Work | null; readonly isOpen: boolean } = {
    ...{ sequence: 0, work: null, isOpen: true },
  };
  #outcome: LastOutcome | null;

  /** Restores what the ledger knows of the station. */
  constructor(given: DeskGiven) {
    const { store, clock, station, nests, settings } = given;
    this.#given = given;
    this.books = new StationBooks(
      { store, clock, station, nests },
      { shifts: settings.shifts, sameReason: settings.rules.sameReason },
    );
    this.fixture = new Fixture(nests);
    for (let nest = 1; nest <= nests; nest += 1) this.fixture.lock(nest, this.books.lockOf(nest));
    this.#outcome = LastOutcome.fromLedger(store, station);
  }

  get work(): Work | null {
    return this.#work;
  }

  get outcome(): LastOutcome | null {
    return this.#outcome;
  }

  /** Whether the lot in work takes parts, as far as it can be read; true without work. A start asks the ledger itself. */
  get isLotOpen(): boolean {
    const work = this.#work;
    if (work === null) return true;
    try {
      // It is asked at every look: only what was written since can have changed it.
      const { sequence } = this.#given.store.head();
      if (sequence !== this.#lot.sequence || work !== this.#lot.work)
        this.#lot = { sequence, work, isOpen: lotState(this.#given.store, lotOf(work)) === 'open' };
    } catch (cause) {
      // A screen that is drawn must not end with a disk that cannot be read.
      if (!(cause instanceof StoreError)) throw cause;
    }
    return this.#lot.isOpen;
  }

  get plant(): ProfileContent[] {
    return this.#given.profiles.map(({ content }) => content);
  }

  proofs(): ProofView[] {
    const { store, station, clock } = this.#given;
    return proofsOf(store, station, clock.wallTime(), this.#work?.isCharacterised ?? null);
  }

  /** Plans the work that was held when the server went away; does nothing when it cannot be planned any more. */
  resume(rig: RigRevision): void {
    const held = this.#work === null ? this.books.lastWork() : heldOf(this.#work);
    const profile = this.#given.profiles.find(({ content }) => content.partNumber === held?.partNumber);
    this.#work = null;
    if (held === null || profile === undefined) return;
    const { store } = this.#given;
    // A profile that was changed since is set up by a person, who sees its revision.
    if (store.profileRevisionOf(held.partNumber, profile.hash) === undefined) return;
    try {
      this.#work = makeWork({ operator: held.operator, lot: held.lot, profile }, rig, this.plant);
    } catch (cause) {
      // What this rig cannot test any more is chosen anew by a person, who is told so.
      if (!(cause instanceof StationFault && cause.code === 'not-testable')) throw cause;
    }
  }

  /** Refusals `unknown-part-number`, `reject-first`, `read-first`, those of `mustTakeParts`; StationFault `not-testable`. */
  setUp({ operator, partNumber, lot }: Extract<LineCommand, { type: 'setup' }>, rig: RigRevision): void {
    this.mustBeSettled();
    const profile = this.#given.profiles.find(({ content }) => content.partNumber === partNumber);
    if (profile === undefined) throw new Refusal('unknown-part-number', { partNumber });
    mustTakeParts(this.#given.store, { partNumber, lot });
    const work = makeWork({ operator, lot, profile }, rig, this.plant);
    this.books.setUp({ operator, partNumber, lot }, profile, this.books.lastWork()?.partNumber !== partNumber);
    this.#work = work;
    this.#outcome = null;
    this.fixture.clear();
  }

  /** Refusal `no-work`. */
  stateMasters(): void {
    const { operator, profile } = this.mustWork();
    this.books.stateMasters(operator, profile.content.partNumber);
  }

  /** One scan may hold several serials. The first that is refused ends it; those before it stay. */
  scan(text: string, typed: boolean): void {
    this.mustBeSettled();
    const work = this.mustWork();
    const { content } = work.profile;
    const { store, settings } = this.#given;
    mustTakeParts(store, lotOf(work));
    this.#mustBeProved();
    const gate = { store, content, plant: this.plant, retests: settings.rules.retests };
    for (const serial of cut(text, settings.scanner.separators)) {
      const part = admitSerial(serial, typed, this.fixture, gate);
      const nest = this.fixture.fed;
      mustNotBeHeld(store, serial, lotOf(work));
      if (nest === null) throw new Refusal('nests-full', { serial });
      this.fixture.put(nest, part);
      // The next load has begun: what stood there is history.
      this.#outcome = null;
    }
  }

  /**
   * The parts of the load that is about to start. Refusals of everything that stands in its way; what another station
   * found out about a part since it was scanned counts as well.
   */
  toStart(): { readonly work: Work; readonly parts: readonly Placed[] } {
    this.mustBeSettled();
    const work = this.mustWork();
    const { store, settings } = this.#given;
    mustTakeParts(store, lotOf(work));
    this.#mustBeProved();
    if (work.profile.content.serial.rule === 'unserialised') this.#numberParts(work);
    const { fed, loaded } = this.fixture;
    if (fed !== null) throw new Refusal('scan-first', { nest: fed });
    if (loaded.length === 0) throw new Refusal('nothing-loaded');
    if (work.profile.content.serial.rule === 'unserialised') return { work, parts: loaded };
    for (const { serial } of loaded) mustNotBeHeld(store, serial, lotOf(work));
    return { work, parts: loaded.map((part) => ({ ...part, ...admitAgain(part, store, settings.rules.retests) })) };
  }

  get canRepeat(): boolean {
    const outcome = this.#outcome;
    if (outcome === null || this.#work === null || !outcome.isUnsettled) return false;
    if (this.proofs().some(({ state }) => state !== 'valid')) return false;
    const { partNumber } = outcome.plan.profile.content;
    const isSameWork =
      partNumber === this.#work.profile.content.partNumber && outcome.record.circumstances.lot === this.#work.lot;
    return isSameWork && outcome.unjudged.every(({ nest }) => this.fixture.lockOf(nest) === null);
  }

  /** The parts that were not judged, as they stand. Refusals as `toStart`, and `nothing-to-repeat`. */
  toRepeat(): { readonly work: Work; readonly parts: readonly Placed[] } {
    const work = this.mustWork();
    this.#mustBeProved();
    const outcome = this.#outcome;
    if (outcome === null || !this.canRepeat) throw new Refusal('nothing-to-repeat');
    if (outcome.isPerhapsUnseen) throw new Refusal('read-first', { cycle: outcome.cycle });
    this.#mustBeBinned(outcome);
    const parts = outcome.unjudged.map(({ nest, serial }): Placed => {
      const history = this.#given.store.historyOf(serial);
      const wasJudged = history.some(({ kind, verdict }) => kind === 'line' && verdict !== 'none');
      return { nest, serial, attempt: 'repeat', wasJudged, typed: false };
    });
    return { work, parts };
  }

  /** A cycle takes the parts over. */
  handOver(): void {
    this.#outcome = null;
    this.fixture.clear();
  }

  /** Parts without serials lie in the nests by now: what stood there is history, once nothing is left to be done. */
  turnPage(): boolean {
    if (this.#outcome === null || this.#work?.profile.content.serial.rule !== 'unserialised') return false;
    const { isPerhapsUnseen, isUnsettled, rejects } = this.#outcome;
    if (isPerhapsUnseen || isUnsettled || rejects.length > 0) return false;
    this.#outcome = null;
    return true;
  }

  /** A cycle that was not begun gives the parts back, each in its nest, the others left empty as they were. */
  putBack(parts: readonly Placed[]): void {
    this.fixture.clear();
    for (const { nest, ...part } of parts) this.fixture.put(nest, part);
    for (const nest of this.fixture.open) this.fixture.leaveEmpty(nest);
  }

  /** What a cycle came to: shown, counted, and its nests locked where they have to be. */
  takeBack(outcome: LastOutcome, parts: readonly Placed[]): void {
    this.#outcome = outcome;
    if (!outcome.isKept) return;
    const wasJudged = (serial: string): boolean => parts.find((part) => part.serial === serial)?.wasJudged ?? false;
    this.books.add(outcome.record, wasJudged);
    for (const { nest } of parts) this.fixture.lock(nest, this.books.lockOf(nest));
  }

  /** Refusal `nothing-to-acknowledge`. */
  acknowledge(cycle: string, nest: number | null): void {
    const outcome = this.#outcome;
    if (outcome?.cycle !== cycle) throw new Refusal('nothing-to-acknowledge', { cycle });
    const actor = operatorOf(this.#work?.operator ?? this.books.lastWork()?.operator ?? 'not stated');
    const keep = (action: string, facts: Record<string, number>): unknown =>
      outcome.isKept && this.#given.store.journal({ action, subject: cycle, facts, comment: null, actor });
    if (nest === null) {
      if (!outcome.isPerhapsUnseen && !outcome.isUnsettled) throw new Refusal('nothing-to-acknowledge', { cycle });
      keep(outcome.isPerhapsUnseen && outcome.isUnsettled ? ABOUT_CYCLE.seen : ABOUT_CYCLE.read, {});
      outcome.markRead();
      return;
    }
    if (!outcome.isWaiting(nest)) throw new Refusal('nothing-to-acknowledge', { cycle, nest });
    keep(ABOUT_CYCLE.inTheBin, { nest });
    outcome.putInBin(nest);
  }

  /** Refusals `no-such-nest`, `not-locked`. */
  unlock({ nest, name, found }: Extract<LineCommand, { type: 'unlock' }>): void {
    this.fixture.check(nest);
    const lock = this.fixture.lockOf(nest);
    if (lock === null) throw new Refusal('not-locked', { nest });
    this.books.unlock(nest, lock, { name, found });
    this.fixture.lock(nest, null);
  }

  mustWork(): Work {
    if (this.#work === null) throw new Refusal('no-work');
    return this.#work;
  }

  /** Nothing of the last cycle is left to be done. Refusals `reject-first`, `read-first`. */
  mustBeSettled(): void {
    const outcome = this.#outcome;
    if (outcome === null) return;
    const { cycle } = outcome;
    if (outcome.isPerhapsUnseen) throw new Refusal('read-first', { cycle });
    this.#mustBeBinned(outcome);
    if (outcome.isUnsettled) throw new Refusal('read-first', { cycle });
  }

  #mustBeBinned({ cycle, rejects }: LastOutcome): void {
    const [reject] = rejects;
    if (reject !== undefined) throw new Refusal('reject-first', { cycle, ...reject });
  }

  #mustBeProved(): void {
    const due = this.proofs().find(({ state }) => state !== 'valid');
    if (due !== undefined) throw new Refusal('proof-due', { proof: due.proof, state: due.state });
  }

  /** Parts without serials go by lot and running number. */
  #numberParts({ lot }: Work): void {
    const { store, inTest } = this.#given;
    for (const nest of this.fixture.open) {
      const number = inTest.nextNumber(lot, store.stations.resultsUnder(`${lot}/`));
      this.fixture.put(nest, { serial: `${lot}/${number}`, attempt: 'first', wasJudged: false, typed: false });
    }
  }
}

const lotOf = ({ lot, profile }: Work) => ({ lot, partNumber: profile.content.partNumber });
const heldOf = ({ operator, lot, profile }: Work) => ({ operator, lot, partNumber: profile.content.partNumber });

function cut(text: string, separators: string): string[] {
  const marks = separators.replace(/[\\\]^-]/g, '\\$&');
  const parts = separators === '' ? [text] : text.split(new RegExp(`[${marks}]`, 'u'));
  return parts.map((part) => part.trim()).filter((part) => part !== '');
}
