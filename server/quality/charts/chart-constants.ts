import { checkFinite, checkWhole } from '../checks.ts';
import { normalCdf } from '../distributions/normal.ts';
import { QualityError } from '../errors.ts';
import { gaussLegendre } from '../numeric/quadrature.ts';

/**
 * Factors of Shewhart charts for variables, subgroups of n values of a normal process, limits 3 standard errors from
 * the center line; pure numbers. Symbols as in the tables of factors of ISO 7870-2 and ASTM E2587.
 */
export interface ChartConstants {
  /** Mean of the range, in standard deviations of the process. */
  readonly d2: number;
  /** Standard deviation of the range, in standard deviations of the process. */
  readonly d3: number;
  /** Mean of the sample standard deviation (divisor n - 1), in standard deviations of the process. */
  readonly c4: number;
  /** Limits of the mean: given sigma; from the mean range; from the mean standard deviation. */
  readonly A: number;
  readonly A2: number;
  readonly A3: number;
  /**
   * Limits of the standard deviation from its mean (B3, B4) and from a given sigma (B5, B6); the lower ones not below
   * 0.
   */
  readonly B3: number;
  readonly B4: number;
  readonly B5: number;
  readonly B6: number;
  /** Limits of the range from a given sigma (D1, D2) and from its mean (D3, D4); the lower ones not below 0. */
  readonly D1: number;
  readonly D2: number;
  readonly D3: number;
  readonly D4: number;
  /** Limits of single values from the mean range of n values. */
  readonly E2: number;
}

/** Largest subgroup for which the range constants are computed; charts of the range are meant for about ten values. */
const LARGEST_SUBGROUP = 1_000_000;

/**
 * All factors for subgroups of n values, 2 to 1,000,000. From the definitions: A = 3/sqrt(n), A2 = A/d2, A3 = A/c4, B3,
 * B4 = 1 -/+ 3 sqrt(1 - c4^2)/c4, B5, B6 = c4 -/+ 3 sqrt(1 - c4^2), D1, D2 = d2 -/+ 3 d3, D3, D4 = 1 -/+ 3 d3/d2, E2 =
 * 3/d2 (NIST/SEMATECH e-Handbook, 6.3.2.1; Montgomery, "Introduction to Statistical Quality Control", 6th ed., sections
 * 6.2 to 6.4 and appendix VI).
 *
 * @throws QualityError `not-finite`, `not-whole`, `out-of-range` for n
 */
export function chartConstants(n: number): ChartConstants {
  const d = meanRange(n);
  const sdOfR = sdOfRange(n);
  const c = c4(n);
  const sdOfS = c5(n);
  const A = 3 / Math.sqrt(n);
  return {
    d2: d,
    d3: sdOfR,
    c4: c,
    A,
    A2: A / d,
    A3: A / c,
    B3: Math.max(0, 1 - (3 * sdOfS) / c),
    B4: 1 + (3 * sdOfS) / c,
    B5: Math.max(0, c - 3 * sdOfS),
    B6: c + 3 * sdOfS,
    D1: Math.max(0, d - 3 * sdOfR),
    D2: d + 3 * sdOfR,
    D3: Math.max(0, 1 - (3 * sdOfR) / d),
    D4: 1 + (3 * sdOfR) / d,
    E2: 3 / d,
  };
}

/**
 * E[s]/sigma of n normal values, s with divisor n - 1: sqrt(2/(n-1)) Gamma(n/2)/Gamma((n-1)/2) (NIST/SEMATECH
 * e-Handbook, 6.3.2.1). n need not be whole: a pooled standard deviation with
 * nu degrees of freedom has c4(nu + 1).
 *
 * @throws QualityError `not-finite`, `out-of-range` for n (above 1 wanted)
 */
export function c4(n: number): number {
  return Math.exp(logC4(n));
}

/**
 * sd(s)/sigma of n normal values, sqrt(1 - c4^2) (NIST/SEMATECH e-Handbook, 6.3.2.1), n as in `c4`. Not from that
 * difference, whose digits are gone for large n.
 *
 * @throws QualityError `not-finite`, `out-of-range` for n (above 1 wanted)
 */
export function c5(n: number): number {
  return Math.sqrt(-Math.expm1(2 * logC4(n)));
}

/**
 * E[R]/sigma of the range R of n normal values, 2 to 1,000,000 (Tippett, Biometrika 17 (1925) 364-387;
 * David & Nagaraja, "Order Statistics", 3rd ed., section 3.1).
 *
 * @throws QualityError `not-finite`, `not-whole`, `out-of-range` for n
 */
