import { checkFinite, checkProbability } from '../checks.ts';
import { QualityError } from '../errors.ts';
import type { Moments } from '../moments.ts';
import { OnePass } from './one-pass.ts';
import type { Bins, Histogram } from './one-pass.ts';

/** Moments with a mean of more digits than one number holds, which merging needs where the offset is large. */
interface FineMoments extends Moments {
  /** What rounding took from the mean: mean + meanRest is closer. */
  readonly meanRest: number;
}

/**
 * What is kept of many values: enough for mean and spread (`sampleSd` takes it as it is), extremes and a histogram, and
 * for merging with what is kept of others. Unit of the values, `squares` their square.
 */
export interface MergedSummary extends FineMoments, Histogram {
  readonly minimum: number;
  readonly maximum: number;
  readonly bins: Bins;
}

/** A quantile known only by the bin that it is in; unit of the values. */
export interface BinnedQuantile {
  readonly value: number;
  /** The quantile of the values themselves is not below this … */
  readonly low: number;
  /** … nor above this. */
  readonly high: number;
  /** The larger distance of `value` to the two. */
  readonly error: number;
}

/** Values summed about one shift. */
const BLOCK = 4096;
/** Sum of squares about the shift over that about the mean, above which digits are missed and the block is taken again. */
const CANCELLED = 1024;

/**
 * Summary of one or more values in one pass: blocks are summed about the mean of the block before and merged. The
 * counts are those of `OnePass`; `below` and `above` compare with low and high exactly. Spreads whose square is no number
 * of the machine (below about 1e-154, above about 1e154) are not for this function.
 *
 * @throws QualityError `empty`, `not-finite`, `not-whole`, `out-of-range` (no bins, or too many; squares that overflow),
 *   `crossed-limits` (high not above low)
 */
export function mergedSummary(values: Float64Array, bins: Bins): MergedSummary {
  const pass = new OnePass(bins);
  if (values.length === 0) throw new QualityError('empty', 'values', 'values is empty; at least 1 wanted');
  let last = blockOf(pass, values, 0, values[0] ?? 0);
  let all = last;
  for (let from = BLOCK; from < values.length; from += BLOCK) {
    last = blockOf(pass, values, from, last.mean);
    all = mergedMoments(all, last);
  }
  const { minimum, maximum } = pass;
  const { low, high, count } = bins;
  return { ...all, minimum, maximum, bins: { low, high, count }, ...pass.histogram() };
}

/**
 * The summary of the values of two summaries together, by the pairwise formula of Chan, Golub & LeVeque, "Algorithms for
 * computing the sample variance: analysis and recommendations", The American Statistician 37 (1983) 242-247, eq. 2.1: n,
 * extremes and counts are those of the whole, mean and squares within rounding.
 *
 * @throws QualityError `unequal-sizes` (different bins)
 */
export function mergeSummaries(a: MergedSummary, b: MergedSummary): MergedSummary {
  const { low, high, count } = a.bins;
  if (low !== b.bins.low || high !== b.bins.high || count !== b.bins.count) {
    const text = (bins: Bins): string => `${bins.count} bins from ${bins.low} to ${bins.high}`;
    throw new QualityError('unequal-sizes', 'bins', `${text(a.bins)} cannot be merged with ${text(b.bins)}`);
  }
  return {
    ...mergedMoments(a, b),
    minimum: Math.min(a.minimum, b.minimum),
    maximum: Math.max(a.maximum, b.maximum),
    bins: a.bins,
    below: a.below + b.below,
    counts: a.counts.map((each, i) => each + (b.counts[i] ?? 0)),
    above: a.above + b.above,
  };
}

/**
 * About the quantile at probability p: the smallest value with at least the share p of the values not above it
 * (definition 1 of Hyndman & Fan, The American Statistician 50 (1996) 361-365). It lies in the bin that the counts say, a
 * value within rounding of an inner edge aside, so it is known to within that bin, or to within the values beyond the
 * bins; inside, the values of the bin are taken as evenly spread.
 *
 * @throws QualityError `not-finite`, `out-of-range` (p not above 0 and below 1)
 */
export function binnedQuantile(summary: MergedSummary, p: number): BinnedQuantile {
  checkProbability(p, 'p');
  const { n, minimum, maximum, bins } = summary;
  const wanted = Math.min(n, Math.max(1, Math.ceil(n * p * (1 - 4 * Number.EPSILON))));
  const edge = (i: number): number => bins.low + (i / bins.count) * (bins.high - bins.low);
  const clipped = (value: number): number => Math.min(maximum, Math.max(minimum, value));
  const within = (from: number, to: number, before: number, count: number): BinnedQuantile => {
    const [low, high] = [clipped(from), clipped(to)];
    const value = low + ((wanted - before - 0.5) / count) * (high - low);
    return { value, low, high, error: Math.max(value - low, high - value) };
  };
  if (wanted <= summary.below) return within(minimum, bins.low, 0, summary.below);
  let before = summary.below;
  for (const [i, count] of summary.counts.entries()) {
    if (wanted <= before + count) return within(edge(i), edge(i + 1), before, count);
    before += count;
  }
  return within(bins.high, maximum, before, summary.above);
}

function blockOf(pass: OnePass, values: Float64Array, from: number, shift: number): FineMoments {
  const to = Math.min(values.length, from + BLOCK);
  const n = to - from;
  pass.take(values, from, to, shift);
  if (!Number.isFinite(pass.squares)) refuse(values, from, to);
  const moments = momentsAbout(shift, n, pass.sum, pass.squares);
  return pass.squares > CANCELLED * moments.squares ? momentsAgain(values, from, to, shift + pass.sum / n) : moments;
}

/** The moments of a block alone, about a shift that is nearly its mean. */
function momentsAgain(values: Float64Array, from: number, to: number, shift: number): FineMoments {
  let sum = 0;
  let squares = 0;
  for (let i = from; i < to; i += 1) {
    const d = (values[i] as number) - shift;
    sum += d;
    squares += d * d;
  }
  return momentsAbout(shift, to - from, sum, squares);
}

function momentsAbout(shift: number, n: number, sum: number, squares: number): FineMoments {
  const { high, rest } = exactSum(shift, sum / n);
  return { n, mean: high, meanRest: rest, squares: Math.max(0, squares - (sum / n) * sum) };
}

function mergedMoments(a: FineMoments, b: FineMoments): FineMoments {
  const n = a.n + b.n;
  const delta = b.mean - a.mean + (b.meanRest - a.meanRest);
  const { high, rest } = exactSum(a.mean, a.meanRest + (delta * b.n) / n);
  return { n, mean: high, meanRest: rest, squares: a.squares + b.squares + delta * delta * ((a.n * b.n) / n) };
}

/** a + b as the nearest number and what it leaves out (Knuth, The Art of Computer Programming 2, 4.2.2, theorem B). */
function exactSum(a: number, b: number): { readonly high: number; readonly rest: number } {
  const high = a + b;
  const ofB = high - a;
  return { high, rest: a - (high - ofB) + (b - ofB) };
}

/** Names the first value of the block that is not finite; if there is none, their squares are too large. */
function refuse(values: Float64Array, from: number, to: number): never {
  for (let i = from; i < to; i += 1) checkFinite(values[i] ?? 0, `values[${i}]`);
  throw new QualityError('out-of-range', 'values', 'values differ so much that their squares overflow');
}
