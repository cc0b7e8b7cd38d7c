import { describe, expect, test } from 'vitest';
import { toleranceFactors, toleranceLimits } from '../../../../server/quality/capability/tolerance-interval.ts';

describe('tolerance factors', () => {
  test.each([
    // One-sided factors as tables of the noncentral t print them, coverage 95 %, confidence 95 %.
    { n: 2, k1: 26.26 },
    { n: 5, k1: 4.203 },
    { n: 10, k1: 2.911 },
    { n: 20, k1: 2.396 },
    { n: 50, k1: 2.065 },
    { n: 100, k1: 1.927 },
  ])('k1 of $n values is $k1 at 95 %/95 % (Odeh & Owen 1980, from memory)', ({ n, k1 }) => {
    expect(toleranceFactors(n, 0.95, 0.95).oneSidedExact).toBeCloseTo(k1, 2);
  });

  test('n 43, coverage 0.90, confidence 0.99: 2.217 by Howe, 1.8752 by Natrella, 1.8740 exact (e-Handbook 7.2.6.3)', () => {
    const factors = toleranceFactors(43, 0.9, 0.99);
    expect(factors.twoSidedHowe).toBeCloseTo(2.217, 3);
    expect(factors.oneSidedNatrella).toBeCloseTo(1.8752, 4);
    // Printed 1.8740; exactly 1.87395.
    expect(factors.oneSidedExact).toBeCloseTo(1.874, 3);
  });

  test('factors fall with n towards the quantiles of the normal distribution, and grow with coverage and confidence', () => {
    let before = toleranceFactors(2, 0.95, 0.95);
    for (const n of [3, 5, 10, 30, 100, 1000, 100_000]) {
      const factors = toleranceFactors(n, 0.95, 0.95);
      expect(factors.oneSidedExact).toBeLessThan(before.oneSidedExact ?? 0);
      expect(factors.twoSidedExact).toBeLessThan(before.twoSidedExact ?? 0);
      expect(factors.twoSidedExact).toBeGreaterThan(factors.oneSidedExact ?? 0);
      before = factors;
    }
    expect(before.oneSidedExact).toBeCloseTo(1.644854, 1);
    expect(before.twoSidedExact).toBeCloseTo(1.959964, 1);
    const { oneSidedExact, twoSidedExact } = toleranceFactors(13, 0.95, 0.95);
    for (const more of [toleranceFactors(13, 0.99, 0.95), toleranceFactors(13, 0.95, 0.99)]) {
      expect(more.oneSidedExact).toBeGreaterThan(oneSidedExact ?? 0);
      expect(more.twoSidedExact).toBeGreaterThan(twoSidedExact ?? 0);
    }
  });

  test.each([
    { n: 100, coverage: 0.9, confidence: 0.05 },
    { n: 30, coverage: 0.95, confidence: 0.3 },
  ])('below a confidence of one half Natrella stays near the exact factor: $n, $coverage, $confidence', (given) => {
    const { oneSidedExact, oneSidedNatrella } = toleranceFactors(given.n, given.coverage, given.confidence);
    expect(Math.abs((oneSidedNatrella ?? 0) - (oneSidedExact ?? 0))).toBeLessThan(0.02);
  });

  test('limits mirror about the mean; no spread gives the mean, no sd no limits', () => {
    const factors = toleranceFactors(13, 0.9973, 0.95);
    const { oneSidedLower, oneSidedUpper, twoSidedLower, twoSidedUpper } = toleranceLimits(factors, 10, 2);
    expect((oneSidedLower ?? 0) + (oneSidedUpper ?? 0)).toBeCloseTo(20, 12);
    expect((twoSidedLower ?? 0) + (twoSidedUpper ?? 0)).toBeCloseTo(20, 12);
    expect(toleranceLimits(factors, 10, 0)).toMatchObject({ oneSidedLower: 10, twoSidedUpper: 10 });
    expect(toleranceLimits(factors, 10, null)).toMatchObject({ oneSidedLower: null, twoSidedUpper: null });
  });

  test('one value has no factor; too few values for Natrella have no approximation', () => {
    expect(toleranceFactors(1, 0.9, 0.95)).toMatchObject({ oneSidedExact: null, twoSidedExact: null });
    expect(toleranceFactors(2, 0.9, 0.99).oneSidedNatrella).toBeNull();
  });

  test.each([
    { n: 0, coverage: 0.9, confidence: 0.9, code: 'out-of-range', key: 'n' },
    { n: 1e8, coverage: 0.9, confidence: 0.9, code: 'out-of-range', key: 'n' },
    { n: 5, coverage: 1e-13, confidence: 0.9, code: 'out-of-range', key: 'coverage' },
    { n: 2.5, coverage: 0.9, confidence: 0.9, code: 'not-whole', key: 'n' },
    { n: 5, coverage: 1, confidence: 0.9, code: 'out-of-range', key: 'coverage' },
    { n: 5, coverage: 0.9, confidence: 0, code: 'out-of-range', key: 'confidence' },
    { n: 5, coverage: Number.NaN, confidence: 0.9, code: 'not-finite', key: 'coverage' },
  ])(
    'n $n, coverage $coverage, confidence $confidence is refused as $code',
    ({ n, coverage, confidence, code, key }) => {
      expect(() => toleranceFactors(n, coverage, confidence)).toThrow(expect.objectContaining({ code, key }) as Error);
    },
  );
});
