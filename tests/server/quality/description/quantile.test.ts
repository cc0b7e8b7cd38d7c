import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { quantiles } from '../../../../server/quality/description/quantile.ts';
import type { QuantileType } from '../../../../server/quality/description/quantile.ts';

/** Measurements of the worked example of NIST/SEMATECH e-Handbook 7.2.6.2, ordered: its 90th percentile is 95.1981. */
const HANDBOOK = [
  ...[95.1772, 95.1567, 95.1937, 95.1959, 95.1442, 95.061, 95.1591, 95.1195, 95.1065, 95.0925, 95.199, 95.1682],
];

describe('sample quantiles', () => {
  test('90th percentile 95.1981 at i/(n + 1), NIST/SEMATECH e-Handbook 7.2.6.2 (from memory)', () => {
    expect(quantiles(HANDBOOK, [0.9], 6)[0]).toBeCloseTo(95.1981, 4);
  });

  test.each([
    // Hyndman & Fan (1996), definitions 6, 7, 8 for 1..10: n p + m worked by hand.
    { type: 6 as const, p: 0.25, expected: 2.75 },
    { type: 7 as const, p: 0.25, expected: 3.25 },
    { type: 8 as const, p: 0.25, expected: 2 + 11 / 12 },
    { type: 6 as const, p: 0.01, expected: 1 },
    { type: 7 as const, p: 1, expected: 10 },
    { type: 8 as const, p: 0.99, expected: 10 },
  ])('type $type of 1 to 10 at $p is $expected (Hyndman & Fan 1996, by hand)', ({ type, p, expected }) => {
    expect(quantiles([10, 3, 1, 7, 5, 2, 9, 4, 8, 6], [p], type)[0]).toBeCloseTo(expected, 12);
  });

  test('grow with p, stay between the extremes, and mirror', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: -1000, max: 1000 }), { minLength: 1, maxLength: 40 }),
        fc.constantFrom<QuantileType>(6, 7, 8),
        (values, type) => {
          const grid = Array.from({ length: 21 }, (_, i) => i / 20);
          const got = quantiles(values, grid, type);
          expect(got).toEqual(got.toSorted((a, b) => a - b));
          expect(got[0]).toBe(Math.min(...values));
          expect(got[20]).toBe(Math.max(...values));
          const mirrored = quantiles(
            values.map((v) => -v),
            grid,
            type,
          );
          mirrored.forEach((each, i) => {
            expect(each).toBeCloseTo(-(got[20 - i] ?? 0), 8);
          });
        },
      ),
    );
  });

  test('equal values give exactly that value, far ends do not overflow', () => {
    expect(quantiles([0.1, 0.1, 0.1], [0.37], 7)).toEqual([0.1]);
    expect(quantiles([-1.7e308, 1.7e308], [0.5], 7)).toEqual([0]);
  });

  test.each([
    { values: [], p: 0.5, code: 'empty' },
    { values: [1, Number.POSITIVE_INFINITY], p: 0.5, code: 'not-finite' },
    { values: [1], p: 1.1, code: 'out-of-range' },
    { values: [1], p: Number.NaN, code: 'not-finite' },
  ])('$values at $p is refused as $code', ({ values, p, code }) => {
    expect(() => quantiles(values, [p])).toThrow(expect.objectContaining({ code }) as Error);
  });
});
