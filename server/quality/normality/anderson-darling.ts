import erfc from '@stdlib/math-base-special-erfc';
import type { Values } from '../checks.ts';
import { sampleOf } from '../description/sample.ts';
import type { Sample } from '../description/sample.ts';

/** Result of the test of Anderson and Darling; all null where it is undefined. */
export interface AndersonDarling {
  /** A^2: weighted squared distance between the distribution of the values and the normal one through them. */
  readonly a2: number | null;
  /** A^2 (1 + 0.75/n + 2.25/n^2), which `p` is read for. */
  readonly a2Star: number | null;
  /** Probability of an A^2 as large or larger from normal values; meant for 8 values and more. */
  readonly p: number | null;
}

const UNDEFINED: AndersonDarling = { a2: null, a2Star: null, p: null };
const LEAST = 3;

/**
 * Test of normality of Anderson and Darling with mean and standard deviation (n - 1) taken from the values: A^2 and its
 * significance by D'Agostino & Stephens (eds.), "Goodness-of-Fit Techniques" (1986), section 4.8.5, Table 4.9, case 3.
 * Undefined without spread and below 3 values. Order, shift and scale of the values change nothing.
 *
 * @throws QualityError `empty`, `not-finite`, `out-of-range` (a range beyond the largest number)
 */
export function andersonDarling(values: Values): AndersonDarling {
  return andersonDarlingOf(sampleOf(values));
}

/** The same for values that are sorted and centred already. */
export function andersonDarlingOf({ n, deviations, squares }: Sample): AndersonDarling {
  if (n < LEAST || squares === 0) return UNDEFINED;
  const perSd = 1 / Math.sqrt(squares / (n - 1));
  // The smaller tail t of each value gives both logarithms: log t, and log(1 - t) without a difference.
  let sum = 0;
  let lost = 0;
  for (let i = 0; i < n; i += 1) {
    const z = (deviations[i] ?? 0) * perSd;
    const size = Math.abs(z);
    const tail = 0.5 * erfc(size * Math.SQRT1_2);
    const logTail = size < FAR ? Math.log(tail) : farLogTail(size);
    const logRest = Math.log1p(-tail);
    const [lower, upper] = z < 0 ? [logTail, logRest] : [logRest, logTail];
    const term = (2 * i + 1) * lower + (2 * (n - i) - 1) * upper;
    const next = sum + term;
    lost += Math.abs(sum) >= Math.abs(term) ? sum - next + term : term - next + sum;
    sum = next;
  }
  const a2 = -n - (sum + lost) / n;
  const a2Star = a2 * (1 + 0.75 / n + 2.25 / (n * n));
  return { a2, a2Star, p: significance(a2Star) };
}

/** Standard deviations from the mean where the tail, about 1e-268, comes near the smallest number. */
const FAR = 35;

/** log P(Z > z) far out (Abramowitz & Stegun, "Handbook of Mathematical Functions", 26.2.12). */
function farLogTail(z: number): number {
  const q = 1 / (z * z);
  return -0.5 * z * z - Math.log(z * Math.sqrt(2 * Math.PI)) + Math.log1p(-q * (1 - q * (3 - 15 * q)));
}

/** D'Agostino & Stephens 1986, Table 4.9; what is beyond its formulas is the value that the last one ends with. */
function significance(a: number): number {
  if (a < 0.2) return -Math.expm1(-13.436 + 101.14 * a - 223.73 * a * a);
  if (a < 0.34) return -Math.expm1(-8.318 + 42.796 * a - 59.938 * a * a);
  if (a < 0.6) return Math.exp(0.9177 - 4.279 * a - 1.38 * a * a);
  if (a < 10) return Math.exp(1.2937 - 5.709 * a + 0.0186 * a * a);
  return 3.7e-24;
}
