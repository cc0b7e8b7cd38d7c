import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { cusumChart } from '../../../../server/quality/charts/cusum.ts';
import { qualityCases } from '../../../support/quality-cases.ts';

const design = { target: 10, sigma: 1, k: 0.5, h: 5 };
const series = fc.array(
  fc.integer({ min: -24, max: 24 }).map((eighth) => eighth / 8),
  { minLength: 1, maxLength: 60 },
);

describe('worked examples', () => {
  test('sums of chemical concentrations in units of the values, as printed (Applied Statistics and Probability for Engineers, table 16-8)', () => {
    const given = qualityCases('control-rules').find(({ id }) => id === 'cusum-montgomery-16-8');
    const input = given?.input as { values: number[]; target: number; sigma: number; k: number; h: number };
    const printed = given?.expected as Record<
      'published_upper_times_sigma' | 'published_lower_times_sigma',
      readonly number[]
    >;
    const { up, down } = cusumChart(input.values, input);
    expect(printed.published_upper_times_sigma).toHaveLength(20);
    expect(up.sums.map((sum) => sum * input.sigma)).toEqual(
      printed.published_upper_times_sigma.map((sum) => expect.closeTo(sum, 9) as number),
    );
    expect(down.sums.map((sum) => sum * input.sigma)).toEqual(
      printed.published_lower_times_sigma.map((sum) => expect.closeTo(sum, 9) as number),
    );
  });

  test('a shift of one sigma after value 20 is found at value 29, seven values after it began (Montgomery, 6th ed., table 9.2, from memory)', () => {
    const values = [
      ...[9.45, 7.99, 9.29, 11.66, 12.16, 10.18, 8.04, 11.46, 9.2, 10.34, 9.03, 11.47, 10.51, 9.4, 10.08],
      ...[9.37, 10.62, 10.31, 8.52, 10.84, 10.9, 9.33, 12.29, 11.5, 10.6, 11.08, 10.38, 11.62, 11.31, 10.52],
    ];
    const { up, down } = cusumChart(values, design);
    expect(down.sums.slice(0, 3)).toEqual([0.05, 1.56, 1.77].map((sum) => expect.closeTo(sum, 10) as number));
    expect(up.sums.slice(-2)).toEqual([5.28, 5.3].map((sum) => expect.closeTo(sum, 10) as number));
    expect(up.periods.slice(-2)).toEqual([7, 8]);
    expect(up.signals).toEqual([28, 29]);
    expect(down.signals).toEqual([]);
  });
});

describe('properties', () => {
  test('mirrored data change the sides', () => {
    fc.assert(
      fc.property(series, (values) => {
        const at = { target: 0, sigma: 0.5, k: 0.5, h: 4 };
        const { up, down } = cusumChart(values, at);
        const mirrored = cusumChart(
          values.map((value) => -value),
          at,
        );
        expect(mirrored.up).toEqual(down);
        expect(mirrored.down).toEqual(up);
      }),
    );
  });

  test('a shift and a change of unit change nothing', () => {
    fc.assert(
      fc.property(
        series,
        fc.integer({ min: -1000, max: 1000 }),
        fc.constantFrom(0.25, 2, 64),
        (values, shift, scale) => {
          const moved = values.map((value) => shift + scale * value);
          expect(cusumChart(moved, { target: shift, sigma: scale, k: 0.5, h: 4 })).toEqual(
            cusumChart(values, { target: 0, sigma: 1, k: 0.5, h: 4 }),
          );
        },
      ),
    );
  });

  test('a sum is the largest excess of any stretch of values that ends there', () => {
    fc.assert(
      fc.property(series, (values) => {
        const { up } = cusumChart(values, { target: 0, sigma: 1, k: 0.25, h: 4 });
        for (let end = 0; end < values.length; end += 1) {
          let excess = 0;
          let largest = 0;
          for (let i = end; i >= 0; i -= 1) {
            excess += (values[i] ?? 0) - 0.25;
            largest = Math.max(largest, excess);
          }
          expect(up.sums[end]).toBe(largest);
        }
      }),
    );
  });

  test('the periods count back to the last sum of 0', () => {
    fc.assert(
      fc.property(series, (values) => {
        const { down } = cusumChart(values, { target: 0, sigma: 1, k: 0.25, h: 4 });
        for (const [i, sum] of down.sums.entries()) {
          const before = i === 0 ? 0 : (down.periods[i - 1] ?? 0);
          expect(down.periods[i]).toBe(sum > 0 ? before + 1 : 0);
        }
      }),
    );
  });

  test('a sum exactly at h gives no signal, one step further does', () => {
    // Ten steps of 0.7 after the slack add up to 7 as written, in binary to a little more.
    const values = Array.from({ length: 11 }, () => 1.2);
    const { up } = cusumChart(values, { target: 0, sigma: 1, k: 0.5, h: 7 });
    expect(up.signals).toEqual([10]);
  });

  test('values at the target add nothing', () => {
    const { up, down } = cusumChart([10, 10, 10], design);
    expect([...up.sums, ...down.sums, ...up.periods, ...down.periods]).toEqual(Array.from({ length: 12 }, () => 0));
  });
});

describe('inputs', () => {
  test('no values give empty lists', () => {
    const none = { sums: [], periods: [], signals: [] };
    expect(cusumChart([], design)).toEqual({ up: none, down: none });
  });

  test.each([
    { change: { values: [1, Number.NaN] }, code: 'not-finite', key: 'values[1]' },
    { change: { target: Number.POSITIVE_INFINITY }, code: 'not-finite', key: 'target' },
    { change: { sigma: 0 }, code: 'out-of-range', key: 'sigma' },
    { change: { sigma: Number.NaN }, code: 'not-finite', key: 'sigma' },
    { change: { k: -0.1 }, code: 'out-of-range', key: 'k' },
    { change: { h: 0 }, code: 'out-of-range', key: 'h' },
    { change: { values: [1, 1e300], sigma: 1e-300 }, code: 'out-of-range', key: 'values[1]' },
  ])('$change is refused as $code of $key', ({ change, code, key }) => {
    const { values, ...drawnWith } = { values: [10, 11], ...design, ...change };
    expect(() => cusumChart(values, drawnWith)).toThrow(expect.objectContaining({ name: 'QualityError', code, key }));
  });
});
