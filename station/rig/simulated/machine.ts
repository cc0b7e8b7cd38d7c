import { stream } from '../../random.ts';
import type { Stream } from '../../random.ts';
import { CELSIUS_ZERO_K } from '../../units.ts';
import type { NestSamples, OutputLoad, SampleBlock, SlowReadings } from '../port.ts';
import { Chamber } from './chamber.ts';
import { Instrument } from './instrument.ts';
import { filmOf, Nest, volumeOf } from './nest.ts';
import type { PartTruth } from './part.ts';
import { MOST_MS, Plant } from './plant.ts';
import { CRITICAL_RATIO } from './truth.ts';
import type { RigTruth } from './truth.ts';
import type { VolumeSpec } from './volume.ts';

/** Noise of the rig's own instruments: controller per 1 ms sample, the others per block. Engineering assumptions. */
const NOISE = { controllerPa: 5, barometerPa: 2, roomK: 0.02 } as const;
const ROW = MOST_MS + 1;

/** What an isolation valve does whatever it is told; null where it obeys. */
export type ValveFault = 'stuck-open' | 'stuck-shut' | 'silent' | null;

/**
 * The hardware of the simulated rig: gas, chamber, clamps, instruments and what is wired between them. It obeys, moves
 * and is read; who may command what is the rig's business. Same truth, parts, seed and calls give the same bits.
 */
export class Machine {
  readonly truth: RigTruth;
  readonly plant: Plant;
  readonly nests: readonly Nest[];
  readonly chamber: Chamber;
  readonly controller = new Instrument();
  readonly barometer = new Instrument();
  readonly isolation: ValveFault[];
  readonly #commandedShut: boolean[];
  guardShut = true;
  stopChainClosed = true;
  airPresent = true;
  vacuumPresent = true;
  clampJammed = false;
  /** True once the pressure switch at the manifold has vented the rig; to be set back by hand. */
  overPressure = false;
  load: OutputLoad;
  nowMs = 0;
  #clamping = false;
  #clampedForMs = 0;
  #controllerNoise: Stream;
  #slowNoise: Stream;
  #drift: Stream;

  constructor(truth: RigTruth, load: OutputLoad) {
    this.truth = truth;
    this.load = load;
    this.plant = plantOf(truth);
    this.nests = truth.nests.map((nest, n) => new Nest(nest, n, truth.seed, truth.ambientPa));
    this.chamber = new Chamber(truth.nests.length, truth.roomK);
    this.isolation = truth.nests.map(() => null);
    this.#commandedShut = truth.nests.map(() => false);
    this.#controllerNoise = stream(truth.seed, 'controller noise', 0);
    this.#slowNoise = stream(truth.seed, 'slow noise', 0);
    this.#drift = stream(truth.seed, 'fixture drift', 0);
    this.putIn([], truth.seed);
  }

  /** Parts into the nests, everything at rest at ambient, noise anew from the seed. Faults stay. */
  putIn(parts: readonly (PartTruth | null)[], seed: number): void {
    const { network, controller } = this.plant;
    this.#controllerNoise = stream(seed, 'controller noise', 0);
    this.#slowNoise = stream(seed, 'slow noise', 0);
    this.#drift = stream(seed, 'fixture drift', 0);
    for (const [n, nest] of this.nests.entries()) {
      const part = parts[n] ?? null;
      nest.load(part, seed, this.truth.ambientPa);
      this.chamber.load(n, part);
      network.fit(n, volumeOf(nest.truth, part, CRITICAL_RATIO));
      network.rest(n, this.chamber.bodyK(n));
    }
    network.fit(network.nests, manifoldOf(this.truth));
    network.opening.set([0, 1, 0]);
    controller.reset(this.truth.ambientPa);
    this.unclamp();
    this.openAll();
  }

  get clamping(): boolean {
    return this.#clamping;
  }

  get clamped(): boolean {
    return this.#clamping && !this.clampJammed && this.#clampedForMs >= this.truth.clampMs;
  }

  /** Whether a pressure is held or shut in, or a supply is on. */
  get energised(): boolean {
    if (this.plant.controller.mode !== 'vent') return true;
    for (let n = 0; n < this.nests.length; n++) if (this.nests[n]!.volts > 0) return true;
    return false;
  }

  clamp(): void {
    this.#clamping = true;
  }

  unclamp(): void {
    this.#clamping = false;
    this.#clampedForMs = 0;
    for (const [n, nest] of this.nests.entries()) {
      nest.touching = false;
      this.chamber.unclamp(n);
      this.plant.network.unclamped[n] = 1;
    }
  }

  /** Commands an isolation valve, which obeys unless it is stuck. */
  moveValve(nest: number, shut: boolean): void {
    this.#commandedShut[nest] = shut;
    const fault = this.isolation[nest];
    this.plant.network.open[nest] = fault === 'stuck-open' ? 1 : fault === 'stuck-shut' || shut ? 0 : 1;
  }

