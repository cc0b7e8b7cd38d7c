import { approximateLowestIndex, lowestIndex } from './capability-bounds.ts';
import { checkFinite, checkPositive, checkProbability, checkWhole } from '../checks.ts';
import { QualityError } from '../errors.ts';
import { noncentralTQuantile } from '../distributions/noncentral-t.ts';
import { normalQuantile } from '../distributions/normal.ts';
import { smallestWholeNear } from '../numeric/whole-search.ts';

/** The same question answered twice; pure numbers, null (undefined) when nothing answers it. */
export interface Both {
  /** From the noncentral t distribution. */
  readonly exact: number | null;
  /** From the normal approximation of Bissell. */
  readonly approximate: number | null;
}

/** Sizes are searched up to here. */
export const LARGEST_SAMPLE = 1_000_000;

/**
 * The smallest observed Ppk (or one-sided PPU, PPL) of a normal sample of n that shows, with the confidence, that the
 * true one is at least `wanted`. Exact: t/(3 sqrt n), t the noncentral t quantile with n - 1 degrees of freedom and
 * noncentrality 3 sqrt(n) wanted; the inverse of `lowestIndex`, whose sources hold. Approximate: the c for which c - z
 * sqrt(1/(9 n) + c^2/(2 (n - 1))) = wanted (Bissell, Applied Statistics 39 (1990) 331-340, solved for c); null where no
 * c does, for n up to 1 + z^2/2. From six values on the approximation asks for a little less than the exact bound does.
 *
 * @throws QualityError `not-finite`, `not-whole`, `out-of-range` (n below 2, confidence not above 0.5)
 */
export function observedNeeded(n: number, wanted: number, confidence = 0.95): Both {
  checkWhole(n, 'n', 2);
  checkPositive(wanted, 'wanted');
  checkOneSided(confidence);
  return {
    exact: exactNeeded(n, wanted, confidence),
    approximate: approximateNeeded(n, wanted, confidence),
  };
}

function exactNeeded(n: number, wanted: number, confidence: number): number {
  const scale = 3 * Math.sqrt(n);
  return noncentralTQuantile(confidence, n - 1, scale * wanted) / scale;
}

/** The larger root of (c - wanted)^2 = z^2 (1/(9 n) + c^2/(2 (n - 1))), which is the one above `wanted`. */
function approximateNeeded(n: number, wanted: number, confidence: number): number | null {
  const z = normalQuantile(1 - confidence, 'upper');
  const share = (z * z) / (2 * (n - 1));
  if (share >= 1) return null;
  return (wanted + Math.sqrt(share * wanted ** 2 + ((1 - share) * z * z) / (9 * n))) / (1 - share);
}

/**
 * The largest Ppk (or one-sided PPU, PPL) that a sample of n with the observed one shows with the confidence: its lower
 * bound (see `lowestIndex` and `approximateLowestIndex`).
 *
 * @throws QualityError `not-finite`, `not-whole`, `out-of-range` (n below 2, confidence not above 0.5)
 */
export function largestProvable(n: number, observed: number, confidence = 0.95): Both {
  checkWhole(n, 'n', 2);
  checkFinite(observed, 'observed');
  checkOneSided(confidence);
  const sample = { n, df: n - 1, confidence };
  return { exact: lowestIndex(observed, sample), approximate: approximateLowestIndex(observed, sample) };
}

/**
 * The smallest n at which the observed index shows `wanted`: null when it is not above `wanted`, which no n proves, or
 * when more than 1,000,000 values would be needed.
 *
 * @throws QualityError `not-finite`, `out-of-range` (confidence not above 0.5)
 */
export function sizeNeeded(observed: number, wanted: number, confidence = 0.95): Both {
  checkFinite(observed, 'observed');
  checkPositive(wanted, 'wanted');
  checkOneSided(confidence);
  if (observed <= wanted) return { exact: null, approximate: null };
  const smallest = (needed: (n: number) => number | null): number | null =>
    smallestWholeNear(2, LARGEST_SAMPLE, (n) => (needed(n) ?? Number.POSITIVE_INFINITY) <= observed);
  return {
    exact: smallest((n) => exactNeeded(n, wanted, confidence)),
    approximate: smallest((n) => approximateNeeded(n, wanted, confidence)),
  };
}

/** At 0.5 and below an index would be "shown" by an observed one that is below it. */
function checkOneSided(confidence: number): void {
  checkProbability(confidence, 'confidence');
  if (confidence <= 0.5) {
    throw new QualityError('out-of-range', 'confidence', `confidence is ${confidence}; above 0.5 and below 1 wanted`);
  }
}
