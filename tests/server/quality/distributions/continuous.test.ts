import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { chiSquareCdf, chiSquareQuantile } from '../../../../server/quality/distributions/chi-square.ts';
import { fCdf, fQuantile } from '../../../../server/quality/distributions/f.ts';
import { normalCdf, normalPdf, normalQuantile } from '../../../../server/quality/distributions/normal.ts';
import { tCdf, tPdf, tQuantile } from '../../../../server/quality/distributions/student-t.ts';

const A_S = 'Abramowitz & Stegun, "Handbook of Mathematical Functions"';

describe(`printed values of ${A_S} (from memory)`, () => {
  test.each([
    ['table 26.1, P(1)', normalCdf(1), 0.841344746068543, 15],
    ['table 26.1, P(2)', normalCdf(2), 0.977249868051821, 15],
    ['table 26.1, P(3)', normalCdf(3), 0.99865010196837, 15],
    ['table 26.1, Z(1)', normalPdf(1), 0.241970724519143, 15],
    ['table 26.2, -log Q(10)', -Math.log10(normalCdf(10, 'upper')), 23.11805, 5],
    ['table 26.2, -log Q(20)', -Math.log10(normalCdf(20, 'upper')), 88.5601, 5],
    ['table 26.2, -log Q(30)', -Math.log10(normalCdf(30, 'upper')), 197.30921, 5],
    ['table 26.5, x of Q 0.025', normalQuantile(0.025, 'upper'), 1.95996, 5],
    ['table 26.8, Q 0.95, 1 degree', chiSquareQuantile(0.95, 1, 'upper'), 0.00393214, 8],
    ['table 26.8, Q 0.05, 10 degrees', chiSquareQuantile(0.05, 10, 'upper'), 18.307, 4],
    ['table 26.8, Q 0.995, 100 degrees', chiSquareQuantile(0.995, 100, 'upper'), 67.3276, 4],
    ['table 26.8, Q 0.005, 100 degrees', chiSquareQuantile(0.005, 100, 'upper'), 140.169, 3],
    ['table 26.9, Q 0.05, 5 and 10 degrees', fQuantile(0.05, 5, 10, 'upper'), 3.33, 2],
    ['table 26.9, Q 0.01, 10 and 10 degrees', fQuantile(0.01, 10, 10, 'upper'), 4.85, 2],
    ['table 26.9, Q 0.05, 1 and 1 degree', fQuantile(0.05, 1, 1, 'upper'), 161.4, 1],
    ['table 26.10, A 0.95, 1 degree', tQuantile(0.975, 1), 12.706, 3],
    ['table 26.10, A 0.95, 10 degrees', tQuantile(0.975, 10), 2.228, 3],
    ['table 26.10, A 0.99, 30 degrees', tQuantile(0.995, 30), 2.75, 3],
    ['table 26.10, A 0.999, 10 degrees', tQuantile(0.9995, 10), 4.587, 3],
  ])('%s', (_where, got, printed, digits) => {
    expect(Math.abs(got - printed)).toBeLessThanOrEqual(0.5001 * 10 ** -digits);
  });
});

/** Relative agreement; `digits` of it. */
const expectNear = (got: number, expected: number, tolerance = 1e-12): void => {
  expect(Math.abs(got - expected)).toBeLessThanOrEqual(tolerance * Math.abs(expected));
};

const positive = fc.double({ min: -12, max: 12, noNaN: true }).map((power) => 10 ** power);

