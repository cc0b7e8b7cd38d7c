import { checkProbability, checkRange } from '../checks.ts';
import { QualityError } from '../errors.ts';
import { checkSampleOfLot } from './lot-checks.ts';
import { TIE, acceptance, acceptanceInLot } from './operating-characteristic.ts';
import type { AttributesPlan, ProcessModel } from './operating-characteristic.ts';
import { smallestWholeNear } from '../numeric/whole-search.ts';

/** What is promised to both sides. */
export interface TwoPoints {
  /** Fraction bad that is to be accepted with probability 1 - `alpha` or more, 0 or more. */
  readonly aql: number;
  /** Producer's risk. */
  readonly alpha: number;
  /** Fraction bad that is to be accepted with probability `beta` or less, above `aql`, 1 or less. */
  readonly ltpd: number;
  /** Consumer's risk. */
  readonly beta: number;
}

/** A plan through two points, with what it really does there. */
export interface TwoPointPlan extends AttributesPlan {
  readonly atAql: number;
  readonly atLtpd: number;
}

/** No plan with a larger sample is looked for. */
const MOST_PARTS = 10_000_000;

/**
 * The plan with the smallest sample that keeps both promises: Pa(aql) >= 1 - alpha and Pa(ltpd) <= beta (Schilling &
 * Neubauer, "Acceptance Sampling in Quality Control", 2nd ed., chapter 5; Hailey, "Minimum sample size single sampling
 * plans", Journal of Quality Technology 12 (1980) 230-235). Equality counts as met.
 *
 * For each c the samples that keep the consumer's promise begin at some n, which grows with c, so the first c for which
 * that n also keeps the producer's promise gives the smallest sample.
 *
 * @throws QualityError `not-finite`, `out-of-range`, `crossed-limits` (`aql` not below `ltpd`), `no-solution` (more than ten
 *   million parts)
 */
export function twoPointPlan(points: TwoPoints, model: ProcessModel): TwoPointPlan {
  checkPoints(points);
  const { aql, alpha, ltpd, beta } = points;
  const keepsAql = (n: number, c: number): boolean => acceptance({ n, c }, aql, model, 'upper') <= alpha * (1 + TIE);
  /** Smallest sample that keeps the consumer's promise with `c`; null when it is too large. */
  const fewest = (c: number): number | null =>
    smallestWholeNear(1, MOST_PARTS, (n) => acceptance({ n, c }, ltpd, model) <= beta * (1 + TIE));

  for (let c = firstPossible(fewest, keepsAql); ; c += 1) {
    const n = fewest(c);
    if (n === null) throw tooMany(points);
    if (keepsAql(n, c)) {
      return { n, c, atAql: acceptance({ n, c }, aql, model), atLtpd: acceptance({ n, c }, ltpd, model) };
    }
  }
}

/**
 * A c below which none can do, found without trying each. If n were not whole, the room between the smallest sample for
 * the consumer and the largest for the producer would only grow with c. Whole numbers hide less than one part at each
 * end: if even one part less than the smallest sample breaks the producer's promise, there is no room at this c, nor at
 * any below.
 */
function firstPossible(fewest: (c: number) => number | null, keepsAql: (n: number, c: number) => boolean): number {
  const mayDo = (c: number): boolean => {
    const n = fewest(c);
    return n === null || n === 1 || keepsAql(n - 1, c);
  };
  return smallestWholeNear(0, MOST_PARTS, mayDo) ?? 0;
}

/** Acceptance numbers of one lot are tried one by one; a plan that needs more is no plan anybody would run. */
const MOST_ACCEPTED = 300;

/** A plan through two points of one lot. */
export interface LotTwoPointPlan extends TwoPointPlan {
  /** Most bad parts with which the lot is as good as `aql` or better. */
  readonly badAtAql: number;
  /** Fewest bad parts with which it is as bad as `ltpd` or worse. */
  readonly badAtLtpd: number;
}

/**
 * The same for one lot of `lot` parts (hypergeometric). `aql` times `lot` is rounded down to whole bad parts and `ltpd`
 * times `lot` up: every lot as good as `aql` or better keeps the first promise and every lot as bad as `ltpd` or worse the
 * second.
 *
 * @throws QualityError as `twoPointPlan`, and `crossed-limits` when no bad part lies between the two points
 */
export function twoPointPlanOfLot(points: TwoPoints, lot: number): LotTwoPointPlan {
  checkPoints(points);
  checkSampleOfLot(lot, 1);
  const badAtAql = Math.floor(points.aql * lot * (1 + TIE));
  const badAtLtpd = Math.ceil(points.ltpd * lot * (1 - TIE));
  if (badAtAql >= badAtLtpd) {
    throw new QualityError('crossed-limits', 'aql', `in a lot of ${lot}, aql and ltpd are both ${badAtAql} bad parts`);
  }
  let from = 1;
  for (let c = 0; c <= MOST_ACCEPTED; c += 1) {
    const pa = (n: number, bad: number): number => acceptanceInLot({ n, c }, lot, bad);
    const n = smallestWholeNear(from, lot, (sample) => pa(sample, badAtLtpd) <= points.beta * (1 + TIE));
    // The whole lot with c of `badAtAql` tells the two apart for certain; there is always a plan up to there.
    if (n === null) throw tooMany(points);
    const atAql = pa(n, badAtAql);
    if (atAql >= (1 - points.alpha) * (1 - TIE)) {
      return { n, c, atAql, atLtpd: pa(n, badAtLtpd), badAtAql, badAtLtpd };
    }
    from = n;
  }
  throw new QualityError(
    'no-solution',
    'ltpd',
    `no plan with up to ${MOST_ACCEPTED} bad accepted tells ${points.aql} from ${points.ltpd} at these risks`,
  );
}

function checkPoints({ aql, alpha, ltpd, beta }: TwoPoints): void {
  checkRange(aql, 'aql', 0, 1);
  checkRange(ltpd, 'ltpd', 0, 1);
  checkProbability(alpha, 'alpha');
  checkProbability(beta, 'beta');
  if (aql >= ltpd) throw new QualityError('crossed-limits', 'aql', `aql ${aql} is not below ltpd ${ltpd}`);
}

function tooMany({ aql, ltpd }: TwoPoints): QualityError {
  const message = `no plan of up to ${MOST_PARTS} parts tells ${aql} from ${ltpd} at these risks`;
  return new QualityError('no-solution', 'ltpd', message);
}
