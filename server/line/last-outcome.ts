import type { CycleRecord } from '../../station/cycle/record.ts';
import type { Plan } from '../../station/profile/plan.ts';
import type { LedgerReader } from '../store/reader.ts';
import type { OutcomeView } from './contract.ts';
import { outcomeOf } from './outcome.ts';

/**
 * What people say about a cycle, as the journal has it; its subject is the cycle. `seen`: verdicts that may have been
 * missed; `read`: and nothing is left to be done about parts that were not judged.
 */
export const ABOUT_CYCLE = { inTheBin: 'reject-in-bin', seen: 'verdicts-seen', read: 'verdicts-read' } as const;

/** The last cycle of a station and how far people have dealt with it. */
export class LastOutcome {
  readonly record: CycleRecord;
  readonly plan: Plan;
  /** Nests (from 1) whose reject nobody has put into its bin yet. */
  readonly #waiting: Set<number>;
  #isRead: boolean;
  #isPerhapsUnseen: boolean;
  readonly isKept: boolean;

  private constructor(
    cycle: { readonly record: CycleRecord; readonly plan: Plan; readonly isKept: boolean },
    standing: { readonly waiting: Set<number>; readonly isRead: boolean; readonly isPerhapsUnseen: boolean },
  ) {
    this.record = cycle.record;
    this.plan = cycle.plan;
    this.isKept = cycle.isKept;
    this.#waiting = standing.waiting;
    this.#isRead = standing.isRead;
    this.#isPerhapsUnseen = standing.isPerhapsUnseen;
  }

  /** A cycle that ended before the eyes of whoever stands there. `isKept` is false when its record could not be. */
  static now(record: CycleRecord, plan: Plan, isKept = true): LastOutcome {
    const waiting = new Set(rejectsOf(record));
    return new LastOutcome({ record, plan, isKept }, { waiting, isRead: false, isPerhapsUnseen: false });
  }

  /** The last cycle that the ledger has of a station; null when there is none. For the start of the server. */
  static fromLedger(store: LedgerReader, station: string): LastOutcome | null {
    const last = store.lastOfStation(station);
    if (last === undefined || last.record.measurement.kind !== 'line') return null;
    const { record } = last;
    const said = store.journalOf(record.circumstances.cycle).map(({ content }) => content);
    const binned = said.flatMap(({ action, facts }) => (action === ABOUT_CYCLE.inTheBin ? [facts['nest']] : []));
    const waiting = new Set(rejectsOf(record).filter((nest) => !binned.includes(nest)));
    const plan = store.document('plan', record.measurement.plan);
    return new LastOutcome(
      { record, plan, isKept: true },
      // Whoever said anything about it has seen it; before that nobody can know.
      { waiting, isRead: said.some(({ action }) => action === ABOUT_CYCLE.read), isPerhapsUnseen: said.length === 0 },
    );
  }

  get cycle(): string {
    return this.record.circumstances.cycle;
  }

  get isPerhapsUnseen(): boolean {
    return this.#isPerhapsUnseen;
  }

  /** Rejects that nobody has put into their bin yet. */
  get rejects(): readonly { readonly nest: number; readonly serial: string }[] {
    return this.#placed.filter(({ nest }) => this.#waiting.has(nest));
  }

  /** Serials that were not judged, with their nest (from 1). */
  get unjudged(): readonly { readonly nest: number; readonly serial: string }[] {
    return this.#placed.filter((_, at) => this.record.measurement.results[at]?.verdict === 'none');
  }

  get #placed(): readonly { readonly nest: number; readonly serial: string }[] {
    return this.record.measurement.results.map(({ nest, serial }) => ({ nest: nest + 1, serial }));
  }

  /** Not judged, and nobody said yet what becomes of the parts. */
  get isUnsettled(): boolean {
    return !this.#isRead && this.unjudged.length > 0;
  }

  isWaiting(nest: number): boolean {
    return this.#waiting.has(nest);
  }

  putInBin(nest: number): void {
    this.#waiting.delete(nest);
  }

  /** The first reading after a restart says that it was seen; what becomes of unjudged parts is another question. */
  markRead(): void {
    if (!this.#isPerhapsUnseen || !this.isUnsettled) this.#isRead = true;
    this.#isPerhapsUnseen = false;
  }

  view(): OutcomeView {
    return outcomeOf(this.record, this.plan, { waiting: this.#waiting, isPerhapsUnseen: this.#isPerhapsUnseen });
  }
}

function rejectsOf({ measurement }: CycleRecord): number[] {
  return measurement.results.filter(({ verdict }) => verdict === 'fail').map(({ nest }) => nest + 1);
}