describe('where a distribution has a closed form', () => {
  test.each([
    [
      't, 1 degree (Cauchy): atan(1/x)/pi',
      (x: number) => tCdf(x, 1, 'upper'),
      (x: number) => Math.atan2(1, x) / Math.PI,
    ],
    [
      't, 2 degrees: half of 1 - x/sqrt(2 + x^2)',
      (x: number) => tCdf(x, 2, 'upper'),
      (x: number) => 1 / (2 + x * x + x * Math.sqrt(2 + x * x)),
    ],
    ['chi-square, 2 degrees: exp(-x/2)', (x: number) => chiSquareCdf(x, 2, 'upper'), (x: number) => Math.exp(-x / 2)],
    ['the same from below', (x: number) => chiSquareCdf(x, 2), (x: number) => -Math.expm1(-x / 2)],
    ['F, 2 and 2 degrees: x/(1 + x)', (x: number) => fCdf(x, 2, 2), (x: number) => x / (1 + x)],
    [
      'F, 2 and 7.5 degrees: (1 + 2 x/7.5)^-3.75',
      (x: number) => fCdf(x, 2, 7.5, 'upper'),
      (x: number) => Math.exp(-3.75 * Math.log1p((2 * x) / 7.5)),
    ],
  ])('%s', (_what, got, expected) => {
    fc.assert(
      fc.property(positive, (x) => {
        // Beyond e^-700 the digits run out.
        if (expected(x) > 1e-300) expectNear(got(x), expected(x));
      }),
    );
  });
});

describe('distributions that are each other', () => {
  const freedom = fc.double({ min: -0.3, max: 5, noNaN: true }).map((power) => 10 ** power);

  test('the square of t is F with 1 degree in the numerator', () => {
    fc.assert(
      fc.property(positive, freedom, (x, df) => {
        const outer = 2 * tCdf(x, df, 'upper');
        if (outer > 1e-300) expectNear(fCdf(x * x, 1, df, 'upper'), outer, 1e-10);
      }),
    );
  });

  test('F upside down swaps its degrees of freedom and its tails', () => {
    fc.assert(
      fc.property(freedom, freedom, fc.double({ min: 0.001, max: 0.999, noNaN: true }), (df1, df2, p) => {
        expectNear(fQuantile(p, df1, df2), 1 / fQuantile(p, df2, df1, 'upper'), 1e-10);
      }),
    );
  });

  test('chi-square with 1 degree is the square of the normal variable', () => {
    fc.assert(
      fc.property(fc.double({ min: 1e-6, max: 36, noNaN: true }), (z) => {
        expectNear(chiSquareCdf(z * z, 1, 'upper'), 2 * normalCdf(z, 'upper'));
      }),
    );
  });

  test('t and F end in the normal and the chi-square distribution', () => {
    expectNear(tCdf(3, 1e10, 'upper'), normalCdf(3, 'upper'), 1e-8);
    expectNear(tQuantile(1e-9, 1e10), normalQuantile(1e-9), 1e-8);
    expectNear(fCdf(2, 5, 1e10, 'upper'), chiSquareCdf(10, 5, 'upper'), 1e-8);
  });
});

const KINDS = [
  ['normal', normalCdf, normalQuantile],
  ['t, 0.7 degrees', (x: number, tail) => tCdf(x, 0.7, tail), (p: number, tail) => tQuantile(p, 0.7, tail)],
  ['t, 29 degrees', (x: number, tail) => tCdf(x, 29, tail), (p: number, tail) => tQuantile(p, 29, tail)],
  ['chi-square, 1', (x: number, tail) => chiSquareCdf(x, 1, tail), (p: number, tail) => chiSquareQuantile(p, 1, tail)],
  [
    'chi-square, 1e5',
    (x: number, tail) => chiSquareCdf(x, 1e5, tail),
    (p: number, tail) => chiSquareQuantile(p, 1e5, tail),
  ],
  ['F, 3 and 40', (x: number, tail) => fCdf(x, 3, 40, tail), (p: number, tail) => fQuantile(p, 3, 40, tail)],
] satisfies [string, typeof normalCdf, typeof normalQuantile][];

describe.each(KINDS)('%s', (_name, cdf, quantile) => {
  const probability = fc.oneof(
    fc.double({ min: -150, max: -0.31, noNaN: true }).map((power) => 10 ** power),
    fc.double({ min: 1e-12, max: 1 - 1e-12, noNaN: true }),
  );
  const tail = fc.constantFrom('lower' as const, 'upper' as const);

  test('has the probability of a quantile again as its tail', () => {
    fc.assert(fc.property(probability, tail, (p, end) => expectNear(cdf(quantile(p, end), end), p, 1e-10)));
  });

  test('has two tails that make 1, and quantiles that rise with p', () => {
    fc.assert(
      fc.property(probability, probability, (p, q) => {
        const x = quantile(p);
        expectNear(cdf(x) + cdf(x, 'upper'), 1, 1e-15);
        // Neighbouring probabilities may swap their quantiles in the last digits, and no more.
        const rounding = 1e-12 * Math.abs(x) + 1e-15;
        if (p < q) expect(x).toBeLessThanOrEqual(quantile(q) + rounding);
      }),
    );
  });
});

