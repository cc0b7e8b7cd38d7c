import { LARGEST_COUNT, checkWhole } from '../checks.ts';
import { QualityError } from '../errors.ts';
import { binomialTerm } from './saddle-point.ts';
import { ALL_ABOVE, ALL_BELOW, tailsFrom } from './tail.ts';
import type { Tail, Tails } from './tail.ts';

/** A lot of which a sample is drawn without putting back; numbers of parts. */
export interface LotSample {
  readonly lot: number;
  readonly bad: number;
  readonly sample: number;
}

/** Below this share of what was summed, no further term counts in the digits of a double. */
const NEGLIGIBLE = 1e-18;

/**
 * Hypergeometric distribution, bad parts in a sample: P(X <= k) or P(X > k), each with its own digits, exactly 0 or 1 where
 * a count is impossible or certain. Abramowitz & Stegun, "Handbook of Mathematical Functions", 26.1.27; the first term by
 * Loader's formula ("Fast and accurate computation of binomial probabilities", 2000), the rest of the smaller tail by the
 * ratios of neighbouring terms, all positive and falling.
 *
 * @param k any whole number
 * @param keys what an error calls the three numbers
 * @throws QualityError `not-finite`, `not-whole`, `out-of-range`, `beyond-lot` (more bad or drawn parts than the lot has)
 */
export function hypergeometricCdf(
  k: number,
  { lot, bad, sample }: LotSample,
  tail: Tail = 'lower',
  keys = { lot: 'lot', bad: 'bad', sample: 'sample' },
): number {
  checkWhole(k, 'k', Number.MIN_SAFE_INTEGER);
  checkWhole(lot, keys.lot, 0, LARGEST_COUNT);
  for (const [name, value] of [
    [keys.bad, bad],
    [keys.sample, sample],
  ] as const) {
    checkWhole(value, name, 0);
    if (value > lot) throw new QualityError('beyond-lot', name, `${name} is ${value}, more than the lot of ${lot}`);
  }
  return tailsOf(k, { lot, bad, sample })[tail];
}

function tailsOf(k: number, given: LotSample): Tails {
  const { lot, bad, sample } = given;
  const least = Math.max(0, sample + bad - lot);
  const most = Math.min(sample, bad);
  if (k < least) return ALL_ABOVE;
  if (k >= most) return ALL_BELOW;
  const mode = Math.floor(((sample + 1) * (bad + 1)) / (lot + 2));
  return k < mode
    ? tailsFrom('lower', sumFrom(k, least, -1, given))
    : tailsFrom('upper', sumFrom(k + 1, most, 1, given));
}

/** Sum of the probabilities from `first` to `last`, away from the mode. */
function sumFrom(first: number, last: number, step: 1 | -1, given: LotSample): number {
  const { lot, bad, sample } = given;
  const rest = lot - bad - sample;
  const head = probability(first, given);
  let term = 1;
  let sum = 1;
  for (let i = first; i !== last && term > NEGLIGIBLE * sum; i += step) {
    term *=
      step === 1
        ? ((bad - i) / (i + 1)) * ((sample - i) / (rest + i + 1))
        : (i / (bad - i + 1)) * ((rest + i) / (sample - i + 1));
    sum += term;
  }
  return head * sum;
}

/** Probability of exactly k bad parts, k possible: three binomial probabilities of the same p = sample/lot. */
function probability(k: number, { lot, bad, sample }: LotSample): number {
  const drawn = { x: sample / lot, rest: (lot - sample) / lot };
  // Each count's distance from its mean, over the same denominator so that whole numbers cancel exactly.
  const term = (a: number, b: number): number => {
    // By logarithms of one plus something: a power would multiply the rounding of its base.
    if (a === 0) return Math.exp(b * Math.log1p(-drawn.x));
    if (b === 0) return drawn.x > 0.5 ? Math.exp(a * Math.log1p(-drawn.rest)) : drawn.x ** a;
    return binomialTerm(a, b, { ...drawn, more: ((a + b) * sample - a * lot) / lot });
  };
  const whole = sample === 0 || sample === lot ? 1 : term(sample, lot - sample);
  return (term(k, bad - k) * term(sample - k, lot - bad - sample + k)) / whole;
}
