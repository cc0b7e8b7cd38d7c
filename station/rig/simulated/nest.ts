import { stream } from '../../random.ts';
import type { Stream } from '../../random.ts';
import type { OutputLoad } from '../port.ts';
import { circuitOf } from './circuit.ts';
import type { Circuit } from './circuit.ts';
import { CV, GAS_CONSTANT, orificeLeak, viscousLeak } from './gas.ts';
import { Instrument } from './instrument.ts';
import { lagged } from './lag.ts';
import type { VolumeSpec } from './volume.ts';
import type { PartTruth } from './part.ts';
import { Membrane } from './sensor.ts';
import type { NestTruth } from './truth.ts';

/** Instruments of a nest. Engineering assumptions of the 0.02 % class; noise is per 1 ms sample. */
const REFERENCE_LAG_MS = 1;
const REFERENCE_NOISE_PA = 4;
const REFERENCE_STEP_PA = 1;
/** Noise of a voltage sample as a fraction of the range; the range follows the supply, 5 V at least. */
const VOLTAGE_NOISE = 4e-5;
const LEAST_RANGE_V = 5;
const CURRENT_NOISE_MA = 0.01;
const THERMOMETER_NOISE_K = 0.02;
/** Time constant of an output that comes up after power-on, ms: settled within the 20 ms of a component data sheet. */
const WARM_UP_MS = 4;
const WARM_AFTER_MS = 60;

/** A part's characteristic is the same within this, K: its steepest coefficient makes less than a microvolt of it. */
const SAME_K = 1e-3;

const REFERENCE_DECAY = Math.exp(-1 / REFERENCE_LAG_MS);

/** What a nest without a part leaks to the room, m³/(s Pa): its seal is not closed. Engineering assumption. */
const UNSEALED = 1.5e-9;
/** Above this a leak is a hole, not a fine path. */
const HOLE_ABOVE_STD_CM3_PER_MIN = 20;

/** The gas volume of a nest with a part (or none) in it. */
export function volumeOf(nest: NestTruth, part: PartTruth | null, criticalRatio: number): VolumeSpec {
  const m3 = nest.m3 * (part?.volume ?? 1);
  const leak = part?.leakStdCm3PerMin ?? 0;
  const fromPa = (part?.model.leakRatedKpaAbs ?? 150) * 1000;
  const hole = leak > HOLE_ABOVE_STD_CM3_PER_MIN;
  return {
    m3,
    filmWPerK: filmOf(m3, 0.35) * nest.film * (part?.film ?? 1),
    skinJPerK: 2 * nest.skin * (part?.skin ?? 1),
    skinTauS: 3 * (part?.skinTau ?? 1),
    creepPerPa: (1.5e-4 / 50e3) * (part?.creep ?? 1),
    creepTauS: 1.5,
    viscousLeak: hole ? 0 : viscousLeak(leak, fromPa),
    orificeLeak: part === null ? UNSEALED : hole ? orificeLeak(leak, fromPa, criticalRatio) : 0,
  };
}

/** Film conductance hA, W/K, of a volume whose gas has a time constant of `tauS` at 100 kPa and 23 °C. */
export const filmOf = (m3: number, tauS: number): number => (100e3 * m3 * CV) / (GAS_CONSTANT * 296.15 * tauS);

/** A circuit and the state that it was worked out for. */
interface Worked {
  readonly supplyV: number;
  readonly touching: boolean;
  readonly load: OutputLoad;
  readonly partC: number;
  readonly circuit: Circuit;
}

/** One nest's electronics: reference transducer, output meter, supply, thermometer, and the part between them. */
export class Nest {
  readonly truth: NestTruth;
  /** The circuit that was worked out last, and what for. */
  #worked: Worked | null = null;
  readonly reference = new Instrument();
  readonly output = new Instrument();
  readbackOffsetV = 0;
  supplyLost = false;
  part: PartTruth | null = null;
  touching = false;
  #membrane: Membrane | null = null;
  #setV = 0;
  #onForMs = 0;
  #reference: number;
  readonly #feel = new Float64Array(32);
  readonly #index: number;
  #referenceNoise: Stream;
  #outputNoise: Stream;
  #supplyNoise: Stream;
  #slowNoise: Stream;

  constructor(truth: NestTruth, index: number, seed: number, ambientPa: number) {
    this.truth = truth;
    this.#index = index;
    this.#reference = ambientPa;
    this.#referenceNoise = stream(seed, 'reference noise', index);
    this.#outputNoise = stream(seed, 'output noise', index);
    this.#supplyNoise = stream(seed, 'supply noise', index);
    this.#slowNoise = stream(seed, 'nest slow noise', index);
  }

  /** Another part, resting at ambient pressure in Pa; noise starts again from the seed. */
  load(part: PartTruth | null, seed: number, ambientPa: number): void {
    this.part = part;
    this.touching = false;
    this.#membrane = part === null ? null : new Membrane(part, ambientPa / 1000);
    this.#reference = ambientPa;
    this.#setV = 0;
    this.#worked = null;
    this.#onForMs = 0;
    this.#referenceNoise = stream(seed, 'reference noise', this.#index);
    this.#outputNoise = stream(seed, 'output noise', this.#index);
    this.#supplyNoise = stream(seed, 'supply noise', this.#index);
    this.#slowNoise = stream(seed, 'nest slow noise', this.#index);
  }