describe('near the middle and at the ends', () => {
  test('normal and t quantiles keep their digits next to p = 0.5, where they are zero', () => {
    expect(normalQuantile(0.5)).toBe(0);
    expect(tQuantile(0.5, 3)).toBe(0);
    // There z = (p - 0.5)/density(0), p - 0.5 as the double has it.
    const off = 0.5 + 1e-13 - 0.5;
    expectNear(normalQuantile(0.5 + 1e-13), off * Math.sqrt(2 * Math.PI), 1e-13);
    expectNear(tQuantile(0.5 + 1e-13, 3), off / tPdf(0, 3), 1e-13);
  });

  test('t and normal are symmetric to the last digit', () => {
    for (const x of [0, 1e-9, 0.3, 2, 40]) {
      expect(tCdf(-x, 4.5)).toBe(tCdf(x, 4.5, 'upper'));
      expect(normalCdf(-x)).toBe(normalCdf(x, 'upper'));
      expect(tPdf(-x, 4.5)).toBe(tPdf(x, 4.5));
    }
  });

  test('nothing lies below zero where nothing can', () => {
    expect([chiSquareCdf(-1, 3), chiSquareCdf(0, 3, 'upper'), fCdf(-1, 3, 4), fCdf(0, 3, 4, 'upper')]).toEqual([
      0, 1, 0, 1,
    ]);
  });

  test('the largest and smallest numbers have tails too', () => {
    expect(normalCdf(1e308)).toBe(1);
    expect(normalCdf(1e308, 'upper')).toBe(0);
    expectNear(tCdf(1e300, 1, 'upper'), 1 / (Math.PI * 1e300));
    expectNear(tPdf(1e150, 1), 1 / (Math.PI * 1e300));
  });
});

const NAN = Number.NaN;

test.each([
  ['a missing x', () => normalCdf(NAN), 'not-finite', 'x'],
  ['a missing x of the density', () => normalPdf(NAN), 'not-finite', 'x'],
  ['p of 0', () => normalQuantile(0), 'out-of-range', 'p'],
  ['p of 1', () => normalQuantile(1), 'out-of-range', 'p'],
  ['a missing p', () => normalQuantile(NAN), 'not-finite', 'p'],
  ['t without degrees of freedom', () => tCdf(1, 0), 'out-of-range', 'df'],
  ['t with negative ones', () => tQuantile(0.1, -1), 'out-of-range', 'df'],
  ['t density with infinite ones', () => tPdf(0, Infinity), 'not-finite', 'df'],
  ['t with more than 1e10', () => tCdf(1, 1e11), 'out-of-range', 'df'],
  ['a t quantile beyond the largest number', () => tQuantile(1e-300, 0.5), 'out-of-range', 'p'],
  ['chi-square of an infinite x', () => chiSquareCdf(Infinity, 1), 'not-finite', 'x'],
  ['chi-square without degrees of freedom', () => chiSquareQuantile(0.1, 0), 'out-of-range', 'df'],
  ['a chi-square quantile below the smallest number', () => chiSquareQuantile(1e-300, 1), 'out-of-range', 'p'],
  ['a tail that has lost its digits', () => chiSquareQuantile(1e-310, 5), 'out-of-range', 'p'],
  ['F without degrees in the numerator', () => fCdf(1, 0, 1), 'out-of-range', 'df1'],
  ['F without degrees in the denominator', () => fQuantile(0.1, 1, 0), 'out-of-range', 'df2'],
  ['F with p above 1', () => fQuantile(1.5, 1, 1), 'out-of-range', 'p'],
])('%s is refused', (_what, call, code, key) => {
  expect(call).toThrow(expect.objectContaining({ code, key }));
});
