import { randomUUID } from 'node:crypto';
import type { Clock } from '../../station/clock.ts';
import type { CycleEvent, Load } from '../../station/cycle/event.ts';
import { measurementOf } from '../../station/cycle/fold.ts';
import type { Circumstances, CycleRecord } from '../../station/cycle/record.ts';
import type { Plan } from '../../station/profile/plan.ts';
import type { Store } from '../store/store.ts';
import { traceHash } from '../store/traces.ts';

/** What is known of a cycle besides plan and load. */
export interface Occasion {
  readonly lot: string;
  readonly program: string;
  readonly actor: Circumstances['actor'];
  readonly seed: number | null;
  readonly audit?: NonNullable<Circumstances['audit']> | undefined;
}

/** What the station says beside the event `closed`. */
export interface ClosingFacts {
  readonly trace: Uint8Array;
  readonly barometerKpaAbs: number | null;
  readonly roomC: number | null;
}

/**
 * Keeps the events of one cycle and makes its record of them, whichever way they come: out of the same process or from
 * a station's own. With a store, `opened` and `closed` are on its disk when `take` returns; without, the record is only
 * made.
 */
export class CycleKeeper {
  readonly cycle = randomUUID();
  readonly #plan: Plan;
  readonly #load: Load;
  readonly #clock: Clock;
  readonly #store: Store | null;
  readonly #opening;
  readonly #events: CycleEvent[] = [];
  #record: CycleRecord | null = null;
  #problem: unknown = null;

  constructor(start: { plan: Plan; load: Load }, occasion: Occasion, given: { clock: Clock; store: Store | null }) {
    this.#plan = start.plan;
    this.#load = start.load;
    this.#clock = given.clock;
    this.#store = given.store;
    const { station, origin } = start.plan.rig.revision;
    this.#opening = {
      cycle: this.cycle,
      station,
      origin,
      ...occasion,
      openedAt: given.clock.wallTime().toISOString(),
      openedMonotonicMs: given.clock.nowMs(),
    };
  }

  /** What was said of the cycle before anything moved. */
  get opening(): Omit<Circumstances, 'closedAt' | 'closedMonotonicMs' | 'trace' | 'barometerKpaAbs' | 'roomC'> {
    return this.#opening;
  }

  /** The record, once the cycle is closed and kept. */
  get record(): CycleRecord | null {
    return this.#record;
  }

  /** Why opening or closing could not be kept. */
  get problem(): unknown {
    return this.#problem;
  }

  /** Takes the next event; `closing` makes what stands beside `closed`. Throws when it cannot be kept. */
  take(event: CycleEvent, closing: () => ClosingFacts): void {
    this.#events.push(event);
    // While the cycle runs there is time; at its end a verdict waits.
    if (event.type === 'reading') this.#store?.makeReady(event.reading);
    if (event.type === 'judgement') this.#store?.makeReady(event.judgement);
    try {
      if (event.type === 'opened') this.#store?.openCycle({ ...this.#opening, load: [...this.#load] }, this.#plan);
      if (event.type === 'closed') this.#record = this.#close(closing());
    } catch (cause) {
      this.#problem = cause;
      throw cause;
    }
  }

  #close({ trace, barometerKpaAbs, roomC }: ClosingFacts): CycleRecord {
    const record: CycleRecord = {
      measurement: measurementOf(this.#events),
      circumstances: {
        ...this.#opening,
        closedAt: this.#clock.wallTime().toISOString(),
        closedMonotonicMs: this.#clock.nowMs(),
        trace: traceHash(trace),
        barometerKpaAbs,
        roomC,
      },
    };
    this.#store?.closeCycle(record, trace);
    return record;
  }
}
