import { checkSquares } from './analysis-of-variance.ts';
import { tCdf, tQuantile } from '../distributions/student-t.ts';
import { bias } from './bias.ts';
import type { Bias } from './bias.ts';
import { checkPositive, checkValues } from '../checks.ts';
import type { Values } from '../checks.ts';
import { QualityError } from '../errors.ts';
import { leastSquares } from '../line-fit.ts';
import type { LineFit } from '../line-fit.ts';
import type { Interval } from './mean-square-bounds.ts';
import { mean } from '../moments.ts';

/** The line of bias over reference at one reference, with its confidence band. */
export interface BandPoint {
  readonly reference: number;
  /** Null (undefined) when all references are equal. */
  readonly fit: number | null;
  /** Null below three readings. */
  readonly bounds: Interval | null;
  /** Whether the gauge may be without bias here. */
  readonly containsZero: boolean | null;
}

/** Bias of a gauge over its range. */
export interface GaugeLinearity {
  readonly perReference: readonly (Bias & { readonly reference: number })[];
  /** Mean bias of all readings. */
  readonly averageBias: number;
  /** Least squares of bias on reference over all readings. */
  readonly line: LineFit;
  readonly slopeTest: TTest;
  readonly interceptTest: TTest;
  readonly band: readonly BandPoint[];
  readonly zeroInsideBandEverywhere: boolean | null;
  /** |slope| times process variation, unit of the readings; null without a process variation. */
  readonly linearity: number | null;
  /** Linearity in percent of the process variation. */
  readonly percentLinearity: number | null;
  /** |average bias| in percent of the process variation. */
  readonly percentAverageBias: number | null;
}

/** Test against zero; null (undefined) without residual spread. */
interface TTest {
  readonly t: number | null;
  /** Two-sided. */
  readonly p: number | null;
}

/** What a linearity study is measured against. */
export interface LinearityOptions {
  /** Six standard deviations of the process, unit of the readings; null or left out: no linearity figures. */
  readonly processVariation?: number | null;
  /** Confidence of the bounds and of the band, 0.95 when left out. */
  readonly confidence?: number;
}

/**
 * Linearity study: `readings[i]` are readings of a part with the value `references[i]`. Bias is reading minus reference;
 * the line is least squares of bias on reference over all readings, the band fit -/+ t s sqrt(1/n + (x - mean x)^2 / Sxx)
 * at a confidence for each point by itself (AIAG, "Measurement Systems Analysis", 4th ed., linearity study, from memory;
 * Draper & Smith, "Applied Regression Analysis", 3rd ed., section 3.1).
 *
 * @throws QualityError `empty`, `too-few` (fewer than two readings in all), `not-finite`, `unequal-sizes`,
 * `out-of-range` (process variation not above zero, confidence, spread too large to be squared)
 */
export function gaugeLinearity(
  references: Values,
  readings: readonly Values[],
  { processVariation = null, confidence = 0.95 }: LinearityOptions = {},
): GaugeLinearity {
  checkValues(references, 'references');
  if (readings.length !== references.length) {
    const lengths = `readings has ${readings.length} lists, references has ${references.length}`;
    throw new QualityError('unequal-sizes', 'readings', lengths);
  }
  if (processVariation !== null) checkPositive(processVariation, 'processVariation');
  const perReference = readings.map((each, i) => {
    const reference = references[i] ?? 0;
    return { reference, ...bias(each, reference, confidence, `readings[${i}]`) };
  });
  const x = readings.flatMap((each, i) => Array.from(each, () => references[i] ?? 0));
  const y = readings.flatMap((each, i) => Array.from(each, (reading) => reading - (references[i] ?? 0)));
  const line = leastSquares(x, y, { x: 'readings', y: 'readings' });
  checkSquares(line.sxx, 'references');
  checkSquares(line.syy, 'readings');
  const averageBias = mean(y);
  const band = Array.from(references, (reference) => bandPoint(line, reference, confidence));
  const slope = line.slope === null ? null : Math.abs(line.slope);
  return {
    perReference,
    averageBias,
    line,
    slopeTest: tTest(line.slope, line.slopeSe, line.df),
    interceptTest: tTest(line.intercept, line.interceptSe, line.df),
    band,
    zeroInsideBandEverywhere: band.some(({ containsZero }) => containsZero === null)
      ? null
      : band.every(({ containsZero }) => containsZero === true),
    linearity: slope === null || processVariation === null ? null : slope * processVariation,
    percentLinearity: slope === null || processVariation === null ? null : 100 * slope,
    percentAverageBias: processVariation === null ? null : (100 * Math.abs(averageBias)) / processVariation,
  };
}

function tTest(estimate: number | null, error: number | null, df: number): TTest {
  if (estimate === null || error === null || error === 0) return { t: null, p: null };
  const t = estimate / error;
  return { t, p: 2 * tCdf(Math.abs(t), df, 'upper') };
}

function bandPoint(line: LineFit, reference: number, confidence: number): BandPoint {
  const { n, df, slope, meanX, meanY, sxx, residualSd } = line;
  if (slope === null) return { reference, fit: null, bounds: null, containsZero: null };
  const fit = meanY + slope * (reference - meanX);
  if (residualSd === null) return { reference, fit, bounds: null, containsZero: null };
  const error = residualSd * Math.sqrt(1 / n + (reference - meanX) ** 2 / sxx);
  const half = tQuantile((1 - confidence) / 2, df, 'upper') * error;
  const bounds = { lower: fit - half, upper: fit + half };
  return { reference, fit, bounds, containsZero: bounds.lower <= 0 && bounds.upper >= 0 };
}
