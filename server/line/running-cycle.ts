import type { CycleEvent, Load } from '../../station/cycle/event.ts';
import type { CycleRecord } from '../../station/cycle/record.ts';
import type { Message } from '../../station/host/message.ts';
import type { PhaseId, Plan } from '../../station/profile/plan.ts';
import type { CycleKeeper } from '../records/keeper.ts';
import type { Frame, Taken, TestView } from './contract.ts';
import type { Loaded } from './fixture.ts';
import { takenOf } from './outcome.ts';

type EventMessage = Extract<Message, { type: 'event' }>;

/** A cycle as the server has it while the station runs it: its events kept, and what a screen may see of it. */
export class RunningCycle {
  readonly parts: readonly (Loaded & { readonly nest: number })[];
  readonly frames: Frame[] = [];
  isStopping = false;
  /** The opening is on disk: from now on there will be a record of it, whatever happens. */
  isOpened = false;
  /** What the vent measured; null before. */
  vented: boolean | null = null;
  readonly #keeper: CycleKeeper;
  #phase: PhaseId | null = null;
  #phaseFromMs = 0;
  #taken: readonly Taken[] = [];
  #shutOff: readonly number[] = [];
  /** Why an event could not be kept: a record with a hole is none. */
  #broken: Error | null = null;

  readonly opened: { readonly plan: Plan; readonly load: Load };

  constructor(
    keeper: CycleKeeper,
    opened: { readonly plan: Plan; readonly load: Load },
    parts: readonly (Loaded & { readonly nest: number })[],
  ) {
    this.#keeper = keeper;
    this.opened = opened;
    this.parts = parts;
  }

  /** What was said of the cycle when it was opened. */
  get opening(): CycleKeeper['opening'] {
    return this.#keeper.opening;
  }

  get cycle(): string {
    return this.#keeper.cycle;
  }

  get phase(): PhaseId | null {
    return this.#phase;
  }

  /** The record, once it is on disk. */
  get record(): CycleRecord | null {
    return this.#keeper.record;
  }

  /** Takes an event and keeps what is to be kept. Throws when it cannot be. Answers whether a screen would change. */
  take({ event, closing }: EventMessage): boolean {
    if (this.#broken !== null) throw this.#broken;
    try {
      this.#keeper.take(event, () => closing ?? { trace: new Uint8Array(), barometerKpaAbs: null, roomC: null });
    } catch (cause) {
      this.#broken = cause instanceof Error ? cause : new Error(String(cause));
      throw cause;
    }
    return this.#look(event);
  }

  #look(event: CycleEvent): boolean {
    switch (event.type) {
      case 'phase':
        this.#phase = event.phase;
        this.#phaseFromMs = event.atMs;
        return true;
      case 'reading': {
        const taken = takenOf(event.reading);
        if (taken === null) return false;
        this.#taken = [...this.#taken, taken];
        return true;
      }
      case 'isolated':
        this.#shutOff = [...this.#shutOff, event.nest + 1];
        return true;
      case 'vented':
        this.vented = event.vented;
        return false;
      case 'opened':
        this.isOpened = true;
        return false;
      case 'judgement':
      case 'fault':
      case 'closed':
      case 'released':
        return false;
    }
  }

  view(): TestView {
    return {
      cycle: this.cycle,
      serials: this.opened.load,
      phase: this.#phase,
      phaseFromMs: this.#phaseFromMs,
      taken: this.#taken,
      shutOff: this.#shutOff,
    };
  }
}
