import { lowestIndex } from '../../quality/capability/capability-bounds.ts';
import { individualsCapability } from '../../quality/capability/capability.ts';
import { toleranceFactors, toleranceLimits } from '../../quality/capability/tolerance-interval.ts';
import type { ToleranceFactors } from '../../quality/capability/tolerance-interval.ts';
import { mean, moments, sampleSd } from '../../quality/moments.ts';
import { shapiroWilk } from '../../quality/normality/shapiro-wilk.ts';
import { adjustFamily } from '../../quality/normality/test-family.ts';
import type { AuditReading, Cell, EvaluationInput } from './contract.ts';

const CONFIDENCE = 0.95;
const COVERAGE = 0.99;

/** The readings of one point in one stage; one or more. */
export interface Place {
  readonly stage: number;
  readonly step: string;
  readonly readings: readonly AuditReading[];
  /** Each error over what was allowed to its part: limits move with a part's temperature, and are -1 and 1 here. */
  readonly shares: readonly number[];
}

/** The readings by stage, then by point; places without a reading are left out. */
export function placesOf({ stages, points, readings }: EvaluationInput): Place[] {
  return stages.flatMap(({ stage }) => {
    const inStage = readings.filter((reading) => reading.stage === stage);
    return points.flatMap(({ step }) => {
      const here = inStage.filter((reading) => reading.step === step);
      if (here.length === 0) return [];
      return [{ stage, step, readings: here, shares: here.map(({ errorKpa, allowedKpa }) => errorKpa / allowedKpa) }];
    });
  });
}

/**
 * Every point of every stage: mean and spread of the errors in kPa, and Ppk with its exact lower bound (`lowestIndex`) of
 * the shares. Readings of parts that failed count: what is left out flatters. The shares are tested for normality (Shapiro &
 * Wilk), p adjusted for the number of places (Holm).
 */
export function cellsOf(places: readonly Place[]): Cell[] {
  if (places.length === 0) return [];
  const factors = new Map<number, ToleranceFactors>();
  // The same for all places with as many parts, and by far the dearest of what is computed here.
  const factorsOf = (n: number): ToleranceFactors => {
    const known = factors.get(n) ?? toleranceFactors(n, COVERAGE, CONFIDENCE);
    factors.set(n, known);
    return known;
  };
  const tested = places.map(({ shares }) => shapiroWilk(shares).p);
  const { holm } = adjustFamily(tested);
  return places.map((place, index) => ({
    ...cellOf(place),
    normality: { p: tested[index] ?? null, adjusted: holm[index] ?? null },
    tolerance: toleranceOf(place, factorsOf(place.readings.length)),
  }));
}

function cellOf({ stage, step, readings, shares }: Place): Omit<Cell, 'normality' | 'tolerance'> {
  const errors = moments(readings.map(({ errorKpa }) => errorKpa));
  const ppk = individualsCapability(shares, { lsl: -1, usl: 1 }).overall?.indices.nearer ?? null;
  const worst = readings.reduce((nearest, each) => (marginOf(each) < marginOf(nearest) ? each : nearest));
  return {
    stage,
    step,
    pointKpaAbs: mean(readings.map(({ pointKpaAbs }) => pointKpaAbs)),
    n: errors.n,
    meanKpa: errors.mean,
    sdKpa: sampleSd(errors),
    allowedKpa: mean(readings.map(({ allowedKpa }) => allowedKpa)),
    ppk,
    // What `overallBounds` gives for the nearer side, without the other bounds, which nobody asked for.
    atLeast: ppk === null ? null : lowestIndex(ppk, { n: errors.n, df: errors.n - 1, confidence: CONFIDENCE }),
    margin: marginOf(worst),
    worstSerial: worst.serial,
  };
}

/** 1 centred, 0 on the limit, negative outside. */
const marginOf = ({ errorKpa, allowedKpa }: AuditReading): number => 1 - Math.abs(errorKpa) / allowedKpa;

function toleranceOf({ readings }: Place, factors: ToleranceFactors): Cell['tolerance'] {
  const errors = moments(readings.map(({ errorKpa }) => errorKpa));
  const { twoSidedLower, twoSidedUpper } = toleranceLimits(factors, errors.mean, sampleSd(errors));
  if (twoSidedLower === null || twoSidedUpper === null) return null;
  return { lowKpa: twoSidedLower, highKpa: twoSidedUpper };
}

/** The cell with the smallest Ppk; the one with the smallest margin where none has a Ppk; null without cells. */
export function weakestOf(cells: readonly Cell[]): Cell | null {
  const indexed = cells.flatMap((cell) => (cell.ppk === null ? [] : [{ cell, by: cell.ppk }]));
  const ranked = indexed.length > 0 ? indexed : cells.map((cell) => ({ cell, by: cell.margin }));
  const [first, ...others] = ranked;
  if (first === undefined) return null;
  return others.reduce((least, each) => (each.by < least.by ? each : least), first).cell;
}
