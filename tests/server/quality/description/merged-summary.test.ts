import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  binnedQuantile,
  mergedSummary,
  mergeSummaries,
} from '../../../../server/quality/description/merged-summary.ts';
import { moments } from '../../../../server/quality/moments.ts';
import { quantiles } from '../../../../server/quality/description/quantile.ts';
import { stream } from '../../../../station/random.ts';

const BINS = { low: -10, high: 10, count: 20 };

const normalValues = (n: number, mean: number, sd: number): Float64Array => {
  const chance = stream(7, 'merged summary', 0);
  return Float64Array.from({ length: n }, () => mean + sd * chance.normal());
};

describe('summary that merges', () => {
  test.each([
    { what: 'a few', n: 5, mean: 0, sd: 1 },
    { what: 'more than a block', n: 10_001, mean: 0, sd: 1 },
    { what: 'a huge offset and a tiny spread', n: 20_000, mean: 1e7, sd: 1e-3 },
  ])('$what: moments and extremes are those of all values', ({ n, mean, sd }) => {
    const values = normalValues(n, mean, sd);
    const bins = { low: mean - 10 * sd, high: mean + 10 * sd, count: 40 };
    const got = mergedSummary(values, bins);
    const whole = moments(values);
    expect(got.n).toBe(n);
    expect(Math.abs(got.mean - whole.mean)).toBeLessThanOrEqual(2e-16 * Math.abs(mean) + 1e-15 * sd);
    expect(got.squares / whole.squares).toBeCloseTo(1, 9);
    expect([got.minimum, got.maximum]).toEqual([Math.min(...values), Math.max(...values)]);
    expect(got.below + got.above + got.counts.reduce((a, b) => a + b, 0)).toBe(n);
  });

  test('any split merges to the whole, in any order', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: -1300, max: 1300 }), { minLength: 2, maxLength: 80 }),
        fc.nat(),
        (hundredths, cut) => {
          const values = Float64Array.from(hundredths, (v) => v / 100);
          const at = 1 + (cut % (values.length - 1));
          const whole = mergedSummary(values, BINS);
          const parts = [values.slice(0, at), values.slice(at)].map((part) => mergedSummary(part, BINS));
          for (const merged of [mergeSummaries(parts[0]!, parts[1]!), mergeSummaries(parts[1]!, parts[0]!)]) {
            const { n, minimum, maximum, below, counts, above } = merged;
            expect({ n, minimum, maximum, below, counts, above }).toEqual({
              n: whole.n,
              minimum: whole.minimum,
              maximum: whole.maximum,
              below: whole.below,
              counts: whole.counts,
              above: whole.above,
            });
            expect(merged.mean).toBeCloseTo(whole.mean, 12);
            expect(Math.abs(merged.squares - whole.squares)).toBeLessThanOrEqual(1e-12 * (1 + whole.squares));
          }
        },
      ),
    );
  });

  test('a thousand days merge to what one pass gives, offset and all', () => {
    const values = normalValues(50_000, 101_325, 0.01);
    const bins = { low: 101_324.9, high: 101_325.1, count: 100 };
    const whole = mergedSummary(values, bins);
    let merged = mergedSummary(values.slice(0, 50), bins);
    for (let day = 1; day < 1000; day += 1) {
      merged = mergeSummaries(merged, mergedSummary(values.slice(50 * day, 50 * day + 50), bins));
    }
    expect(merged.squares / whole.squares).toBeCloseTo(1, 10);
    expect(Math.abs(merged.mean - whole.mean)).toBeLessThanOrEqual(2e-11);
    expect(merged.counts).toEqual(whole.counts);
  });

  test('a bin holds its lower edge and not its upper one; what is at high counts as above', () => {
    const { below, counts, above } = mergedSummary(Float64Array.of(-0.5, 0, 0.5, 1, 1.5, 2, 2.5), {
      low: 0,
      high: 2,
      count: 2,
    });
    expect([below, [...counts], above]).toEqual([1, [2, 2], 2]);
  });

  test('a quantile from bins is right within the error that it states', () => {
    const values = normalValues(20_000, 0, 3);
    const kept = mergedSummary(values, BINS);
    for (const p of [0.001, 0.05, 0.5, 0.77, 0.999]) {
      const { value, low, high, error } = binnedQuantile(kept, p);
      const exact = quantiles(values, [p], 7)[0] ?? Number.NaN;
      expect(low - 1e-3).toBeLessThanOrEqual(exact);
      expect(high + 1e-3).toBeGreaterThanOrEqual(exact);
      expect(Math.abs(value - exact)).toBeLessThanOrEqual(error + 1e-3);
    }
  });

  test('constant values have exactly no squares', () => {
    expect(mergedSummary(new Float64Array(10_000).fill(0.1), BINS)).toMatchObject({
      mean: 0.1,
      squares: 0,
      minimum: 0.1,
    });
  });

  test.each([
    { what: 'nothing', values: [], bins: BINS, code: 'empty' },
    { what: 'not a number', values: [1, Number.NaN], bins: BINS, code: 'not-finite' },
    { what: 'infinite', values: [1, 2, Number.POSITIVE_INFINITY], bins: BINS, code: 'not-finite' },
    { what: 'squares that overflow', values: [0, 1e200], bins: BINS, code: 'out-of-range' },
    { what: 'crossed bins', values: [1], bins: { low: 1, high: 1, count: 3 }, code: 'crossed-limits' },
    { what: 'no bins', values: [1], bins: { low: 0, high: 1, count: 0 }, code: 'out-of-range' },
    { what: 'half a bin', values: [1], bins: { low: 0, high: 1, count: 1.5 }, code: 'not-whole' },
  ])('$what is refused as $code', ({ values, bins, code }) => {
    expect(() => mergedSummary(Float64Array.from(values), bins)).toThrow(expect.objectContaining({ code }) as Error);
  });

  test('other bins do not merge', () => {
    const a = mergedSummary(Float64Array.of(1), BINS);
    const b = mergedSummary(Float64Array.of(1), { ...BINS, count: 21 });
    expect(() => mergeSummaries(a, b)).toThrow(
      expect.objectContaining({ code: 'unequal-sizes', key: 'bins' }) as Error,
    );
  });
});
