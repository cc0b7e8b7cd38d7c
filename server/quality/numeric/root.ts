import { QualityError } from '../errors.ts';

const MOST_STEPS = 3000;

/**
 * The x between `low` and `high` at which `f` passes through zero, by the bracketing method of Brent, "Algorithms for
 * Minimization without Derivatives" (1973), section 4.6: inverse quadratic interpolation, else secant, else halving. The
 * bracket never opens, so any continuous function whose two ends differ in sign has its answer.
 *
 * @param relativeTolerance of x; the answer is within this share of its size (or of the smallest normal number) of the root
 * @throws QualityError `no-solution` (the ends do not differ in sign, or `f` is not a number there), `not-converged`
 */
export function findRoot(f: (x: number) => number, low: number, high: number, relativeTolerance = 1e-15): number {
  let a = low;
  let b = high;
  let fa = f(a);
  let fb = f(b);
  if (fa === 0) return a;
  if (fb === 0) return b;
  if (Number.isNaN(fa) || Number.isNaN(fb) || fa > 0 === fb > 0) {
    throw new QualityError('no-solution', 'low', `no sign change between ${low} and ${high}: ${fa} and ${fb}`);
  }
  let c = a;
  let fc = fa;
  let step = b - a;
  let before = step;
  for (let steps = 0; steps < MOST_STEPS; steps += 1) {
    if (Math.abs(fc) < Math.abs(fb)) {
      [a, b, c] = [b, c, b];
      [fa, fb, fc] = [fb, fc, fb];
    }
    const smallest = 2 * Number.EPSILON * Math.abs(b) + 0.5 * relativeTolerance * Math.abs(b) + Number.MIN_VALUE;
    const half = 0.5 * (c - b);
    if (Math.abs(half) <= smallest || fb === 0) return b;
    const next = Math.abs(before) >= smallest && Math.abs(fa) > Math.abs(fb) ? interpolate(a, b, c, fa, fb, fc) : half;
    // An interpolated step that leaves the bracket, or does not shrink fast enough, gives way to halving.
    const within =
      next * Math.sign(half) > 0 && Math.abs(next) < Math.min(1.5 * Math.abs(half), 0.5 * Math.abs(before));
    [before, step] = within ? [step, next] : [half, half];
    a = b;
    fa = fb;
    b += Math.abs(step) > smallest ? step : Math.sign(half) * smallest;
    fb = f(b);
    if (Number.isNaN(fb)) throw new QualityError('no-solution', 'low', `the function is not a number at ${b}`);
    if (fb > 0 === fc > 0) {
      c = a;
      fc = fa;
      step = b - a;
      before = step;
    }
  }
  throw new QualityError('not-converged', 'low', `no root found between ${low} and ${high} in ${MOST_STEPS} steps`);
}

/** Step from b to the estimated root through two or three points. */
function interpolate(a: number, b: number, c: number, fa: number, fb: number, fc: number): number {
  const s = fb / fa;
  if (a === c) return ((c - b) * s) / (s - 1);
  const q = fa / fc;
  const r = fb / fc;
  const p = s * ((c - b) * q * (q - r) - (b - a) * (r - 1));
  return -p / ((q - 1) * (r - 1) * (s - 1));
}

/** Relative size of a step after which the secant's next one would no longer count. */
const LAST_STEP = 1e-10;

/**
 * The root of a rising function from a value near it: the secant rule, started with the step `first` towards the root, its
 * steps growing at most fourfold until the root lies between two points, and from then on never leaving them. For functions that
 * are nearly straight. Where the function has become flat, the steps grow.
 *
 * @throws QualityError `no-solution` (not a number, or no sign change within the doubles), `not-converged`
 */
export function findRootNear(f: (x: number) => number, start: number, first: number): number {
  let low = Number.NEGATIVE_INFINITY;
  let high = Number.POSITIVE_INFINITY;
  let before = start;
  let fBefore = f(before);
  // A step that the start would swallow is no step.
  const least = Math.max(first, 4 * Number.EPSILON * Math.abs(start));
  let step = fBefore > 0 ? -least : least;
  for (let steps = 0; steps < MOST_STEPS; steps += 1) {
    if (fBefore === 0) return before;
    if (fBefore > 0) high = Math.min(high, before);
    else low = Math.max(low, before);
    let x = before + step;
    if (!(x > low && x < high)) x = 0.5 * (low + high);
    if (!Number.isFinite(x)) throw new QualityError('no-solution', 'start', `no sign change found from ${start} on`);
    if (x === low || x === high) return before;
    const fx = f(x);
    if (Number.isNaN(fx)) throw new QualityError('no-solution', 'start', `the function is not a number at ${x}`);
    const taken = x - before;
    const slope = (fx - fBefore) / taken;
    const most = 4 * Math.abs(taken);
    const secant = -fx / slope;
    before = x;
    fBefore = fx;
    if (slope > 0 && Math.abs(secant) <= most) {
      if (Math.abs(secant) <= LAST_STEP * Math.abs(x)) return x + secant;
      step = secant;
    } else {
      step = fx > 0 ? -most : most;
    }
  }
  throw new QualityError('not-converged', 'start', `no root found near ${start}`);
}
