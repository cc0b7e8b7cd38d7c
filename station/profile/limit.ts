import { assert } from '../assert.ts';
import type { DecisionRule, FactorPoint, ProfileContent } from './schema.ts';
import { outputAt, slopeVPerKpa } from './transfer.ts';

/**
 * Factor on the pressure error at a part temperature in °C, linear between the profile's points (the temperature error
 * factor of published data sheets). Throws a RangeError outside the points: nothing is known there.
 */
export function factorAt(factors: readonly FactorPoint[], partC: number): number {
  const above = factors.findIndex((point) => point.partC >= partC);
  const high = factors[above];
  const low = factors[above - 1];
  if (high?.partC === partC) return high.factor;
  if (high === undefined || low === undefined) {
    throw new RangeError(`no temperature factor is given at ${partC} °C`);
  }
  const part = (partC - low.partC) / (high.partC - low.partC);
  return low.factor + part * (high.factor - low.factor);
}

/** Largest factor between two part temperatures in °C. Throws a RangeError as `factorAt` does. */
export function largestFactor(factors: readonly FactorPoint[], lowC: number, highC: number): number {
  const between = factors.filter(({ partC }) => partC > lowC && partC < highC).map(({ factor }) => factor);
  return Math.max(factorAt(factors, lowC), factorAt(factors, highC), ...between);
}

/** Allowed error in kPa, to either side, at a part temperature in °C: E F(T). Throws a RangeError as `factorAt` does. */
export function errorBandKpa(band: ProfileContent['errorBand'], partC: number): number {
  return band.kPa * factorAt(band.factors, partC);
}

/** Limits of an output in V at nominal supply, with the numbers that they were derived from. */
export interface OutputLimits {
  readonly nominalV: number;
  readonly lowV: number;
  readonly highV: number;
  readonly factor: number;
  readonly bandKpa: number;
  readonly slopeVPerKpa: number;
}

/**
 * Limits at a point in kPa absolute and a part temperature in °C: nominal output ± E F(T) times the slope in V/kPa,
 * all at nominal supply. The factor widens the pressure error and nothing else. Throws a RangeError as `factorAt` does.
 */
export function outputLimits(
  profile: Pick<ProfileContent, 'transfer' | 'supply' | 'errorBand'>,
  pointKpaAbs: number,
  partC: number,
): OutputLimits {
  const factor = factorAt(profile.errorBand.factors, partC);
  const bandKpa = profile.errorBand.kPa * factor;
  const slope = slopeVPerKpa(profile.transfer, profile.supply.nominalV);
  const nominalV = outputAt(profile.transfer, pointKpaAbs, profile.supply.nominalV);
  return {
    nominalV,
    lowV: nominalV - bandKpa * slope,
    highV: nominalV + bandKpa * slope,
    factor,
    bandKpa,
    slopeVPerKpa: slope,
  };
}

/** What a rule takes off each limit of a reading whose standard uncertainty is u, in the same unit (JCGM 106, 8.3). */
export function guardBand(rule: DecisionRule, u: number): number {
  return rule.kind === 'guard-band' ? rule.factor * u : 0;
}

/**
 * Margin of a value to its specification limits, without unit: 1 centred, 0 on a limit, negative outside. Two-sided:
 * distance to the nearer limit over half the tolerance. One-sided: (limit - value) / limit, or (value - limit) / limit
 * when only the lowest value is limited, over the limit's magnitude.
 */
export function marginOf(value: number, low: number | null, high: number | null): number {
  assert(Number.isFinite(value), 'a margin is taken of a measured value');
  if (low !== null && high !== null) {
    assert(low < high, 'the lower limit lies below the upper one');
    return Math.min(value - low, high - value) / ((high - low) / 2);
  }
  if (high !== null) return (high - value) / magnitude(high);
  if (low !== null) return (value - low) / magnitude(low);
  throw new RangeError('a value without limits has no margin');
}

function magnitude(limit: number): number {
  assert(limit !== 0, 'a one-sided limit is not zero');
  return Math.abs(limit);
}
