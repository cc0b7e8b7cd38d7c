import { QualityError } from '../errors.ts';

const MOST_TERMS = 10_000_000;
const TINY = 1e-300;

/**
 * The continued fraction b(0) + a(1)/(b(1) + a(2)/(b(2) + ...)) from the front, until a term changes it by no more than a
 * rounding: the method of Lentz as modified by Thompson & Barnett, Journal of Computational Physics 64 (1986) 490-509.
 *
 * @throws QualityError `not-converged`
 */
export function continuedFraction(a: (n: number) => number, b: (n: number) => number): number {
  let value = b(0) || TINY;
  let c = value;
  let d = 0;
  for (let n = 1; n < MOST_TERMS; n += 1) {
    const an = a(n);
    const bn = b(n);
    d = 1 / (bn + an * d || TINY);
    c = bn + an / c || TINY;
    const change = c * d;
    value *= change;
    if (Math.abs(change - 1) <= Number.EPSILON) return value;
  }
  throw new QualityError('not-converged', 'n', `a continued fraction has not settled after ${MOST_TERMS} terms`);
}
