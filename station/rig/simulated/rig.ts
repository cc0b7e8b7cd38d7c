import { assert, at } from '../../assert.ts';
import { StationFault } from '../../faults.ts';
import type { FaultCode } from '../../faults.ts';
import { CELSIUS_ZERO_K } from '../../units.ts';
import type { Interlocks, OutputLoad, Rig, RigAbilities, SafeState, SampleBlock, SlowReadings } from '../port.ts';
import { Machine } from './machine.ts';
import { MOST_MS } from './plant.ts';
import type { PartTruth } from './part.ts';
import type { RigFault } from './rig-fault.ts';
import { mend, strike } from './strike.ts';
import type { RigTruth } from './truth.ts';

const DEAD_MAN_MS = 250;
const SAFE_MS = 3000;
const MOST_IDLE_MS = 1000;
/** How near to the barometer a nest must be measured to count as vented, kPa. */
const VENTED_WITHIN_KPA = 2;
/** `safe` goes on until the nests are this near or its time is over: the gas is still warm when they first arrive. */
const SETTLED_WITHIN_KPA = 0.3;

/** The true state of a simulated rig. */
export interface Inside {
  readonly nestKpaAbs: readonly number[];
  readonly manifoldKpaAbs: number;
  readonly gasC: readonly number[];
  readonly partC: readonly number[];
  readonly valveOpen: readonly boolean[];
  readonly supplyV: readonly number[];
}

/**
 * The simulated rig: physics of README.md behind the port. Time passes in `acquire` (and in `safe`) only. Same truth,
 * parts, seed and calls give the same bits. Parts are put in between cycles by `loadParts`, faults by `strike`.
 */
export class SimulatedRig implements Rig {
  readonly abilities: RigAbilities;
  readonly truth: RigTruth;
  readonly #machine: Machine;
  readonly #pending: { readonly atMs: number; readonly fault: RigFault }[] = [];
  #trip = new AbortController();
  #renewedMs = 0;
  #last: SampleBlock | null = null;

  constructor(truth: RigTruth) {
    this.truth = truth;
    this.abilities = {
      nests: truth.nests.length,
      sampleHz: 1000,
      skewMs: 0.5,
      chamber: truth.chamber,
      loads: truth.loads,
      pressureKpaAbs: { low: 8, high: 380 },
      transducerKpaAbs: 400,
      deadManMs: DEAD_MAN_MS,
      safeMs: SAFE_MS,
      origin: 'simulated',
    };
    this.#machine = new Machine(truth, at(truth.loads, 0));
  }

  get trip(): AbortSignal {
    return this.#trip.signal;
  }

  /** Milliseconds of the rig's own time: where the next block starts. */
  get nowMs(): number {
    return this.#machine.nowMs;
  }

  /** What no instrument says: the state inside, for tests. Pressures kPa abs, temperatures °C. */
  get inside(): Inside {
    const { nests, chamber } = this.#machine;
    const { network } = this.#machine.plant;
    return {
      nestKpaAbs: nests.map((_, n) => network.pressurePa(n) / 1000),
      manifoldKpaAbs: network.pressurePa(network.nests) / 1000,
      gasC: nests.map((_, n) => network.gasK(n) - CELSIUS_ZERO_K),
      partC: nests.map((_, n) => chamber.partK(n) - CELSIUS_ZERO_K),
      valveOpen: nests.map((_, n) => network.open[n] === 1),
      supplyV: nests.map(({ supplyV }) => supplyV),
    };
  }

