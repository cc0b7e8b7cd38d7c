import { checkProbability, checkRange, checkWhole } from '../checks.ts';
import { QualityError } from '../errors.ts';
import { checkBadOfLot } from './lot-checks.ts';
import { TIE, acceptanceInLot } from './operating-characteristic.ts';
import { smallestWhole } from '../numeric/whole-search.ts';

/** A sample of which no part may be bad. */
export interface ZeroAcceptance {
  readonly n: number;
  /** Probability that a lot with the stated number of bad parts shows none in the sample. */
  readonly missed: number;
  /** The same with one part less in the sample: above the risk. */
  readonly missedWithOneLess: number;
}

/**
 * Smallest sample of a lot of `lot` parts that shows at least one bad part with probability 1 - `beta` or more when `bad`
 * of them are bad: smallest n with C(N - D, n)/C(N, n) <= beta (hypergeometric; Schilling & Neubauer, "Acceptance Sampling
 * in Quality Control", 2nd ed., chapter 17, compliance sampling). Equality counts as met.
 *
 * @param beta risk of missing it, 0 or more and below 1; 0 asks for certainty and gives N - D + 1
 * @throws QualityError `not-whole`, `not-finite`, `out-of-range`, `beyond-lot`, `no-solution` (no bad part to be found)
 */
export function zeroAcceptance(
  lot: number,
  bad: number,
  beta: number,
  keys = { lot: 'lot', bad: 'bad' },
): ZeroAcceptance {
  checkWhole(lot, keys.lot, 1);
  checkBadOfLot(lot, bad, keys.bad);
  checkRisk(beta);
  if (bad === 0) {
    const message = `${keys.bad} is 0; no sample, however large, shows a bad part in a clean lot`;
    throw new QualityError('no-solution', keys.bad, message);
  }
  const missed = (n: number): number => (n === 0 ? 1 : acceptanceInLot({ n, c: 0 }, lot, bad));
  const n = smallestWhole(1, lot - bad + 1, (sample) => missed(sample) <= beta * (1 + TIE));
  // A sample of N - D + 1 parts cannot miss, so there is always one.
  const found = n ?? lot - bad + 1;
  return { n: found, missed: missed(found), missedWithOneLess: missed(found - 1) };
}

/**
 * The same for a process with fraction `p` bad instead of a lot: smallest n with (1 - p)^n <= beta, n = ln beta / ln(1 - p)
 * rounded up (binomial). Never smaller than the sample of any lot with that fraction.
 *
 * @param beta above 0 and below 1
 * @throws QualityError `not-finite`, `out-of-range`
 */
export function zeroAcceptanceOfProcess(p: number, beta: number): ZeroAcceptance {
  checkRange(p, 'p', 0, 1);
  checkProbability(beta, 'beta');
  if (p === 0) throw new QualityError('no-solution', 'p', 'p is 0; no sample, however large, shows a bad part');
  const missed = (n: number): number => (n === 0 ? 1 : Math.exp(n * Math.log1p(-p)));
  const near = Math.max(1, Math.ceil(Math.log(beta) / Math.log1p(-p)));
  // The quotient of the logarithms may come out just above a whole number.
  const n = near > 1 && missed(near - 1) <= beta * (1 + TIE) ? near - 1 : near;
  return { n, missed: missed(n), missedWithOneLess: missed(n - 1) };
}

function checkRisk(beta: number): void {
  checkRange(beta, 'beta', 0, 1);
  if (beta === 1) throw new QualityError('out-of-range', 'beta', 'beta is 1; below 1 wanted');
}
