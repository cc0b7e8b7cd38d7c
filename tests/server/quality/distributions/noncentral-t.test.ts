import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  noncentralTCdf,
  noncentralTNoncentrality,
  noncentralTQuantile,
} from '../../../../server/quality/distributions/noncentral-t.ts';
import { normalCdf, normalQuantile } from '../../../../server/quality/distributions/normal.ts';
import { tCdf } from '../../../../server/quality/distributions/student-t.ts';

describe('one-sided tolerance factors k = t(confidence; n - 1, z sqrt n)/sqrt n, printed to three decimals', () => {
  // Natrella, "Experimental Statistics", NBS Handbook 91 (1963), table A-7; the same in ISO 16269-6 (from memory).
  test.each([
    [2, 0.9, 20.581],
    [5, 0.9, 3.407],
    [10, 0.9, 2.355],
    [50, 0.9, 1.646],
    [2, 0.95, 26.26],
    [10, 0.95, 2.911],
    [30, 0.95, 2.22],
    [5, 0.99, 5.741],
    [10, 0.99, 3.981],
    [30, 0.99, 3.064],
    [50, 0.99, 2.862],
  ])('n %d, coverage %d, confidence 0.95: k %d', (n, coverage, printed) => {
    const t = noncentralTQuantile(0.95, n - 1, normalQuantile(coverage) * Math.sqrt(n));
    // The tables were rounded up or to nearest.
    expect(Math.abs(t / Math.sqrt(n) - printed)).toBeLessThan(0.001);
  });

  test('NIST/SEMATECH e-Handbook, 7.2.6.3, n 43, coverage 0.9, confidence 0.99: k 1.8740 (from memory)', () => {
    const t = noncentralTQuantile(0.99, 42, 1.28155 * Math.sqrt(43));
    expect(t / Math.sqrt(43)).toBeCloseTo(1.874, 4);
  });
});

const between = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });
const freedom = between(-0.3, 5).map((power) => 10 ** power);
const noncentrality = fc.oneof(between(-8, 8), between(-300, 300), between(-3000, 3000));
const tail = fc.constantFrom('lower' as const, 'upper' as const);
const probability = fc.oneof(
  between(-30, -0.31).map((power) => 10 ** power),
  between(0.001, 0.999),
);

const expectNear = (got: number, expected: number, tolerance: number): void => {
  expect(Math.abs(got - expected)).toBeLessThanOrEqual(tolerance * Math.abs(expected));
};

describe('the noncentral t', () => {
  test('without noncentrality is the central one', () => {
    fc.assert(
      fc.property(between(-50, 50), freedom, tail, (x, df, end) => {
        const central = tCdf(x, df, end);
        if (central > 1e-280) expectNear(noncentralTCdf(x, df, 0, end), central, 1e-11);
      }),
    );
  });

  test('has the normal probability of -ncp below zero, whatever the degrees of freedom', () => {
    for (const ncp of [-3, 0, 1, 37]) {
      expect(noncentralTCdf(0, 5, ncp)).toBe(normalCdf(-ncp));
      // Next to zero too, where it is computed another way.
      expectNear(noncentralTCdf(1e-14, 5, ncp), normalCdf(-ncp), 1e-12);
      expectNear(noncentralTCdf(-1e-14, 5, ncp), normalCdf(-ncp), 1e-12);
    }
  });

  test('is normal about ncp for many degrees of freedom', () => {
    for (const z of [-6, -1, 0.5, 4]) {
      // What is left is of the order z^2 x^2/(4 df).
      expectNear(noncentralTCdf(1 + z, 1e10, 1), normalCdf(z), 1e-7);
    }
  });

  test('seen in a mirror is that of -ncp', () => {
    fc.assert(
      fc.property(between(-100, 100), freedom, noncentrality, (x, df, ncp) => {
        expect(noncentralTCdf(-x, df, -ncp, 'upper')).toBe(noncentralTCdf(x, df, ncp));
      }),
    );
  });

  test('has the probability of a quantile again as its tail, and its noncentrality again from both', () => {
    fc.assert(
      fc.property(probability, freedom, noncentrality, tail, (p, df, ncp, end) => {
        const x = noncentralTQuantile(p, df, ncp, end);
        // Where x is large against its spread, the rounding of x alone moves p by more than that of p.
        expectNear(noncentralTCdf(x, df, ncp, end), p, 1e-9);
        if (end === 'lower') {
          const found = noncentralTNoncentrality(p, x, df);
          expect(Math.abs(found - ncp)).toBeLessThanOrEqual(1e-10 * Math.max(1, Math.abs(ncp)));
        }
      }),
      { numRuns: 200 },
    );
  });

  test('falls as ncp rises, also where one variable is much wider than the other', () => {
    for (const [df, x] of [
      [1.1, 879],
      [0.5, 2000],
      [3, 1500],
      [1e5, 40],
    ] as const) {
      const step = Math.sqrt(1 + (x * x) / (2 * df)) / 50;
      let before = 1;
      for (let ncp = x - 20 * step; ncp < x + 20 * step; ncp += step) {
        const lower = noncentralTCdf(x, df, ncp);
        expect(lower).toBeLessThan(before);
        before = lower;
      }
    }
  });

  test('is exactly zero, not undefined, where a tail is beyond the doubles', () => {
    expect(noncentralTCdf(-1, 0.2, -1452, 'upper')).toBe(0);
    expect(noncentralTCdf(5, 1e5, 3000)).toBe(0);
    expect(noncentralTCdf(5, 1e5, 3000, 'upper')).toBe(1);
  });
});

test.each([
  ['a missing x', () => noncentralTCdf(Number.NaN, 5, 1), 'not-finite', 'x'],
  ['no degrees of freedom', () => noncentralTCdf(1, 0, 1), 'out-of-range', 'df'],
  ['an infinite noncentrality', () => noncentralTCdf(1, 5, Infinity), 'not-finite', 'ncp'],
  ['a quantile of p = 1', () => noncentralTQuantile(1, 5, 1), 'out-of-range', 'p'],
  ['a quantile of p = 0', () => noncentralTQuantile(0, 5, 1), 'out-of-range', 'p'],
  ['a quantile beyond the largest number', () => noncentralTQuantile(1e-300, 0.5, 1, 'upper'), 'out-of-range', 'p'],
  ['a quantile of negative degrees of freedom', () => noncentralTQuantile(0.5, -5, 1), 'out-of-range', 'df'],
  ['a noncentrality of p = 0', () => noncentralTNoncentrality(0, 1, 5), 'out-of-range', 'p'],
  ['a noncentrality of a missing t', () => noncentralTNoncentrality(0.5, Number.NaN, 5), 'not-finite', 't'],
  ['a noncentrality without degrees of freedom', () => noncentralTNoncentrality(0.5, 1, 0), 'out-of-range', 'df'],
])('%s is refused', (_what, call, code, key) => {
  expect(call).toThrow(expect.objectContaining({ code, key }));
});
