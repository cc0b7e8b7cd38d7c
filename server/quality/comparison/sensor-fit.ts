import { QualityError } from '../errors.ts';
import { leastSquares } from '../line-fit.ts';
import { mean, moments, sampleSd } from '../moments.ts';
import { at, atPoints, normalizedReadings, sweepCurve } from './sensor-sweep.ts';
import type { NormalizedReading, SweepCurve, SweepCycle, TransferFunction } from './sensor-sweep.ts';

/** How far the mean curve lies from a straight line. */
export interface Linearity {
  /** Mean curve minus line at each pressure, V. */
  readonly deviationV: readonly number[];
  /** Largest deviation in percent of the full-scale output; null when that is zero. */
  readonly maxAbsPercentFs: number | null;
  /** The same with the sign of the deviation. */
  readonly signedPercentFs: number | null;
}

export interface StraightLine {
  readonly slopeVPerKpa: number;
  readonly interceptV: number;
}

export interface Hysteresis {
  /** Pressures that were met in both directions. */
  readonly pressuresKpa: readonly number[];
  readonly upMinusDownV: readonly number[];
  readonly maxAbsPercentFs: number | null;
}

/** Spread over the cycles at the same pressure, coming from the same side. */
export interface Repeatability {
  readonly maxRangeV: number;
  readonly maxRangePercentFs: number | null;
  /** Largest standard deviation (divisor n - 1) of a direction and pressure. */
  readonly maxSdV: number;
  /** Root of the mean variance over directions and pressures. */
  readonly pooledSdV: number;
  readonly pooledSdPercentFs: number | null;
}

interface Span {
  readonly minKpa: number;
  readonly maxKpa: number;
}

export interface TotalErrorBand extends Span {
  /** Error of every reading, cycle by cycle, up before down, as listed. */
  readonly errorKpa: readonly number[];
  readonly maxAbsKpa: number;
  readonly meanKpa: number;
  readonly perPressure: readonly (Span & { readonly pressureKpa: number })[];
}

export interface SensorFit {
  readonly curve: SweepCurve;
  /** Mean curve at the highest pressure minus at the lowest, V; negative for a falling characteristic. */
  readonly fullScaleOutputV: number;
  readonly bestFit: StraightLine & {
    /** Standard deviation of the readings about the line, divisor n - 2; null with two readings. */
    readonly residualSdV: number | null;
  };
  readonly linearityBestFit: Linearity;
  /** The straight line through the ends of the mean curve. */
  readonly terminal: StraightLine;
  readonly linearityTerminal: Linearity;
  /** Null when no pressure was met in both directions. */
  readonly hysteresis: Hysteresis | null;
  /** Null with one cycle, or when no pressure was met twice from the same side. */
  readonly repeatability: Repeatability | null;
  readonly totalErrorBand: TotalErrorBand;
}

/**
 * Straightness, hysteresis, repeatability and total error of a ratiometric pressure sensor from pressure cycles. Pressures
 * in kPa, outputs in volt at the nominal supply, shares in percent of the absolute full-scale output.
 *
 * Terms as the trade has them in ISA-S37.1 / ANSI MC6.1 "Electrical Transducer Nomenclature and Terminology" (from
 * memory): least-squares linearity over all readings, end-point ("terminal") linearity through the ends of the mean
 * curve, hysteresis as the difference between up and down, repeatability between cycles from the same side. The total
 * error band compares with the nominal characteristic, so it holds offset and span errors too (common practice).
 *
 * @param withinKpa pressures this near to one another are one point, kPa; see `atPoints`
 * @throws QualityError `empty`, `too-few` (fewer than two pressures), `not-finite`, `out-of-range`
 */
export function sensorFit(transfer: TransferFunction, cycles: readonly SweepCycle[], withinKpa = 0): SensorFit {
  const readings = atPoints(normalizedReadings(transfer, cycles), transfer, withinKpa);
  const curve = sweepCurve(readings);
  const { pressuresKpa, meanV } = curve;
  const ends = {
    lowKpa: pressuresKpa[0] ?? 0,
    highKpa: pressuresKpa.at(-1) ?? 0,
    lowV: meanV[0] ?? 0,
    highV: meanV.at(-1) ?? 0,
  };
  const fullScaleOutputV = ends.highV - ends.lowV;
  const percentFs: PercentFs = (volt) => (fullScaleOutputV === 0 ? null : (100 * volt) / Math.abs(fullScaleOutputV));
  const best = bestFit(readings);
  const terminal = terminalLine(ends);
  return {
    curve,
    fullScaleOutputV,
    bestFit: best.line,
    linearityBestFit: linearity(curve, best.at, percentFs),
    terminal: terminal.line,
    linearityTerminal: linearity(curve, terminal.at, percentFs),
    hysteresis: hysteresis(curve, percentFs),
    repeatability: cycles.length < 2 ? null : repeatability(readings, pressuresKpa, percentFs),
    totalErrorBand: totalErrorBand(readings, pressuresKpa),
  };
}

type PercentFs = (volt: number) => number | null;