  /** Lets every isolation valve stand as it was last commanded, its fault considered. */
  obey(): void {
    for (const [n, shut] of this.#commandedShut.entries()) this.moveValve(n, shut);
  }

  openAll(): void {
    for (let n = 0; n < this.nests.length; n++) if (this.isolation[n] !== 'silent') this.moveValve(n, false);
  }

  /** What is wired, and what `safe` commands: vents, opens, takes supplies and heat off, as far as the valves obey. */
  makeSafe(): void {
    this.plant.controller.vent();
    this.openAll();
    for (const nest of this.nests) nest.volts = 0;
    this.chamber.headForRoom();
  }

  /** Lets 1 to 20 ms pass and reads every instrument. `driven` says whether clamps on their way have their drive. */
  pass(ms: number, driven: boolean): SampleBlock {
    const { network, controllerPa } = this.plant;
    this.chamber.pass(ms);
    for (let n = 0; n < this.nests.length; n++) network.setBodyK(n, this.chamber.bodyK(n));
    const shift = this.truth.controllerOffsetPa + this.controller.shiftAt(this.nowMs);
    this.#controllerNoise.normals(controllerPa, 0, ms);
    for (let k = 0; k < ms; k++) controllerPa[k] = shift + NOISE.controllerPa * controllerPa[k]!;
    for (let done = 0; done < ms; ) {
      done += this.plant.run(done, ms - done, this.overPressure ? Infinity : this.truth.overPressurePa);
      if (!this.overPressure && network.pressurePa(network.nests) > this.truth.overPressurePa) {
        this.overPressure = true;
        this.makeSafe();
      }
    }
    if (driven) this.#moveClamps(ms);
    const block = this.#read(ms);
    this.nowMs += ms;
    return block;
  }

  /** Lets time pass in an open, vented rig: gas and walls are as warm as what holds them. */
  idle(ms: number): SlowReadings {
    const { network } = this.plant;
    this.chamber.pass(ms);
    for (let n = 0; n < this.nests.length; n++) network.rest(n, this.chamber.bodyK(n));
    const partC = this.nests.map((nest, n) => nest.readThermometer(this.chamber.partK(n) - CELSIUS_ZERO_K));
    const slow = { ...this.#surroundings(), partC };
    this.nowMs += ms;
    return slow;
  }

  /** Barometer and thermometers of room and chamber, read in this order: each takes its turn of one noise. */
  #surroundings(): Omit<SlowReadings, 'partC'> {
    const { truth } = this;
    const barometerPa = truth.ambientPa + truth.barometerOffsetPa + this.barometer.shiftAt(this.nowMs);
    return {
      barometerKpaAbs: (barometerPa + NOISE.barometerPa * this.#slowNoise.normal()) * 1e-3,
      roomC: truth.roomK - CELSIUS_ZERO_K + truth.roomOffsetK + NOISE.roomK * this.#slowNoise.normal(),
      chamberC: this.chamber.airK - CELSIUS_ZERO_K + NOISE.roomK * this.#slowNoise.normal(),
    };
  }

  #moveClamps(ms: number): void {
    const { clampMs } = this.truth;
    if (!this.#clamping || this.clampJammed || this.#clampedForMs >= clampMs) return;
    this.#clampedForMs += ms;
    if (this.#clampedForMs < clampMs) return;
    for (const [n, nest] of this.nests.entries()) {
      nest.touching = true;
      this.plant.network.unclamped[n] = 0;
      this.chamber.clamp(n, this.truth.fixtureDriftKPerS * this.#drift.normal());
    }
  }

  #read(count: number): SampleBlock {
    const { trace, controllerPa } = this.plant;
    const { nowMs, chamber, load } = this;
    // One buffer a block: views are cheap to make, and a copy of the block copies nothing else.
    const bytes = count * Float64Array.BYTES_PER_ELEMENT;
    const buffer = new ArrayBuffer((1 + 2 * this.nests.length) * bytes);
    const controllerKpaAbs = new Float64Array(buffer, 0, count);
    for (let k = 0; k < count; k++) controllerKpaAbs[k] = controllerPa[k]! * 1e-3;
    const nests: NestSamples[] = [];
    for (let n = 0; n < this.nests.length; n++) {
      const nest = this.nests[n]!;
      const partC = chamber.partK(n) - CELSIUS_ZERO_K;
      const referenceKpaAbs = new Float64Array(buffer, (2 * n + 1) * bytes, count);
      const outputV = new Float64Array(buffer, (2 * n + 2) * bytes, count);
      nest.readReference(trace, n * ROW, nowMs, referenceKpaAbs);
      const { supplyV, supplyMa } = nest.readVoltages(trace, n * ROW, nowMs, load, partC, outputV);
      nests.push({ referenceKpaAbs, outputV, supplyV, supplyMa, partC: nest.readThermometer(partC) });
    }
    return { fromMs: nowMs, count, controllerKpaAbs, ...this.#surroundings(), nests };
  }
}

function manifoldOf(truth: RigTruth): VolumeSpec {
  return {
    m3: truth.manifoldM3,
    filmWPerK: filmOf(truth.manifoldM3, 0.3),
    skinJPerK: Infinity,
    skinTauS: 1,
    creepPerPa: 0,
    creepTauS: 1,
    viscousLeak: 0,
    orificeLeak: 0,
  };
}

/** The gas and its controller as the rig's truth has them, with empty nests. */
export function plantOf(truth: RigTruth): Plant {
  return new Plant({
    nests: truth.nests.map((nest) => volumeOf(nest, null, CRITICAL_RATIO)),
    manifold: manifoldOf(truth),
    ambientPa: truth.ambientPa,
    fixtureK: truth.roomK,
    criticalRatio: CRITICAL_RATIO,
    isolationM3PerSPa: truth.isolationValve,
    valveM3PerSPa: [truth.supplyValve, truth.exhaustValve, truth.vacuumValve],
    sourcePa: [truth.supplyPa, truth.ambientPa, truth.vacuumPa],
    film: { gain: 1.5, kgPerS: 5e-5 },
  });
}
