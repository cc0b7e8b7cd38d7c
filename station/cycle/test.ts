import { assert, at } from '../assert.ts';
import type { Facts, Fault } from '../faults.ts';
import { StationFault } from '../faults.ts';
import type { PhaseId, Plan } from '../profile/plan.ts';
import type { ReasonCode } from '../reasons.ts';
import type { Rig } from '../rig/port.ts';
import type { NestCharacter } from '../rig/revision.ts';
import type { CycleEvent, Load } from './event.ts';
import { Mean } from './means.ts';
import { kept, significant } from '../units.ts';
import { characterOf } from './proof.ts';
import type { Reading, ReadingValues } from './reading.ts';
import { type Onlooker, Sampling } from './sampling.ts';
import { Watch } from './watch.ts';

/** Where one nest stands in the cycle. An ended nest is shut off and without supply; its neighbours go on. */
export type NestState =
  | { readonly is: 'empty' }
  | { readonly is: 'under-test'; readonly serial: string }
  | { readonly is: 'ended'; readonly serial: string; readonly reason: ReasonCode };

/**
 * Highest pressure that may be measured anywhere in a cycle, kPa absolute: a tenth (at least 10 kPa) above the highest
 * pressure of the plan, and never above what the parts stand.
 */
export function ceilingKpaAbs(plan: Plan): number {
  const { leakHold, points, overPressureKpaAbs } = plan.profile.content;
  const highest = Math.max(
    leakHold.testKpaAbs,
    ...points.map((point) => (point.at.kind === 'absolute' ? point.at.kPaAbs : 0)),
  );
  return Math.min(overPressureKpaAbs, highest + Math.max(10, 0.1 * highest));
}

/** The state of one running cycle: what the phases share. Events are made here so that each is also remembered. */
export class Test {
  readonly rig: Rig;
  readonly plan: Plan;
  readonly load: Load;
  readonly stop: AbortSignal;
  readonly watch: Watch;
  readonly sampling: Sampling;
  readonly nests: NestState[];
  readonly readings: Reading[] = [];
  readonly faults: Fault[] = [];
  readonly barometerKpaAbs = new Mean();
  readonly roomC = new Mean();
  /** What the rig revision knows of each nest with this part number; the proof gate has made sure of the loaded ones. */
  readonly #characters: readonly (NestCharacter | undefined)[];
  phase: PhaseId = 'ready';

  constructor(rig: Rig, plan: Plan, load: Load, stop: AbortSignal, onlooker?: Onlooker) {
    this.rig = rig;
    this.plan = plan;
    this.load = load;
    this.stop = stop;
    this.watch = new Watch(rig.abilities.nests, ceilingKpaAbs(plan));
    this.sampling = new Sampling(rig, this.watch, stop, onlooker);
    this.#characters = load.map((_, nest) => characterOf(plan, nest));
    this.nests = load.map((serial) => (serial === null ? { is: 'empty' } : { is: 'under-test', serial }));
  }

  get profile() {
    return this.plan.profile.content;
  }

  get instruments() {
    return this.plan.rig.revision.instruments;
  }

  /** Barometer of this cycle, kPa absolute: the mean taken while everything was vented. */
  get ambientKpaAbs(): number {
    return this.barometerKpaAbs.mean;
  }

  /** The nests whose part is still being tested, from 0. */
  get underTest(): number[] {
    return this.nests.flatMap((state, nest) => (state.is === 'under-test' ? [nest] : []));
  }

  /** The character of a nest under test. */
  known(nest: number): NestCharacter {
    const character = this.#characters[nest];
    assert(character !== undefined, 'only characterised nests are tested');
    return character;
  }

  enter(phase: PhaseId): CycleEvent {
    this.phase = phase;
    return { type: 'phase', atMs: this.sampling.nowMs, phase };
  }

  vented(vented: boolean, nestKpaAbs: readonly (number | null)[]): CycleEvent {
    return { type: 'vented', atMs: this.sampling.nowMs, vented, nestKpaAbs };
  }

  read(nest: number, step: string, fromMs: number, values: ReadingValues): CycleEvent {
    const reading: Reading = { nest, step, fromMs, toMs: this.sampling.nowMs, ...keptValues(values) };
    this.readings.push(reading);
    return { type: 'reading', atMs: this.sampling.nowMs, reading };
  }

  /** Ends the test of one part: its nest is shut off and loses its supply. */
  async end(nest: number, reason: ReasonCode): Promise<CycleEvent> {
    const state = at(this.nests, nest);
    if (state.is !== 'empty') this.nests[nest] = { is: 'ended', serial: state.serial, reason };
    await this.rig.isolate(nest, true, this.stop);
    this.watch.expectSupply(nest, null);
    await this.rig.supply(nest, 0, this.stop);
    return { type: 'isolated', atMs: this.sampling.nowMs, nest, reason };
  }

  /** Keeps what stopped the cycle. A stop's reason outranks what it made fail elsewhere. */
  fail(cause: unknown): CycleEvent {
    const stopped: unknown = this.stop.aborted ? this.stop.reason : undefined;
    const fault = stopped instanceof StationFault ? stopped : cause;
    const kept: Fault =
      fault instanceof StationFault
        ? { code: fault.code, phase: this.phase, nest: fault.nest, facts: keptFacts(fault.facts) }
        : { code: 'program', phase: this.phase, nest: null, facts: keptFacts({ error: String(fault) }) };
    this.faults.push(kept);
    return { type: 'fault', atMs: this.sampling.nowMs, fault: kept };
  }
}

/** Readings as they are kept: they are judged with the very digits that are stored. */
function keptValues(values: ReadingValues): ReadingValues {
  return Object.fromEntries(
    Object.entries(values).map(([name, value]) => [name, typeof value === 'string' ? value : kept(value)]),
  ) as ReadingValues;
}

/** Facts as a record can hold them, whatever a fault said: numbers finite, texts printable, on one line, not endless. */
function keptFacts(facts: Facts): Facts {
  return Object.fromEntries(
    Object.entries(facts).map(([name, value]): [string, string | number] => {
      if (typeof value === 'number' && Number.isFinite(value)) return [name, significant(value, 8)];
      return [
        name,
        String(value)
          .replace(/[\p{Cc}\p{Cs}]+/gu, ' ')
          .slice(0, 300) || 'nothing',
      ];
    }),
  );
}
