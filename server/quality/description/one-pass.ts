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
  readonly #perUnit: number;
  /** Four for each bin, and four more for values just below `high` that rounding puts there. */
  readonly #counts: Float64Array;
  /** Smallest and largest value inside the bins so far. A typed array keeps the loop's numbers unboxed. */
  readonly #bounds = Float64Array.of(Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY);
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
    this.#perUnit = count / (high - low);
    if (!Number.isFinite(high - low) || !Number.isFinite(this.#perUnit)) {
      throw new QualityError('out-of-range', 'bins.high', `${low} to ${high} is too narrow or too wide for its bins`);
    }
    this.#bins = { low, high, count };
    this.#counts = new Float64Array(4 * (count + 1));
  }

  /** Takes values[from] up to, not including, values[to], which must be finite: `sum` is not, if one is not. */
  take(values: Float64Array, from: number, to: number, shift: number): void {
    const { low } = this.#bins;
    const perUnit = this.#perUnit;
    const counts = this.#counts;
    const bounds = this.#bounds;
    let least = bounds[0] as number;
    let most = bounds[1] as number;
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
        least = bounds[0] as number;
        most = bounds[1] as number;
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
        least = bounds[0] as number;
        most = bounds[1] as number;
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
        least = bounds[0] as number;
        most = bounds[1] as number;
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
        least = bounds[0] as number;
        most = bounds[1] as number;
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
        least = bounds[0] as number;
        most = bounds[1] as number;
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
    const at = (((v - low) * this.#perUnit) | 0) << 2;
    this.#counts[at] = (this.#counts[at] as number) + 1;
    this.#bounds[0] = Math.min(this.#bounds[0] as number, v);
    this.#bounds[1] = Math.max(this.#bounds[1] as number, v);
  }
}
