import { checkRange } from '../checks.ts';
import { QualityError } from '../errors.ts';

/** P-values of tests made together, each adjusted for their number; null is an undefined test. */
export interface AdjustedFamily {
  /** Tests that have a p-value; undefined ones do not count. */
  readonly tests: number;
  /** Holm: comparing these with alpha keeps the chance of any false alarm at alpha or below. */
  readonly holm: readonly (number | null)[];
  /** Benjamini and Hochberg: comparing these with q keeps the expected share of false alarms among the alarms at q. */
  readonly benjaminiHochberg: readonly (number | null)[];
}

/**
 * Adjusts a family of p-values, such as one test at every point and condition, in the order given:
 * - Holm, "A simple sequentially rejective multiple test procedure", Scandinavian Journal of Statistics 6 (1979) 65-70:
 *   the ith smallest of m times m - i + 1, never below a smaller one's, 1 at most; for tests dependent in any way.
 * - Benjamini & Hochberg, "Controlling the false discovery rate", Journal of the Royal Statistical Society B 57 (1995)
 *   289-300: the ith smallest times m / i, never above a larger one's; for independent or positively dependent tests.
 *
 * @throws QualityError `empty` (no entries), `not-finite`, `out-of-range` (a p outside 0 to 1)
 */
export function adjustFamily(pValues: readonly (number | null)[], key = 'pValues'): AdjustedFamily {
  if (pValues.length === 0) throw new QualityError('empty', key, `${key} is empty; at least 1 wanted`);
  for (const [i, p] of pValues.entries()) if (p !== null) checkRange(p, `${key}[${i}]`, 0, 1);
  const ascending = pValues.flatMap((p, at) => (p === null ? [] : [{ p, at }])).sort((a, b) => a.p - b.p);
  const m = ascending.length;
  const holm: (number | null)[] = pValues.map(() => null);
  const benjaminiHochberg: (number | null)[] = pValues.map(() => null);
  let largest = 0;
  for (const [i, { p, at }] of ascending.entries()) {
    largest = Math.max(largest, Math.min(1, (m - i) * p));
    holm[at] = largest;
  }
  let smallest = 1;
  for (const [i, { p, at }] of [...ascending.entries()].reverse()) {
    smallest = Math.min(smallest, (m / (i + 1)) * p);
    benjaminiHochberg[at] = smallest;
  }
  return { tests: m, holm, benjaminiHochberg };
}
