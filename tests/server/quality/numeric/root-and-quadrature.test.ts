import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { continuedFraction } from '../../../../server/quality/numeric/continued-fraction.ts';
import { productRest } from '../../../../server/quality/numeric/product-rest.ts';
import { adaptiveGaussLegendre, gaussLegendre } from '../../../../server/quality/numeric/quadrature.ts';
import { findRoot, findRootNear } from '../../../../server/quality/numeric/root.ts';

describe('a root between two bounds', () => {
  test.each([
    ['x^3 - 2 x - 5 (Wallis, 1685): 2.0945514815423265', (x: number) => x ** 3 - 2 * x - 5, 2, 3, 2.0945514815423265],
    ['cos x - x (the Dottie number): 0.7390851332151607', (x: number) => Math.cos(x) - x, 0, 1, 0.7390851332151607],
    ['a root of ninth order', (x: number) => (x - 1) ** 9, 0, 5, 1],
    ['a step', (x: number) => (x < 0.3 ? -1 : 1), 0, 1, 0.3],
    ['at the lower bound', (x: number) => x - 2, 2, 3, 2],
    ['at the upper bound', (x: number) => x - 3, 2, 3, 3],
    ['falling', (x: number) => 1e-200 - x, 0, 1, 1e-200],
    ['at zero, between bounds of both signs', (x: number) => x, -1, 3, 0],
  ])('%s', (_what, f, low, high, root) => {
    const found = findRoot(f, low, high);
    expect(Math.abs(found - root)).toBeLessThanOrEqual(
      _what === 'a root of ninth order' ? 1e-9 : 1e-15 * Math.max(root, 1e-200),
    );
  });

  test('is refused where the ends do not differ in sign, or are not numbers', () => {
    for (const f of [() => 1, () => Number.NaN, (x: number) => (x === 0 ? -1 : x === 1 ? 1 : Number.NaN)]) {
      expect(() => findRoot(f, 0, 1)).toThrow(expect.objectContaining({ code: 'no-solution' }));
    }
  });
});

describe('a root near a guess', () => {
  test('of a rising function, from any side, near or far', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -100, max: 100, noNaN: true }),
        fc.double({ min: 0.001, max: 10, noNaN: true }),
        (start, first) => {
          const found = findRootNear((x) => Math.asinh(x - 7) + 0.1 * (x - 7), start, first);
          expect(Math.abs(found - 7)).toBeLessThan(1e-12);
        },
      ),
    );
  });

  test('is refused where there is none, or where the function is not a number', () => {
    for (const f of [() => 1, () => -1, (x: number) => (x === 0 ? 1 : Number.NaN)]) {
      expect(() => findRootNear(f, 0, 1)).toThrow(expect.objectContaining({ code: 'no-solution' }));
    }
  });

  test('takes no small step for the last one when it only began with small ones', () => {
    expect(findRootNear((x) => (x - 1e15) / 1e9, 3e14, 1e-6)).toBe(1e15);
    expect(findRootNear((x) => x, -1, 1e-12)).toBe(0);
  });
});

describe('an integral', () => {
  test('of a polynomial of degree 39 is exact', () => {
    expect(gaussLegendre((x) => 40 * x ** 39, 0, 1)).toBeCloseTo(1, 14);
    expect(gaussLegendre((x) => x ** 39, -1, 1)).toBeCloseTo(0, 15);
  });

  test('of the bell curve in panels of two standard deviations is sqrt(2 pi)', () => {
    expect(Math.abs(gaussLegendre((x) => Math.exp((-x * x) / 2), -12, 12, 12) - Math.sqrt(2 * Math.PI))).toBeLessThan(
      1e-14,
    );
  });

  test('of 1/x is the logarithm, over six decades when the panels find their own way', () => {
    const found = adaptiveGaussLegendre((x) => 1 / x, [1e-6, 1]);
    expect(Math.abs(found / Math.log(1e6) - 1)).toBeLessThan(1e-14);
  });

  test('of a peak a millionth as wide as the panel, at an edge, is found', () => {
    const found = adaptiveGaussLegendre((x) => 1 / (1 + (x * 1e6) ** 2), [-1, 0, 1]);
    expect(Math.abs(found / (2e-6 * Math.atan(1e6)) - 1)).toBeLessThan(1e-13);
  });
});

test('the golden ratio is the continued fraction of ones', () => {
  expect(
    continuedFraction(
      () => 1,
      () => 1,
    ),
  ).toBeCloseTo((1 + Math.sqrt(5)) / 2, 15);
});

test('what a product loses in rounding is the exact difference, in whole numbers', () => {
  const factor = fc.integer({ min: -Number.MAX_SAFE_INTEGER, max: Number.MAX_SAFE_INTEGER });
  fc.assert(
    fc.property(factor, factor, (a, b) => {
      const product = a * b;
      expect(BigInt(productRest(a, b, product))).toBe(BigInt(a) * BigInt(b) - BigInt(product));
    }),
  );
  expect(productRest(1e200, 1e200, Infinity)).toBe(0);
});