  get volts(): number {
    return this.#setV;
  }

  /** Sets the supply in V; 0 takes it off. */
  set volts(volts: number) {
    if (this.#setV === 0) this.#onForMs = 0;
    this.#setV = volts;
  }

  /** The supply at the pins, V. */
  get supplyV(): number {
    return this.supplyLost ? 0 : this.#setV * (1 + this.truth.supplyError);
  }

  /** Reads the reference transducer, kPa abs: lag, offset, noise, resolution. `row` is the nest's row of the trace. */
  readReference(trace: Float64Array, row: number, nowMs: number, into: Float64Array): void {
    const count = into.length;
    const shift = this.truth.referenceOffsetPa + this.reference.shiftAt(nowMs) + 0.5 * REFERENCE_STEP_PA;
    this.#referenceNoise.normals(into, 0, count);
    let pa = this.#reference;
    let before = trace[row]!;
    for (let k = 0; k < count; k++) {
      into[k] = rounded(pa + shift + REFERENCE_NOISE_PA * into[k]!);
      const after = trace[row + k + 1]!;
      pa = lagged(pa, before, after, REFERENCE_DECAY, REFERENCE_LAG_MS);
      before = after;
    }
    this.#reference = pa;
    this.reference.finish(into);
  }

  /** Reads the output in V sample by sample; returns supply in V and supply current in mA, averaged over the block. */
  readVoltages(
    trace: Float64Array,
    row: number,
    nowMs: number,
    load: OutputLoad,
    partC: number,
    output: Float64Array,
  ): { supplyV: number; supplyMa: number } {
    const count = output.length;
    const { truth, supplyV } = this;
    const rangeV = this.#setV > LEAST_RANGE_V ? this.#setV : LEAST_RANGE_V;
    const circuit = this.#circuitAt(load, partC);
    const feel = this.#feel;
    if (this.#membrane === null) feel.fill(0);
    else this.#membrane.feel(trace, row, count, truth.skewMs, feel);

    this.#outputNoise.normals(output, 0, count);
    const zero = truth.outputOffset * rangeV + this.output.shiftAt(nowMs);
    const meterNoiseV = VOLTAGE_NOISE * rangeV;
    const noiseV = Math.sqrt(meterNoiseV * meterNoiseV + circuit.noiseV * circuit.noiseV);
    convert(feel, circuit, zero, noiseV, output);
    const loadMa = (1000 * Math.abs(output[count - 1]! - (load.to === 'supply' ? supplyV : 0))) / load.ohm;
    if (circuit.gain !== 0 && this.#onForMs < WARM_AFTER_MS) this.#warmUp(output);
    this.output.finish(output);

    this.#onForMs += count;
    const noise = (VOLTAGE_NOISE * rangeV * this.#supplyNoise.normal()) / Math.sqrt(count);
    return {
      supplyV: supplyV + truth.supplyOffset * rangeV + this.readbackOffsetV + noise,
      supplyMa: circuit.supplyMa + loadMa + truth.currentOffsetMa + CURRENT_NOISE_MA * this.#slowNoise.normal(),
    };
  }

  /** The circuit as it stands; worked out anew when something was switched or the part's temperature has moved. */
  #circuitAt(load: OutputLoad, partC: number): Circuit {
    const { supplyV, touching } = this;
    const worked = this.#worked;
    if (worked !== null && worked.supplyV === supplyV && worked.touching === touching && worked.load === load) {
      const drifted = partC - worked.partC;
      if (drifted < SAME_K && drifted > -SAME_K) return worked.circuit;
    }
    const circuit = circuitOf(this.part, { supplyV, touching, contactOhm: this.truth.contactOhm, load }, partC);
    this.#worked = { supplyV, touching, load, partC, circuit };
    return circuit;
  }

  /** Reads the part thermometer, °C. */
  readThermometer(partC: number): number {
    return partC + this.truth.thermometerOffsetK + THERMOMETER_NOISE_K * this.#slowNoise.normal();
  }

  #warmUp(output: Float64Array): void {
    for (let k = 0; k < output.length; k++) {
      output[k] = output[k]! * (1 - Math.exp(-(this.#onForMs + k) / WARM_UP_MS));
    }
  }
}

/** A reading in kPa at the resolution of the transducer, from a pressure in Pa that is half a step too high. */
const rounded = (pa: number): number => Math.floor(pa * (1 / REFERENCE_STEP_PA)) * (REFERENCE_STEP_PA / 1000);

/** Turns the pressures that a membrane feels and the noise that stands in `volts` into output samples. */
function convert(feel: Float64Array, circuit: Circuit, zero: number, noiseV: number, volts: Float64Array): void {
  const { c0, c1, c2, low, high, gain } = circuit;
  const shift = circuit.shift + zero;
  for (let k = 0; k < volts.length; k++) {
    const p = feel[k]!;
    const y = c0 + (c1 + c2 * p) * p;
    volts[k] = gain * (y < low ? low : y > high ? high : y) + shift + noiseV * volts[k]!;
  }
}
