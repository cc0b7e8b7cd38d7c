import { capabilityIndices } from './capability-indices.ts';
import type { CapabilityIndices, Limits } from './capability-indices.ts';
import { checkLimits, checkValues } from '../checks.ts';
import type { Values } from '../checks.ts';
import { normalCdf, normalQuantile } from '../distributions/normal.ts';
import { fractionOutside } from './fraction-outside.ts';
import type { FractionOutside } from './fraction-outside.ts';
import { compensatedSum } from '../moments.ts';
import { extremeValueShape } from './weibull-shape.ts';

/** What follows from a fitted distribution: percentiles in the unit of the values, indices, expected fractions. */
export interface FittedCapability {
  readonly logLikelihood: number;
  /** The values below which 0.135 %, 50 % and 99.865 % lie. */
  readonly x00135: number;
  readonly x50: number;
  readonly x99865: number;
  /** (U - L)/(x99.865 - x0.135), (U - x50)/(x99.865 - x50), (x50 - L)/(x50 - x0.135). */
  readonly indices: CapabilityIndices;
  readonly fractionOutside: FractionOutside;
}

/** ln of the values is normal. */
export interface LognormalCapability extends FittedCapability {
  /** Mean of ln(value), the value in its unit. */
  readonly meanLog: number;
  /** Standard deviation of ln(value), divisor n. */
  readonly sdLog: number;
}

/** P(X > x) = exp(-(x/scale)^shape). */
export interface WeibullCapability extends FittedCapability {
  readonly shape: number;
  /** Unit of the values. */
  readonly scale: number;
}

/** Tail beyond which a reference interval leaves 0.135 %, rounded as ISO 22514-2 prints it. */
const TAIL = 0.00135;

/**
 * Lognormal distribution by maximum likelihood (mean and standard deviation, divisor n, of the logarithms; Johnson,
 * Kotz & Balakrishnan, "Continuous Univariate Distributions", vol. 1, 2nd ed., chapter 14), and percentile indices of
 * it (ISO 22514-2). Null (undefined) for values that are not all above 0, or all equal. Computed for any n; what may be
 * claimed from it says `nonNormalClaim`.
 *
 * @throws QualityError `empty`, `not-finite`, `no-limit`, `crossed-limits`
 */
export function lognormalCapability(values: Values, limits: Limits): LognormalCapability | null {
  const logs = logarithms(values, limits);
  if (logs === null) return null;
  const { n, base, center, sd } = logs;
  const meanLog = Math.log(base) + center;
  const x50 = base * Math.exp(center);
  const z = normalQuantile(TAIL, 'upper');
  const standard = (limit: number): number => (logOver(limit, base) - center) / sd;
  return {
    meanLog,
    sdLog: sd,
    logLikelihood: -n * (meanLog + Math.log(sd) + 0.5 * Math.log(2 * Math.PI) + 0.5),
    ...percentiles(limits, { x50, toLow: -z * sd, toHigh: z * sd }),
    fractionOutside: fractionsOf(limits, (limit, tail) => normalCdf(standard(limit), tail)),
  };
}

/**
 * Two-parameter Weibull distribution by maximum likelihood (shape from the likelihood equation, see
 * `extremeValueShape`; scale^shape the mean of value^shape; Lawless, "Statistical Models and Methods for Lifetime
 * Data", 2nd ed., 5.2), and percentile indices of it (ISO 22514-2). Null (undefined) for values that are not all above
 * 0, or all equal. Computed for any n; what may be claimed from it says `nonNormalClaim`.
 *
 * @throws QualityError `empty`, `not-finite`, `no-limit`, `crossed-limits`
 */
export function weibullCapability(values: Values, limits: Limits): WeibullCapability | null {
  const logs = logarithms(values, limits);
  if (logs === null) return null;
  const { n, base, center, sd, standardized } = logs;
  // The logarithms are of the smallest-extreme-value kind, scale 1/shape; here in units of their standard deviation.
  const { shape: standardShape, location } = extremeValueShape(standardized);
  const shape = standardShape / sd;
  const logScale = center + sd * location;
  const logAt = (p: number): number => Math.log(-Math.log1p(-p)) / shape;
  const middle = logAt(0.5);
  const power = (limit: number): number => Math.exp(shape * (logOver(limit, base) - logScale));
  return {
    shape,
    scale: base * Math.exp(logScale),
    // The sum of (x/scale)^shape is n at the maximum.
    logLikelihood: n * (Math.log(shape) - (Math.log(base) + center) - standardShape * location - 1),
    ...percentiles(limits, {
      x50: base * Math.exp(logScale + middle),
      toLow: logAt(TAIL) - middle,
      toHigh: Math.log(-Math.log(TAIL)) / shape - middle,
    }),
    fractionOutside: fractionsOf(limits, (limit, tail) =>
      tail === 'lower' ? -Math.expm1(-power(limit)) : Math.exp(-power(limit)),
    ),
  };
}

/** ln(value/base) of all values, base one of them: small differences of large values keep their digits. */
interface Logarithms {
  readonly n: number;
  readonly base: number;
  /** Mean of ln(value/base). */
  readonly center: number;
  /** Divisor n. */
  readonly sd: number;
  /** (ln(value/base) - center)/sd. */
  readonly standardized: Float64Array;
}

function logarithms(values: Values, limits: Limits): Logarithms | null {
  checkLimits(limits.lsl, limits.usl);
  checkValues(values, 'values');
  const n = values.length;
  const base = values[0] ?? 0;
  const logs = new Float64Array(n);
  for (let i = 0; i < n; i += 1) {
    const value = values[i] ?? 0;
    if (value <= 0) return null;
    logs[i] = logOver(value, base);
  }
  const center = compensatedSum(n, (i) => logs[i] ?? 0) / n;
  for (let i = 0; i < n; i += 1) logs[i] = (logs[i] ?? 0) - center;
  const sd = Math.sqrt(compensatedSum(n, (i) => (logs[i] ?? 0) ** 2) / n);
  // Equal values have logarithms of exactly zero to the first of them.
  if (sd === 0) return null;
  return { n, base, center, sd, standardized: logs.map((each) => each / sd) };
}

/** ln(value/base); -Infinity for a value of 0 or below, where neither distribution has anything. */
function logOver(value: number, base: number): number {
  if (value <= 0) return Number.NEGATIVE_INFINITY;
  const part = (value - base) / base;
  return Math.abs(part) < 0.5 ? Math.log1p(part) : Math.log(value) - Math.log(base);
}

/** From the median and the logarithmic distances of the outer percentiles to it. */
function percentiles(
  limits: Limits,
  { x50, toLow, toHigh }: { readonly x50: number; readonly toLow: number; readonly toHigh: number },
): Pick<FittedCapability, 'x00135' | 'x50' | 'x99865' | 'indices'> {
  const below = -x50 * Math.expm1(toLow);
  const above = x50 * Math.expm1(toHigh);
  return {
    x00135: x50 * Math.exp(toLow),
    x50,
    x99865: x50 * Math.exp(toHigh),
    indices: capabilityIndices(limits, { center: x50, below, above }),
  };
}

function fractionsOf(
  { lsl, usl }: Limits,
  beyond: (limit: number, tail: 'lower' | 'upper') => number,
): FractionOutside {
  // Nothing lies at or below 0.
  const below = lsl === null ? null : lsl <= 0 ? 0 : beyond(lsl, 'lower');
  const above = usl === null ? null : usl <= 0 ? 1 : beyond(usl, 'upper');
  return fractionOutside(below, above);
}
