import { productRest } from '../numeric/product-rest.ts';
import { adaptiveGaussLegendre } from '../numeric/quadrature.ts';
import { lowerTail } from './normal.ts';
import { logExcess, stirlingError } from './saddle-point.ts';

/** Beyond a fall by this much in the logarithm, nothing of the integrand counts any more in the digits of a double. */
const FALL = 40;

/**
 * Where Phi has its step: between these arguments it has to be followed in short panels however wide the rest is. Below the
 * lowest, next to a peak on the step, nothing is left of it.
 */
const STEP = [8, 4, 0, -4, -8];

/** Logarithm of what is 0 among the doubles, with room for a wide integral. */
const NOTHING = -1500;

/**
 * P(Z > x S - ncp), the upper tail at x of the noncentral t distribution, for x other than 0: the integral over s of
 * Phi(ncp - x s) times the density of S = sqrt(chi-square/df).
 *
 * The logarithm of the integrand is concave in s, so there is one peak. Everything is counted from there (s = peak e^v), which
 * keeps the digits that ncp - x s and the logarithms would lose to cancellation when df or ncp are large; the ends of the
 * integral are where the integrand has fallen to nothing.
 */
export function chiMixture(x: number, df: number, ncp: number): number {
  const { peak, width } = findPeak(x, df, ncp);
  const product = x * peak;
  const zAtPeak = ncp - product - productRest(x, peak, product);
  const offPeak = (1 - peak) * (1 + peak);
  // The density of ln S where s = peak: sqrt(df/pi) exp(-df (s^2 - 1 - ln s^2)/2), with Stirling's correction.
  const fall = peak > 0.5 ? logExcess(-offPeak) : -offPeak - 2 * Math.log(peak);
  const front = -stirlingError(df / 2) - 0.5 * df * fall;
  const top = logPhi(zAtPeak);
  if (!(front + top > NOTHING)) return 0;

  const density = (v: number, e: number): number => df * (offPeak * e - peak * peak * 0.5 * e * e - expExcess(v, e));
  const fallAt = (v: number): number => {
    const e = Math.expm1(v);
    return top - logPhi(zAtPeak - product * e) - density(v, e);
  };
  const integrand = (v: number): number => {
    const e = Math.expm1(v);
    const phi = lowerTail(zAtPeak - product * e);
    return phi === 0 ? 0 : phi * Math.exp(density(v, e));
  };
  const low = -endOfPeak((distance) => fallAt(-distance), width);
  const high = endOfPeak(fallAt, width);
  const step = STEP.map((z) => Math.log1p((zAtPeak - z) / product)).filter((v) => v > low && v < high);
  const edges = [low, 0.4 * low, 0, 0.4 * high, high, ...step].sort((a, b) => a - b);
  return Math.sqrt(df / Math.PI) * Math.exp(front) * adaptiveGaussLegendre(integrand, edges);
}

/**
 * Where in s the integrand over ln s has its peak, and how wide the peak is in ln s: the zero of
 * -x h(ncp - x s) + df/s - df s, which falls throughout (h is the density over the lower tail of the normal distribution).
 */
function findPeak(x: number, df: number, ncp: number): { readonly peak: number; readonly width: number } {
  // A first guess takes h(z) for -z, as it is nearly in the far tail.
  const reach = x * ncp;
  const root = Math.hypot(reach, 2 * Math.sqrt(df) * Math.hypot(x, Math.sqrt(df)));
  const guess = reach > 0 ? (reach + root) / (2 * (x * x + df)) : (2 * df) / (root - reach);
  let peak = x > 0 ? Math.min(1, guess) : 1;
  let low = 0;
  let high = Number.POSITIVE_INFINITY;
  for (let steps = 0; ; steps += 1) {
    const z = ncp - x * peak;
    const h = hazard(z);
    const slope = -x * h + df / peak - df * peak;
    const curvature = x * x * h * (z + h) + df / (peak * peak) + df;
    const width = 1 / (peak * Math.sqrt(curvature));
    const step = slope / curvature;
    // The peak need not be met exactly: the integral is counted from wherever this ends.
    if (Math.abs(step) < 0.02 * width * peak || steps === 200) return { peak, width };
    if (step > 0) low = peak;
    else high = peak;
    const next = peak + step;
    if (next > low && next < high) peak = next;
    else peak = high === Number.POSITIVE_INFINITY ? 2 * peak : low === 0 ? 0.5 * high : 0.5 * (low + high);
  }
}

/** How far from the peak the integrand has fallen by `FALL`, or somewhat further. */
function endOfPeak(fall: (distance: number) => number, width: number): number {
  let inner = 0;
  let outer = 8 * width;
  // A width that has left the numbers is of a place that no probability is asked for.
  if (!(outer > 0 && outer < Number.MAX_VALUE)) return 0;
  while (fall(outer) < FALL) [inner, outer] = [outer, 2 * outer];
  for (let steps = 0; steps < 3; steps += 1) {
    const middle = 0.5 * (inner + outer);
    if (fall(middle) < FALL) inner = middle;
    else outer = middle;
  }
  return outer;
}

/** e - v for e = exp(v) - 1, by its series where the difference would lose digits. */
function expExcess(v: number, e: number): number {
  if (Math.abs(v) > 0.1) return e - v;
  let sum = 0;
  for (let k = 11; k >= 2; k -= 1) sum = (sum * v + 1) / k;
  return sum * v * v;
}

const LARGEST_LOSS = 37;

/** Density of the normal distribution over its lower tail; far out by the asymptotic series A&S 26.2.12. */
function hazard(z: number): number {
  if (z < -LARGEST_LOSS) return -z - 1 / z;
  return Math.exp(-0.5 * z * z) / (Math.sqrt(2 * Math.PI) * lowerTail(z));
}

/** Logarithm of the lower tail of the normal distribution. */
function logPhi(z: number): number {
  return z < -LARGEST_LOSS ? -0.5 * z * z - Math.log(-z * Math.sqrt(2 * Math.PI)) : Math.log(lowerTail(z));
}
