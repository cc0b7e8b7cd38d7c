import { checkFinite, checkWhole } from '../checks.ts';
import { QualityError } from '../errors.ts';

/** Equal bins from `low`, which is in the first, to `high`, which is above the last; unit of the values. */
export interface Bins {
  readonly low: number;
  readonly high: number;
  readonly count: number;
}

/** How many values are below, in, and above equal bins. */
export interface Histogram {
  /** Values below `bins.low`. */
  readonly below: number;
  /** Values in each bin: its lower edge included, its upper edge not. */
  readonly counts: readonly number[];
  /** Values at or above `bins.high`. */
  readonly above: number;
}

const MOST_BINS = 1_000_000;

/** Smallest and largest value inside the bins so far. */
const LEAST = 0;
const MOST = 1;
const LOW = 2;
const PER_UNIT = 3;

/**
 * Sums, extremes and counts of values that pass once, a block after another. Bin i holds the values with
 * floor((value - low) / width) = i as computed; a value within rounding of an inner edge may be on either side of it, and
 * always on the same.
 *
 * The loop is what ten million values wait for. Each value is compared with two bounds only, those between which nothing
 * is new: no extreme and not outside the bins. It is written out by fours, with two sums of each kind and four counts for
 * each bin (side by side in `#counts`), because an addition must not wait for the one before it.
 */
export class OnePass {
  readonly #bins: Bins;
  /** Four for each bin, and four more for values just below `high` that rounding puts there. */
  readonly #counts: Float64Array;
  /** What the loop computes with, by place: numbers taken from a typed array are unboxed, as those of fields may not be. */
  readonly #numbers: Float64Array;
  #below = 0;
  #above = 0;
  minimum = Number.POSITIVE_INFINITY;
  maximum = Number.NEGATIVE_INFINITY;
  /** Of the last block: sum of the differences to its shift, and of their squares. */
  sum = 0;
  squares = 0;

  /** @throws QualityError `not-finite`, `not-whole`, `crossed-limits`, `out-of-range` */
  constructor({ low, high, count }: Bins) {
    checkFinite(low, 'bins.low');
    checkFinite(high, 'bins.high');
    checkWhole(count, 'bins.count', 1, MOST_BINS);
    if (low >= high) {
      throw new QualityError('crossed-limits', 'bins.low', `bins.low ${low} is not below bins.high ${high}`);
    }
    const perUnit = count / (high - low);
    if (!Number.isFinite(high - low) || !Number.isFinite(perUnit)) {
      throw new QualityError('out-of-range', 'bins.high', `${low} to ${high} is too narrow or too wide for its bins`);
    }
    this.#numbers = Float64Array.of(Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, low, perUnit);
    this.#bins = { low, high, count };
    this.#counts = new Float64Array(4 * (count + 1));
  }

  /** Takes values[from] up to, not including, values[to], which must be finite: `sum` is not, if one is not. */
  take(values: Float64Array, from: number, to: number, shift: number): void {
    const counts = this.#counts;
    const numbers = this.#numbers;
    const low = numbers[LOW] as number;
    const perUnit = numbers[PER_UNIT] as number;
    let least = numbers[LEAST] as number;
    let most = numbers[MOST] as number;
    let s0 = 0;
    let s1 = 0;
    let q0 = 0;
    let q1 = 0;
    let v: number;
    let d: number;
    let at: number;
    let i = from;
    for (; i + 3 < to; i += 4) {
      v = values[i] as number;
      d = v - shift;
      s0 += d;
      q0 += d * d;
      if (v < least || v > most) {
        this.#takeNew(v);
        least = numbers[LEAST] as number;
        most = numbers[MOST] as number;
      } else {
        at = ((v - low) * perUnit) << 2;
        counts[at] = (counts[at] as number) + 1;
      }
      v = values[i + 1] as number;
      d = v - shift;
      s1 += d;
      q1 += d * d;
      if (v < least || v > most) {
        this.#takeNew(v);
        least = numbers[LEAST] as number;
        most = numbers[MOST] as number;
      } else {
        at = (((v - low) * perUnit) << 2) | 1;
        counts[at] = (counts[at] as number) + 1;
      }
      v = values[i + 2] as number;
      d = v - shift;
      s0 += d;
      q0 += d * d;
      if (v < least || v > most) {
        this.#takeNew(v);
        least = numbers[LEAST] as number;
        most = numbers[MOST] as number;
      } else {
        at = (((v - low) * perUnit) << 2) | 2;
        counts[at] = (counts[at] as number) + 1;
      }
      v = values[i + 3] as number;
      d = v - shift;
      s1 += d;
      q1 += d * d;
      if (v < least || v > most) {
        this.#takeNew(v);
        least = numbers[LEAST] as number;
        most = numbers[MOST] as number;
      } else {
        at = (((v - low) * perUnit) << 2) | 3;
        counts[at] = (counts[at] as number) + 1;
      }
    }
    for (; i < to; i += 1) {
      v = values[i] as number;
      d = v - shift;
      s0 += d;
      q0 += d * d;
      if (v < least || v > most) {
        this.#takeNew(v);
        least = numbers[LEAST] as number;
        most = numbers[MOST] as number;
      } else {
        at = ((v - low) * perUnit) << 2;
        counts[at] = (counts[at] as number) + 1;
      }
    }
    this.sum = s0 + s1;
    this.squares = q0 + q1;
  }

  histogram(): Histogram {
    const { count } = this.#bins;
    const at = (bin: number): number => {
      const [a = 0, b = 0, c = 0, d = 0] = this.#counts.subarray(4 * bin, 4 * bin + 4);
      return a + b + c + d;
    };
    const counts = Array.from({ length: count }, (_, bin) => at(bin) + (bin === count - 1 ? at(count) : 0));
    return { below: this.#below, counts, above: this.#above };
  }

  /** A value that is an extreme, or outside the bins. */
  #takeNew(v: number): void {
    const { low, high } = this.#bins;
    if (v < this.minimum) this.minimum = v;
    if (v > this.maximum) this.maximum = v;
    if (v < low) {
      this.#below += 1;
      return;
    }
    if (v >= high) {
      this.#above += 1;
      return;
    }
    const numbers = this.#numbers;
    const at = (((v - low) * (numbers[PER_UNIT] as number)) | 0) << 2;
    this.#counts[at] = (this.#counts[at] as number) + 1;
    numbers[LEAST] = Math.min(numbers[LEAST] as number, v);
    numbers[MOST] = Math.max(numbers[MOST] as number, v);
  }
}
