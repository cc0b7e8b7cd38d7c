import { describe, expect, test } from 'vitest';
import { conformance, conformanceWithPrior, priorOf } from '../../../../server/quality/risk/conformance.ts';
import { normalInterval } from '../../../../server/quality/risk/normal-interval.ts';
import { refusal } from '../../../support/quality-refusal.ts';

describe('conformance of a measured value, nothing else known', () => {
  test.each([
    {
      source: 'JCGM 106:2012, breakdown voltage example, printed 92 % (from memory)',
      value: -5.47,
      u: 0.05,
      tolerance: { lower: null, upper: -5.4 },
      printed: 0.92,
    },
    {
      source: 'JCGM 106:2012, burst strength example, printed 99 % (from memory)',
      value: 509.7,
      u: 8.6,
      tolerance: { lower: 490, upper: null },
      printed: 0.99,
    },
    {
      source: 'ILAC-G8:09/2019: a result at a guard band of U = 2 u, false accept below 2.5 % (from memory)',
      value: 98,
      u: 1,
      tolerance: { lower: null, upper: 100 },
      printed: 0.98,
    },
    {
      source: 'one u inside one limit: 0.8413 in any table of the normal distribution',
      value: 9,
      u: 1,
      tolerance: { lower: null, upper: 10 },
      printed: 0.84,
    },
  ])('$source', ({ value, u, tolerance, printed }) => {
    expect(conformance({ value, u }, tolerance).within).toBeCloseTo(printed, 2);
  });

  test('a value on a limit conforms by half, a value beyond both limits by the narrow tail between them', () => {
    expect(conformance({ value: 10, u: 0.1 }, { lower: null, upper: 10 })).toEqual({
      below: 0,
      within: 0.5,
      above: 0.5,
    });
    const far = conformance({ value: 105, u: 0.3 }, { lower: 99, upper: 101 });
    expect(far.within).toBeGreaterThan(0);
    expect(far.within).toBeLessThan(1e-40);
  });

  test('without uncertainty a value on a limit is inside, one beyond it outside', () => {
    const tolerance = { lower: 1, upper: 2 };
    expect(conformance({ value: 2, u: 0 }, tolerance)).toEqual({ below: 0, within: 1, above: 0 });
    expect(conformance({ value: 1, u: 0 }, tolerance)).toEqual({ below: 0, within: 1, above: 0 });
    expect(conformance({ value: 2.1, u: 0 }, tolerance)).toEqual({ below: 0, within: 0, above: 1 });
    expect(conformance({ value: 0.9, u: 0 }, tolerance)).toEqual({ below: 1, within: 0, above: 0 });
  });

  test.each([
    {
      what: 'NaN value',
      code: 'not-finite',
      key: 'y',
      run: () => conformance({ value: Number.NaN, u: 1 }, { lower: 0, upper: 1 }),
    },
    {
      what: 'infinite u',
      code: 'not-finite',
      key: 'u',
      run: () => conformance({ value: 0, u: Infinity }, { lower: 0, upper: 1 }),
    },
    {
      what: 'negative u',
      code: 'out-of-range',
      key: 'u',
      run: () => conformance({ value: 0, u: -1 }, { lower: 0, upper: 1 }),
    },
    {
      what: 'no limit',
      code: 'no-limit',
      key: 'L',
      run: () => conformance({ value: 0, u: 1 }, { lower: null, upper: null }),
    },
    {
      what: 'crossed limits',
      code: 'crossed-limits',
      key: 'L',
      run: () => conformance({ value: 0, u: 1 }, { lower: 1, upper: 1 }),
    },
    {
      what: 'a tolerance beyond doubles',
      code: 'out-of-range',
      key: 'U',
      run: () => conformance({ value: 0, u: 1 }, { lower: -1.5e308, upper: 1.5e308 }),
    },
    {
      what: 'NaN process mean',
      code: 'not-finite',
      key: 'mu0',
      run: () => conformanceWithPrior({ value: 0, u: 1 }, { mean: Number.NaN, sd: 1 }, { lower: 0, upper: 1 }),
    },
    {
      what: 'negative process sd',
      code: 'out-of-range',
      key: 'sigma0',
      run: () => conformanceWithPrior({ value: 0, u: 1 }, { mean: 0, sd: -1 }, { lower: 0, upper: 1 }),
    },
    { what: 'a process mean without sd', code: 'empty', key: 'sigma0', run: () => priorOf(1, null) },
    { what: 'a process sd without mean', code: 'empty', key: 'mu0', run: () => priorOf(null, 1) },
  ])('refuses $what', ({ code, key, run }) => {
    expect(refusal(run)).toEqual({ code, key });
  });
});

