import type { Values } from '../checks.ts';
import { normalCdf, normalQuantile } from '../distributions/normal.ts';
import { compensatedSum } from '../moments.ts';
import { sampleOf } from '../description/sample.ts';
import type { Sample } from '../description/sample.ts';

/** Result of the test of Shapiro and Wilk; both null where it is undefined. */
export interface ShapiroWilk {
  /** How well the sorted values lie on the line of a normal distribution; 1 is perfect. */
  readonly w: number | null;
  /** Probability of a w as small or smaller from normal values. */
  readonly p: number | null;
}

/** The numbers of values that the approximation was made for. */
export const SHAPIRO_WILK_N = { least: 3, most: 5000 } as const;

const UNDEFINED: ShapiroWilk = { w: null, p: null };

/**
 * Test of normality of Shapiro and Wilk (Biometrika 52 (1965) 591-611) by the approximation of Royston, algorithm AS R94,
 * "A remark on algorithm AS 181: the W-test for normality", Applied Statistics 44 (1995) 547-551. Undefined without spread,
 * below 3 and above 5000 values. Order, shift and positive scale of the values change nothing.
 *
 * @throws QualityError `empty`, `not-finite`, `out-of-range` (a range beyond the largest number)
 */
export function shapiroWilk(values: Values): ShapiroWilk {
  return shapiroWilkOf(sampleOf(values));
}

/** The same for values that are sorted and centred already. */
export function shapiroWilkOf({ n, deviations, squares }: Sample): ShapiroWilk {
  if (n < SHAPIRO_WILK_N.least || n > SHAPIRO_WILK_N.most || squares === 0) return UNDEFINED;
  const weights = weightsOf(n);
  const weighted = compensatedSum(weights.length, (i) => {
    return (weights[i] ?? 0) * ((deviations[n - 1 - i] ?? 0) - (deviations[i] ?? 0));
  });
  const weightSquares = 2 * compensatedSum(weights.length, (i) => (weights[i] ?? 0) ** 2);
  // 1 - w as a difference of squares: for nearly straight data w itself has no digits left for it.
  const root = Math.sqrt(weightSquares * squares);
  const lack = Math.max(0, ((root - weighted) * (root + weighted)) / (weightSquares * squares));
  return { w: 1 - lack, p: probabilityOf(n, lack) };
}

/** Polynomial, constant first. */
type Polynomial = readonly number[];

// AS R94, DATA statements C1 to C6 and G.
const LAST_WEIGHT: Polynomial = [0, 0.221157, -0.147981, -2.07119, 4.434685, -2.706056];
const LAST_BUT_ONE_WEIGHT: Polynomial = [0, 0.042981, -0.293762, -1.752461, 5.682633, -3.582633];
const SMALL_MEAN: Polynomial = [0.544, -0.39978, 0.025054, -6.714e-4];
const SMALL_LOG_SD: Polynomial = [1.3822, -0.77857, 0.062767, -0.0020322];
const LARGE_MEAN: Polynomial = [-1.5861, -0.31082, -0.083751, 0.0038915];
const LARGE_LOG_SD: Polynomial = [-0.4803, -0.082676, 0.0030302];
const SMALL_BOUND: Polynomial = [-2.273, 0.459];
/** Largest n of the transformation for few values. */
const SMALL = 11;

/** Weights of the largest value, the next and so on to the middle; those of the smallest are their negatives. */
function weightsOf(n: number): Float64Array {
  const half = n >> 1;
  if (n === 3) return Float64Array.of(Math.SQRT1_2);
  // Expected normal scores of Blom, largest first.
  const weights = Float64Array.from({ length: half }, (_, i) => normalQuantile((i + 0.625) / (n + 0.25), 'upper'));
  const squares = 2 * compensatedSum(half, (i) => (weights[i] ?? 0) ** 2);
  const [m1 = 0, m2 = 0] = weights;
  const u = 1 / Math.sqrt(n);
  const a1 = polynomial(LAST_WEIGHT, u) + m1 / Math.sqrt(squares);
  if (n <= 5) {
    const divisor = Math.sqrt((squares - 2 * m1 * m1) / (1 - 2 * a1 * a1));
    return weights.map((m, i) => (i === 0 ? a1 : m / divisor));
  }
  const a2 = polynomial(LAST_BUT_ONE_WEIGHT, u) + m2 / Math.sqrt(squares);
  const divisor = Math.sqrt((squares - 2 * m1 * m1 - 2 * m2 * m2) / (1 - 2 * a1 * a1 - 2 * a2 * a2));
  return weights.map((m, i) => (i === 0 ? a1 : i === 1 ? a2 : m / divisor));
}

/** P(W <= w) with lack = 1 - w. */
function probabilityOf(n: number, lack: number): number {
  if (n === 3) {
    // Exact for three values (Shapiro & Wilk 1965, corollary 4): w is 3/4 at least.
    return Math.min(1, Math.max(0, (6 / Math.PI) * (Math.asin(Math.sqrt(1 - lack)) - Math.PI / 3)));
  }
  if (lack === 0) return 1;
  const logN = Math.log(n);
  const [y, mean, sd] =
    n <= SMALL
      ? [
          // The bound exceeds every log(1 - w) that these weights allow.
          -Math.log(polynomial(SMALL_BOUND, n) - Math.log(lack)),
          polynomial(SMALL_MEAN, n),
          Math.exp(polynomial(SMALL_LOG_SD, n)),
        ]
      : [Math.log(lack), polynomial(LARGE_MEAN, logN), Math.exp(polynomial(LARGE_LOG_SD, logN))];
  return normalCdf((y - mean) / sd, 'upper');
}

function polynomial(coefficients: Polynomial, x: number): number {
  return coefficients.reduceRight((sum, each) => sum * x + each, 0);
}
