import { lagged } from './lag.ts';
import type { PartTruth } from './part.ts';
import type { OutputLoad } from '../port.ts';

/** Play operators of a 100 kPa span with a 1.5 kPa band: radii in kPa and weights. Engineering assumption. */
export const PLAY = { radiiKpa: [2, 10, 30], weights: [0.002, 0.002, 0.001] } as const;

/** Temperature at which errors are stated, °C. */
const TRIMMED_AT_C = 25;

/** y = c0 + c1 p + c2 p², p in kPa abs: fraction of the supply, or V of a regulated part, at the model's load. */
export interface Characteristic {
  readonly c0: number;
  readonly c1: number;
  readonly c2: number;
}

/**
 * A part's settled characteristic at a temperature in °C: nominal line, offset and slope errors with their first- and
 * second-order temperature coefficients, and a bow of 4 x (1 - x) over the rated range.
 */
export function characteristicOf(part: PartTruth, partC: number): Characteristic {
  const { transfer, ratedKpaAbs } = part.model;
  const slope = transfer.kind === 'ratiometric' ? transfer.slopePerKpa : transfer.slopeVPerKpa;
  const zero = transfer.kind === 'ratiometric' ? transfer.offsetRatio : transfer.offsetV;
  const dT = partC - TRIMMED_AT_C;
  const offset = slope * (part.offsetKpa + part.offsetKpaPerK * dT + part.offsetKpaPerK2 * dT * dT);
  const gain = slope * (1 + part.span + part.spanPerK * dT + part.spanPerK2 * dT * dT);
  const width = ratedKpaAbs.high - ratedKpaAbs.low;
  const bow = (4 * slope * part.bowKpa) / (width * width);
  return {
    c0: zero + offset - bow * ratedKpaAbs.low * ratedKpaAbs.high,
    c1: gain + bow * (ratedKpaAbs.low + ratedKpaAbs.high),
    c2: -bow,
  };
}

/** The error in kPa that a perfect station would find at a settled pressure and temperature, hysteresis left out. */
export function trueErrorKpa(part: PartTruth, kPaAbs: number, partC: number): number {
  const { transfer } = part.model;
  const { c0, c1, c2 } = characteristicOf(part, partC);
  const slope = transfer.kind === 'ratiometric' ? transfer.slopePerKpa : transfer.slopeVPerKpa;
  const zero = transfer.kind === 'ratiometric' ? transfer.offsetRatio : transfer.offsetV;
  return (c0 + c1 * kPaAbs + c2 * kPaAbs * kPaAbs - zero) / slope - kPaAbs;
}

/** Voltage at the load of a source with a resistance (output stage and contact in series): the loaded divider. */
export function loaded(sourceV: number, seriesOhm: number, load: OutputLoad, supplyV: number): number {
  const rail = load.to === 'supply' ? supplyV : 0;
  return (sourceV * load.ohm + rail * seriesOhm) / (load.ohm + seriesOhm);
}

/**
 * The mechanics of one part: port lag and hysteresis, followed millisecond by millisecond. Hysteresis is a state of
 * the membrane: it survives a supply that is switched off.
 */
export class Membrane {
  readonly #decay: number;
  readonly #tauMs: number;
  readonly #weights: Float64Array;
  readonly #radii: Float64Array;
  readonly #plays: Float64Array;
  #port: number;
  #portBefore: number;

  /** At rest at a pressure in kPa. */
  constructor(part: PartTruth, startKpa: number) {
    const scale = (part.model.ratedKpaAbs.high - part.model.ratedKpaAbs.low) / 100;
    const size = (part.hysteresis * part.model.errorBandKpa) / 1.5 / scale;
    this.#tauMs = part.lagS * 1000;
    this.#decay = this.#tauMs > 0 ? Math.exp(-1 / this.#tauMs) : 0;
    this.#radii = Float64Array.from(PLAY.radiiKpa, (radius) => radius * scale);
    this.#weights = Float64Array.from(PLAY.weights, (weight) => weight * size);
    this.#plays = new Float64Array(3).fill(startKpa);
    this.#port = startKpa;
    this.#portBefore = startKpa;
  }

  /**
   * Pressures in kPa that the membrane feels, `skewMs` before each of `count` samples, from a trace in Pa that starts
   * at `row` and is one sample longer.
   */
  feel(trace: Float64Array, row: number, count: number, skewMs: number, into: Float64Array): void {
    const weights = this.#weights;
    const radii = this.#radii;
    const plays = this.#plays;
    const [w0, w1, w2] = [weights[0]!, weights[1]!, weights[2]!];
    const [r0, r1, r2] = [radii[0]!, radii[1]!, radii[2]!];
    let y0 = plays[0]!;
    let y1 = plays[1]!;
    let y2 = plays[2]!;
    const decayed = this.#decay;
    const tauMs = this.#tauMs;
    let port = this.#port;
    let before = this.#portBefore;
    let from = trace[row]! * 1e-3;
    for (let k = 0; k < count; k++) {
      const p = port + skewMs * (before - port);
      y0 = play(y0, p, r0);
      y1 = play(y1, p, r1);
      y2 = play(y2, p, r2);
      into[k] = p + w0 * (y0 - p) + w1 * (y1 - p) + w2 * (y2 - p);
      before = port;
      const to = trace[row + k + 1]! * 1e-3;
      port = lagged(port, from, to, decayed, tauMs);
      from = to;
    }
    plays[0] = y0;
    plays[1] = y1;
    plays[2] = y2;
    this.#port = port;
    this.#portBefore = before;
  }
}

/** The play (backlash) operator: follows p at a distance of at most the radius. */
export function play(y: number, p: number, radius: number): number {
  return y < p - radius ? p - radius : y > p + radius ? p + radius : y;
}
