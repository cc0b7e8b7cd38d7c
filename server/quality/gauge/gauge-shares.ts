import { checkPositive } from '../checks.ts';
import type { Interval } from './mean-square-bounds.ts';

/** What a study may be measured against, and how sure its bounds are. */
export interface StudyOptions {
  /** Upper minus lower limit, unit of the readings; null or left out: no shares of the tolerance. */
  readonly toleranceWidth?: number | null;
  /** Confidence of the two-sided bounds, 0.95 when left out. */
  readonly confidence?: number;
}

/** A variance of a gauge study with its confidence bounds. */
export interface Component {
  /** Unit of the readings squared; an estimate below zero has been set to zero. */
  readonly variance: number;
  /** Bounds of the variance as they come; ones below zero are raised to zero here. */
  readonly bounds: Interval;
}

/** A source of variation and its share of the whole. */
export interface Share {
  readonly variance: number;
  readonly varianceBounds: Interval;
  readonly sd: number;
  readonly sdBounds: Interval;
  /** 100 variance / total variance; null (undefined) when nothing varies. */
  readonly percentContribution: number | null;
  /** 100 sd / total sd; null when nothing varies. Such shares do not add up to 100. */
  readonly percentStudyVariation: number | null;
  /** Six standard deviations, unit of the readings. */
  readonly studyVariation: number;
  /** 100 times six standard deviations / tolerance width; null without a tolerance. */
  readonly percentTolerance: number | null;
  readonly percentToleranceBounds: Interval | null;
}

/** How many groups of parts the gauge can tell apart. */
export interface DistinctCategories {
  /** 1.41 sd of the parts / sd of the gauge; null (undefined) for a gauge without any variation. */
  readonly raw: number | null;
  /** `raw` cut to a whole number, at least 1. */
  readonly categories: number | null;
  /** The same with the square root of 2, which 1.41 stands for. */
  readonly rawSqrt2: number | null;
}

/** Answer of a study under one model: shares of every source, categories, and the gauge's share with its bounds. */
export interface StudyAnswer<Name extends string> {
  readonly shares: Readonly<Record<Name | 'total', Share>>;
  readonly distinctCategories: DistinctCategories;
  /** Bounds of the gauge's and of the parts' percentStudyVariation; null when nothing varies. */
  readonly studyVariationBounds: { readonly gauge: Interval; readonly part: Interval } | null;
}

/**
 * Shares of the sources of variation in the total and in the tolerance (AIAG, "Measurement Systems Analysis", 4th ed.,
 * chapter III, analysis of variance method; from memory). The bounds of a standard deviation and of a share of the
 * tolerance follow from those of the variance, all being rising functions of it. As negative estimates are set to zero
 * and bounds are not, an estimate can lie outside its bounds.
 *
 * @throws QualityError `out-of-range`, `not-finite` (tolerance width)
 */
export function gaugeShares<Name extends string>(
  components: Readonly<Record<Name, Component>>,
  total: Component,
  toleranceWidth: number | null,
): Record<Name | 'total', Share> {
  if (toleranceWidth !== null) checkPositive(toleranceWidth, 'toleranceWidth');
  const all = { ...components, total } as Readonly<Record<Name | 'total', Component>>;
  const entries = Object.entries<Component>(all).map(([name, each]) => [
    name,
    share(each, total.variance, toleranceWidth),
  ]);
  return Object.fromEntries(entries) as Record<Name | 'total', Share>;
}

/**
 * Number of distinct categories, 1.41 sd of the parts / sd of the gauge, truncated and at least 1 (AIAG, "Measurement
 * Systems Analysis", 4th ed.; from memory). 1.41 as printed there, not the square root of 2.
 */
export function distinctCategories(partSd: number, gaugeSd: number): DistinctCategories {
  const raw = (1.41 * partSd) / gaugeSd;
  if (!Number.isFinite(raw)) return { raw: null, categories: null, rawSqrt2: null };
  return { raw, categories: Math.max(1, Math.floor(raw)), rawSqrt2: (Math.SQRT2 * partSd) / gaugeSd };
}

/** Bounds in percent of the study variation, from those of the gauge's share of the total variance (0 to 1). */
export function studyVariationBounds(gaugeShare: Interval | null): { gauge: Interval; part: Interval } | null {
  if (gaugeShare === null) return null;
  const percent = (fraction: number): number => 100 * Math.sqrt(fraction);
  return {
    gauge: { lower: percent(gaugeShare.lower), upper: percent(gaugeShare.upper) },
    part: { lower: percent(1 - gaugeShare.upper), upper: percent(1 - gaugeShare.lower) },
  };
}

function share({ variance, bounds }: Component, totalVariance: number, toleranceWidth: number | null): Share {
  const varianceBounds = { lower: Math.max(0, bounds.lower), upper: Math.max(0, bounds.upper) };
  const sd = Math.sqrt(variance);
  const sdBounds = { lower: Math.sqrt(varianceBounds.lower), upper: Math.sqrt(varianceBounds.upper) };
  const ofTolerance = (each: number): number => (600 * each) / (toleranceWidth ?? Number.NaN);
  return {
    variance,
    varianceBounds,
    sd,
    sdBounds,
    percentContribution: totalVariance === 0 ? null : (100 * variance) / totalVariance,
    percentStudyVariation: totalVariance === 0 ? null : 100 * Math.sqrt(variance / totalVariance),
    studyVariation: 6 * sd,
    percentTolerance: toleranceWidth === null ? null : ofTolerance(sd),
    percentToleranceBounds:
      toleranceWidth === null ? null : { lower: ofTolerance(sdBounds.lower), upper: ofTolerance(sdBounds.upper) },
  };
}
