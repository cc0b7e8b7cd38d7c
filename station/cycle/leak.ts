import type { LeakHold } from '../profile/schema.ts';
import type { Measured } from '../units.ts';
import { CELSIUS_ZERO_K, paM3PerSFrom, ratingFactor, stdFlowFrom } from '../units.ts';

/** Least-squares slope of y over t, gathered one value at a time; t in s, slope in the unit of y per second. */
export class SlopeFit {
  #n = 0;
  #t0 = 0;
  #y0 = 0;
  #t = 0;
  #y = 0;
  #tt = 0;
  #ty = 0;
  #yy = 0;

  add(tS: number, y: number): void {
    if (this.#n === 0) {
      this.#t0 = tS;
      this.#y0 = y;
    }
    const t = tS - this.#t0;
    const d = y - this.#y0;
    this.#n += 1;
    this.#t += t;
    this.#y += d;
    this.#tt += t * t;
    this.#ty += t * d;
    this.#yy += d * d;
  }

  get n(): number {
    return this.#n;
  }

  /** Sum of squares about the line; it has n - 2 degrees of freedom. */
  get squares(): number {
    const n = this.#n;
    const tt = this.#tt - (this.#t * this.#t) / n;
    const ty = this.#ty - (this.#t * this.#y) / n;
    const yy = this.#yy - (this.#y * this.#y) / n;
    return Math.max(0, yy - (ty * ty) / tt);
  }

  get slope(): number {
    return (this.#n * this.#ty - this.#t * this.#y) / (this.#n * this.#tt - this.#t * this.#t);
  }

  get mean(): number {
    return this.#y0 + this.#y / this.#n;
  }
}

/**
 * Standard deviation of a least-squares slope through n values dt apart, each with standard deviation sigma:
 * sigma/dt · sqrt(12 / (n (n² - 1))) (textbook least squares).
 */
export const slopeSigma = (sigma: number, dtS: number, n: number): number =>
  (sigma / dtS) * Math.sqrt(12 / (n * (n * n - 1)));

/**
 * Flow out of a shut nest, Pa·m³/s at the gas temperature: Q = V (sealed slope - slope), both in Pa/s, V in m³.
 * Uncertainty by JCGM 100 5.1.2, the three inputs independent.
 */
export function flowFrom(slopePaPerS: Measured, sealedPaPerS: Measured, volumeM3: Measured): Measured {
  const fall = sealedPaPerS.value - slopePaPerS.value;
  return {
    value: volumeM3.value * fall,
    u: Math.hypot(volumeM3.value * slopePaPerS.u, volumeM3.value * sealedPaPerS.u, fall * volumeM3.u),
  };
}

/**
 * The leak as it is rated: std cm³/min (dry air, 20 °C, 101.325 kPa) from the profile's test pressure to 101.325 kPa,
 * out of a flow measured at the pressures that were there (viscous law, `ratingFactor`). Also the sensitivities used.
 */
export function ratedLeak(
  measured: { flowPaM3PerS: Measured; testKpaAbs: Measured; ambientKpaAbs: Measured; gasC: Measured },
  hold: Pick<LeakHold, 'testKpaAbs'>,
): { stdCm3PerMin: Measured; flowStdCm3PerMin: number; factor: number } {
  const { flowPaM3PerS, testKpaAbs, ambientKpaAbs, gasC } = measured;
  const factor = ratingFactor(hold.testKpaAbs, testKpaAbs.value, ambientKpaAbs.value);
  const flowStdCm3PerMin = stdFlowFrom(flowPaM3PerS.value, gasC.value);
  const value = flowStdCm3PerMin * factor;
  const squares = testKpaAbs.value ** 2 - ambientKpaAbs.value ** 2;
  const u = Math.hypot(
    stdFlowFrom(flowPaM3PerS.u, gasC.value) * factor,
    value * ((2 * testKpaAbs.value * testKpaAbs.u) / squares),
    value * ((2 * ambientKpaAbs.value * ambientKpaAbs.u) / squares),
    value * (gasC.u / (gasC.value + CELSIUS_ZERO_K)),
  );
  return { stdCm3PerMin: { value, u }, flowStdCm3PerMin, factor };
}

/**
 * Fall in Pa/s that a leak of a rated size makes in a nest at the pressures that are there: the inverse of the above,
 * for the thresholds of the gross leak. Pressures kPa absolute, temperature °C, volume m³.
 */
export function fallOfRatedLeak(
  stdCm3PerMin: number,
  at: { ratedKpaAbs: number; testKpaAbs: number; ambientKpaAbs: number; gasC: number; volumeM3: number },
): number {
  const flow = paM3PerSFrom(stdCm3PerMin, at.gasC);
  return flow / ratingFactor(at.ratedKpaAbs, at.testKpaAbs, at.ambientKpaAbs) / at.volumeM3;
}

/** Volume of a nest from two falls with and without a calibrated leak: V = Q / (sealed slope - slope with leak). */
export function volumeFrom(flowPaM3PerS: Measured, withLeakPaPerS: Measured, sealedPaPerS: Measured): Measured {
  const fall = sealedPaPerS.value - withLeakPaPerS.value;
  const value = flowPaM3PerS.value / fall;
  const u = value * Math.hypot(flowPaM3PerS.u / flowPaM3PerS.value, withLeakPaPerS.u / fall, sealedPaPerS.u / fall);
  return { value, u };
}