  /**
   * Puts parts into the nests, null (or nothing) where a nest stays empty. Gas, instruments and parts start at rest at
   * ambient, and all noise starts anew from `seed`: the same parts and seed repeat a cycle to the bit. Throws an
   * AssertionError while the clamps are closed.
   */
  loadParts(parts: readonly (PartTruth | null)[], seed: number = this.truth.seed): void {
    assert(!this.#machine.clamping, 'parts are changed with the clamps open');
    this.#machine.putIn(parts, seed);
    this.#last = null;
  }

  /** Lets a fault strike in so many milliseconds of rig time, at the next start of a block; at once by default. */
  strike(fault: RigFault, afterMs = 0): void {
    if (afterMs > 0) this.#pending.push({ atMs: this.nowMs + afterMs, fault });
    else this.#strikeNow(fault);
  }

  /** Takes all faults off the rig, those to come included. A trip stays until `rearm`. */
  mend(): void {
    this.#pending.length = 0;
    mend(this.#machine);
  }

  async rearm(stop: AbortSignal): Promise<void> {
    stop.throwIfAborted();
    if (!this.#trip.signal.aborted) return;
    const standing = this.#standing();
    if (standing !== null) throw new StationFault(standing);
    this.#machine.overPressure = false;
    this.#trip = new AbortController();
  }

  async interlocks(stop: AbortSignal): Promise<Interlocks> {
    stop.throwIfAborted();
    const { guardShut, stopChainClosed, airPresent, vacuumPresent, clamped } = this.#machine;
    return { guardShut, stopChainClosed, airPresent, vacuumPresent, clamped };
  }

  async setPressure(kPaAbs: number, stop: AbortSignal): Promise<void> {
    this.#mayEnergise(stop);
    const { low, high } = this.abilities.pressureKpaAbs;
    if (!(kPaAbs >= low && kPaAbs <= high)) throw new StationFault('not-testable', { facts: { kPaAbs, low, high } });
    this.#controllerAnswers();
    this.#machine.plant.controller.hold(kPaAbs * 1000);
  }

  async close(stop: AbortSignal): Promise<void> {
    this.#mayEnergise(stop);
    this.#controllerAnswers();
    this.#machine.plant.controller.close();
  }

  async vent(stop: AbortSignal): Promise<void> {
    stop.throwIfAborted();
    this.#controllerAnswers();
    this.#machine.plant.controller.vent();
  }

  async isolate(nest: number, shut: boolean, stop: AbortSignal): Promise<void> {
    if (shut) this.#mayEnergise(stop);
    else stop.throwIfAborted();
    this.#checkNest(nest);
    if (this.#machine.isolation[nest] === 'silent') throw new StationFault('valve-no-answer', { nest });
    this.#machine.moveValve(nest, shut);
  }

  async supply(nest: number, volts: number, stop: AbortSignal): Promise<void> {
    if (volts > 0) this.#mayEnergise(stop);
    else stop.throwIfAborted();
    this.#checkNest(nest);
    assert(volts >= 0 && volts < Infinity, 'a supply is a voltage of zero or more');
    at(this.#machine.nests, nest).volts = volts;
  }

  async connectLoad(load: OutputLoad, stop: AbortSignal): Promise<void> {
    stop.throwIfAborted();
    const known = this.truth.loads.find(({ ohm, to }) => ohm === load.ohm && to === load.to);
    if (!known) throw new StationFault('not-testable', { facts: { loadOhm: load.ohm, loadTo: load.to } });
    this.#machine.load = known;
  }

  async clamp(stop: AbortSignal): Promise<void> {
    this.#mayEnergise(stop);
    this.#machine.clamp();
  }

  async release(stop: AbortSignal): Promise<void> {
    stop.throwIfAborted();
    const { guardShut, plant } = this.#machine;
    const vented = this.#ventedWithin(VENTED_WITHIN_KPA) && plant.controller.mode === 'vent';
    if (!guardShut || !vented) {
      const facts = { guard: guardShut ? 'shut' : 'open', vented: vented ? 'yes' : 'no' };
      throw new StationFault('release-refused', { facts });
    }
    this.#machine.unclamp();
  }

  async setChamber(airC: number, stop: AbortSignal): Promise<void> {
    this.#mayEnergise(stop);
    if (!this.truth.chamber) throw new StationFault('not-testable', { facts: { airC } });
    this.#machine.chamber.head(airC + CELSIUS_ZERO_K);
  }

  async acquire(forMs: number, stop: AbortSignal): Promise<SampleBlock> {
    if (stop.aborted) throw stop.reason;
    assert(Number.isInteger(forMs) && forMs >= 1 && forMs <= MOST_MS, 'a block is 1 to 20 whole milliseconds');
    const block = this.#pass(forMs);
    stop.throwIfAborted();
    this.#controllerAnswers();
    if (this.#machine.barometer.silent) throw silent('barometer');
    for (let n = 0; n < this.#machine.nests.length; n++) {
      const nest = at(this.#machine.nests, n);
      if (nest.reference.silent) throw silent('reference', n);
      if (nest.output.silent) throw silent('output', n);
    }
    return block;
  }

  async idle(forMs: number, stop: AbortSignal): Promise<SlowReadings> {
    if (stop.aborted) throw stop.reason;
    assert(Number.isInteger(forMs) && forMs >= 1 && forMs <= MOST_IDLE_MS, 'a rest is 1 to 1000 whole milliseconds');
    assert(!this.#machine.energised, 'a rig rests vented and without supplies');
    this.#strikeDue();
    this.#renewedMs = this.nowMs;
    const slow = this.#machine.idle(forMs);
    stop.throwIfAborted();
    if (this.#machine.barometer.silent) throw silent('barometer');
    return slow;
  }

  renewDeadMan(): void {
    this.#renewedMs = this.nowMs;
  }

  async safe(): Promise<SafeState> {
    this.#machine.makeSafe();
    const untilMs = this.nowMs + SAFE_MS;
    do this.#pass(MOST_MS);
    while (this.nowMs + MOST_MS <= untilMs && !this.#ventedWithin(SETTLED_WITHIN_KPA));
    const nestKpaAbs = this.#machine.nests.map((_, n) => this.#lastKpa(n));
    return { vented: this.#ventedWithin(VENTED_WITHIN_KPA), nestKpaAbs };
  }

  #checkNest(n: number): void {
    assert(Number.isInteger(n) && n >= 0 && n < this.abilities.nests, `the rig has a nest ${n}`);
  }

  #mayEnergise(stop: AbortSignal): void {
    stop.throwIfAborted();
    this.#trip.signal.throwIfAborted();
  }

  #controllerAnswers(): void {
    if (this.#machine.controller.silent) throw silent('controller');
  }

  #strikeNow(fault: RigFault): void {
    strike(this.#machine, fault, this.nowMs);
    const standing = this.#standing();
    if (standing !== null) this.#tripOn(standing);
  }

  /** The first wired input that is not as it must be. */
  #standing(): FaultCode | null {
    const { guardShut, stopChainClosed, airPresent, vacuumPresent } = this.#machine;
    if (!stopChainClosed) return 'stop-chain-open';
    if (!guardShut) return 'guard-open';
    if (!airPresent) return 'air-lost';
    if (!vacuumPresent) return 'vacuum-lost';
    return null;
  }

  /** What is wired acts before anybody hears of it: all but the loss of a medium vents the rig. */
  #tripOn(code: FaultCode): void {
    if (this.#trip.signal.aborted) return;
    if (code !== 'air-lost' && code !== 'vacuum-lost') this.#machine.makeSafe();
    this.#trip.abort(new StationFault(code));
  }

  /** Lets time pass, with everything that happens on its own: faults, dead-man, the pressure switch. */
  #pass(ms: number): SampleBlock {
    const machine = this.#machine;
    this.#strikeDue();
    if (!machine.energised) this.#renewedMs = machine.nowMs;
    else if (machine.nowMs - this.#renewedMs > DEAD_MAN_MS) this.#tripOn('dead-man');
    const block = machine.pass(ms, !this.#trip.signal.aborted);
    if (machine.overPressure) this.#tripOn('over-pressure');
    this.#last = block;
    return block;
  }

  #strikeDue(): void {
    while (this.#pending.length > 0) {
      const due = this.#pending.findIndex(({ atMs }) => atMs <= this.#machine.nowMs);
      if (due < 0) return;
      for (const { fault } of this.#pending.splice(due, 1)) this.#strikeNow(fault);
    }
  }

  /** The last reading of a nest reference, kPa abs; null when it did not answer or nothing was read since loading. */
  #lastKpa(n: number): number | null {
    if (this.#last === null || at(this.#machine.nests, n).reference.silent) return null;
    return at(this.#last.nests, n).referenceKpaAbs[this.#last.count - 1] ?? null;
  }

  #ventedWithin(kPa: number): boolean {
    const barometerKpaAbs = this.#last?.barometerKpaAbs;
    if (barometerKpaAbs === undefined || this.#machine.barometer.silent) return false;
    for (let n = 0; n < this.#machine.nests.length; n++) {
      const nestKpaAbs = this.#lastKpa(n);
      if (nestKpaAbs === null || Math.abs(nestKpaAbs - barometerKpaAbs) > kPa) return false;
    }
    return true;
  }
}

const silent = (instrument: string, nest?: number): StationFault =>
  new StationFault('instrument-silent', { ...(nest === undefined ? {} : { nest }), facts: { instrument } });