describe('conformance with the process known', () => {
  const tolerance = { lower: 99, upper: 101 };

  test('a vague process changes nothing, a sure process says everything', () => {
    const measured = { value: 100.9, u: 0.2 };
    const vague = conformanceWithPrior(measured, { mean: 100, sd: 1e9 }, tolerance);
    expect(vague?.mean).toBeCloseTo(100.9, 12);
    expect(vague?.within).toBeCloseTo(conformance(measured, tolerance).within, 12);
    expect(conformanceWithPrior(measured, { mean: 100, sd: 0 }, tolerance)).toEqual({
      ...{ mean: 100, sd: 0 },
      ...{ below: 0, within: 1, above: 0 },
    });
  });

  test('process and measurement are exchangeable: the product of two normals', () => {
    const one = conformanceWithPrior({ value: 100.9, u: 0.2 }, { mean: 100, sd: 0.7 }, tolerance);
    const other = conformanceWithPrior({ value: 100, u: 0.7 }, { mean: 100.9, sd: 0.2 }, tolerance);
    expect(other?.mean).toBeCloseTo(one!.mean, 12);
    expect(other?.sd).toBeCloseTo(one!.sd, 14);
  });

  test('equal spreads meet in the middle with the spread of a mean of two', () => {
    const { mean, sd } = conformanceWithPrior({ value: 102, u: 2 }, { mean: 100, sd: 2 }, tolerance)!;
    expect(mean).toBe(101);
    expect(sd).toBeCloseTo(Math.SQRT2, 14);
  });

  test('a sure measurement that contradicts a sure process is undefined; one that agrees is not', () => {
    expect(conformanceWithPrior({ value: 100.1, u: 0 }, { mean: 100, sd: 0 }, tolerance)).toBeNull();
    expect(conformanceWithPrior({ value: 100, u: 0 }, { mean: 100, sd: 0 }, tolerance)?.within).toBe(1);
  });

  test('nothing known of the process is no prior', () => {
    expect(priorOf(null, null)).toBeNull();
  });
});

describe('probability of a standard normal between two ends', () => {
  // Each value: mpmath 1.3.0 with 60 digits, (erfc(a / root 2) - erfc(b / root 2)) / 2.
  test.each([
    [-1, 1, 0.6826894921370859],
    [10, 10.001, 7.656252284057952e-26],
    [-1e-9, 1e-9, 7.978845608028654e-10],
    [-30, -29.9, 9.34829693967574e-197],
    [0.3, 0.3000001, 3.8138780975067335e-8],
    [5, 40, 2.866515718791939e-7],
  ])('%d to %d', (low, high, expected) => {
    expect(Math.abs(normalInterval(low, high) / expected - 1)).toBeLessThan(1e-12);
    expect(normalInterval(-high, -low)).toBe(normalInterval(low, high));
  });

  test('ends without limit and empty intervals', () => {
    expect(normalInterval(-Infinity, Infinity)).toBe(1);
    expect(normalInterval(-Infinity, 0)).toBe(0.5);
    expect(normalInterval(41, Infinity)).toBe(0);
    expect(normalInterval(1, 1)).toBe(0);
    expect(normalInterval(2, 1)).toBe(0);
  });
});