function bestFit(readings: readonly NormalizedReading[]): {
  readonly line: SensorFit['bestFit'];
  readonly at: (pressureKpa: number) => number;
} {
  const pressures = readings.map((each) => each.pressureKpa);
  if (new Set(pressures).size < 2) tooFewPressures();
  const fit = leastSquares(
    pressures,
    readings.map((each) => each.outputV),
  );
  const { slope, intercept } = fit;
  if (slope === null || intercept === null) tooFewPressures();
  return {
    line: { slopeVPerKpa: slope, interceptV: intercept, residualSdV: fit.residualSd },
    at: (pressureKpa) => fit.meanY + slope * (pressureKpa - fit.meanX),
  };
}

function tooFewPressures(): never {
  throw new QualityError('too-few', 'cycles', 'cycles hold a single pressure; at least two different ones wanted');
}

function terminalLine(ends: { lowKpa: number; highKpa: number; lowV: number; highV: number }): {
  readonly line: StraightLine;
  readonly at: (pressureKpa: number) => number;
} {
  const { lowKpa, highKpa, lowV, highV } = ends;
  const slope = (highV - lowV) / (highKpa - lowKpa);
  return {
    line: { slopeVPerKpa: slope, interceptV: lowV - slope * lowKpa },
    // From the nearer end, so that the line meets both ends exactly.
    at: (pressureKpa) =>
      pressureKpa - lowKpa <= highKpa - pressureKpa
        ? lowV + slope * (pressureKpa - lowKpa)
        : highV - slope * (highKpa - pressureKpa),
  };
}

function linearity(
  { pressuresKpa, meanV }: SweepCurve,
  lineAt: (pressureKpa: number) => number,
  percentFs: PercentFs,
): Linearity {
  const deviationV = pressuresKpa.map((each, i) => (meanV[i] ?? 0) - lineAt(each));
  const largest = largestSize(deviationV);
  // Deviations that differ by rounding only count as equal; the first of them gives the sign.
  const rounding = 4 * Number.EPSILON * largestSize(meanV);
  const signed = deviationV.find((each) => Math.abs(each) >= largest - rounding) ?? 0;
  return {
    deviationV,
    maxAbsPercentFs: percentFs(largest),
    signedPercentFs: percentFs(signed < 0 ? -largest : largest),
  };
}

const largestSize = (values: readonly number[]): number => values.reduce((top, v) => Math.max(top, Math.abs(v)), 0);

function hysteresis({ pressuresKpa, meanUpV, meanDownV }: SweepCurve, percentFs: PercentFs): Hysteresis | null {
  const both = pressuresKpa.flatMap((pressureKpa, i) => {
    const up = meanUpV[i] ?? null;
    const down = meanDownV[i] ?? null;
    return up === null || down === null ? [] : [{ pressureKpa, difference: up - down }];
  });
  if (both.length === 0) return null;
  const upMinusDownV = both.map(({ difference }) => difference);
  return {
    pressuresKpa: both.map(({ pressureKpa }) => pressureKpa),
    upMinusDownV,
    maxAbsPercentFs: percentFs(largestSize(upMinusDownV)),
  };
}

function repeatability(
  readings: readonly NormalizedReading[],
  pressuresKpa: readonly number[],
  percentFs: PercentFs,
): Repeatability | null {
  const groups = (['up', 'down'] as const)
    .flatMap((direction) => pressuresKpa.map((each) => at(readings, each, 'pointV', direction)))
    .filter((outputs) => outputs.length > 1);
  if (groups.length === 0) return null;
  const ranges = groups.map((outputs) => span(outputs).max - span(outputs).min);
  const sds = groups.map((outputs) => sampleSd(moments(outputs)) ?? 0);
  const maxRangeV = largestSize(ranges);
  const pooledSdV = Math.sqrt(mean(sds.map((sd) => sd ** 2)));
  return {
    maxRangeV,
    maxRangePercentFs: percentFs(maxRangeV),
    maxSdV: largestSize(sds),
    pooledSdV,
    pooledSdPercentFs: percentFs(pooledSdV),
  };
}

function totalErrorBand(readings: readonly NormalizedReading[], pressuresKpa: readonly number[]): TotalErrorBand {
  const errorKpa = readings.map((each) => each.errorKpa);
  const { min, max } = span(errorKpa);
  return {
    errorKpa,
    minKpa: min,
    maxKpa: max,
    maxAbsKpa: Math.max(Math.abs(min), Math.abs(max)),
    meanKpa: mean(errorKpa),
    perPressure: pressuresKpa.map((pressureKpa) => {
      const own = span(at(readings, pressureKpa, 'errorKpa'));
      return { pressureKpa, minKpa: own.min, maxKpa: own.max };
    }),
  };
}

function span(values: readonly number[]): { readonly min: number; readonly max: number } {
  return {
    min: values.reduce((low, value) => Math.min(low, value), Number.POSITIVE_INFINITY),
    max: values.reduce((high, value) => Math.max(high, value), Number.NEGATIVE_INFINITY),
  };
}