export function d2(n: number): number {
  return meanRange(n);
}

/**
 * sd(R)/sigma of the range R of n normal values, 2 to 1,000,000 (as `d2`; density of the range in David & Nagaraja,
 * "Order Statistics", 3rd ed., section 2.3).
 *
 * @throws QualityError `not-finite`, `not-whole`, `out-of-range` for n
 */
export function d3(n: number): number {
  return sdOfRange(n);
}

/**
 * ln c4 without cancellation. With x = (n-1)/2, c4 = Gamma(x + 1/2)/(Gamma(x) sqrt(x)). The logarithm has the
 * asymptotic series below (difference of two series of NIST DLMF 5.11.8, h = 1/2 and h = 0); small x are carried
 * upwards by Gamma(x + 1) = x Gamma(x) to where its terms are exact in double precision.
 */
function logC4(n: number): number {
  checkFinite(n, 'n');
  if (n <= 1) throw new QualityError('out-of-range', 'n', `n is ${n}; above 1 wanted`);
  let x = (n - 1) / 2;
  let carried = 0;
  if (x < SERIES_FROM) {
    const start = x;
    let product = 1;
    for (; x < SERIES_FROM; x += 1) product *= x / (x + 0.5);
    carried = Math.log(product * Math.sqrt(x / start));
  }
  const y = 1 / (x * x);
  return carried + (-1 / 8 + y * (1 / 192 + y * (-1 / 640 + y * (17 / 14336 + y * (-31 / 18432))))) / x;
}

const SERIES_FROM = 25;

function meanRange(n: number): number {
  return remembered(meanRanges, n, () => meanRangeIntegral(n));
}

function sdOfRange(n: number): number {
  return remembered(sdsOfRanges, n, () => Math.sqrt(rangeVariance(n, meanRange(n))));
}

const meanRanges = new Map<number, number>();
const sdsOfRanges = new Map<number, number>();

/** The integrals take milliseconds and are asked for again for every subgroup of one size. */
function remembered(known: Map<number, number>, n: number, compute: () => number): number {
  checkWhole(n, 'n', 2, LARGEST_SUBGROUP);
  const found = known.get(n);
  if (found !== undefined) return found;
  const value = compute();
  known.set(n, value);
  return value;
}

/**
 * E[R] = integral of 1 - Phi(x)^n - (1 - Phi(x))^n over the line, here twice the positive half. Beyond 13 the integrand
 * is below n times 6e-39.
 */
function meanRangeIntegral(n: number): number {
  const integrand = (x: number): number => {
    const above = normalCdf(-x);
    return -Math.expm1(n * Math.log1p(-above)) - above ** n;
  };
  return 2 * gaussLegendre(integrand, 0, 13, 13);
}

/**
 * Var R = integral of (w - E[R])^2 times the density of R over w. Taken about the mean, so that no digits cancel as
 * they do in E[R^2] - E[R]^2. Beyond w = 18 the range has a probability below n^2 times 3e-37.
 */
function rangeVariance(n: number, mean: number): number {
  return gaussLegendre((w) => (w - mean) ** 2 * rangeDensity(w, n), 0, 18, 14);
}

const MIDRANGE_STEP = 0.05;
const MIDRANGE_END = 6.5;

/**
 * Density of the range: n (n-1) times the integral of phi(a) phi(b) (Phi(b) - Phi(a))^(n-2) over the midpoint m = (a +
 * b)/2, b - a = w. The integrand is even in m, and smooth and decaying on the whole line, where the trapezoidal rule
 * converges geometrically (Trefethen & Weideman, SIAM Review 56 (2014) 385-458).
 */
function rangeDensity(w: number, n: number): number {
  let sum = 0;
  for (let i = 0; i * MIDRANGE_STEP <= MIDRANGE_END; i += 1) {
    const m = i * MIDRANGE_STEP;
    // The share of the process outside (a, b) from its two small tails keeps its digits, and so does its high power.
    const outside = normalCdf(m - w / 2) + normalCdf(-m - w / 2);
    const inside = outside < 1 ? Math.exp((n - 2) * Math.log1p(-outside)) : 0;
    sum += (i === 0 ? 0.5 : 1) * Math.exp(-m * m) * inside;
  }
  return (n * (n - 1) * Math.exp((-w * w) / 4) * sum * MIDRANGE_STEP) / Math.PI;
}
