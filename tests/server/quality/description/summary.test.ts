import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { moments } from '../../../../server/quality/moments.ts';
import { summary } from '../../../../server/quality/description/summary.ts';
import { qualityCases } from '../../../support/quality-cases.ts';
import { significantDigits } from '../../../support/significant-digits.ts';

/**
 * Digits that the certified values of the NIST StRD univariate sets can be met with. NumAcc3 and 4 sit on offsets of 1e6
 * and 1e7: their decimals are no doubles, which alone leaves about 9 and 8 digits of the standard deviation.
 */
const DIGITS: Readonly<Record<string, number>> = { 'strd-NumAcc3': 9, 'strd-NumAcc4': 8 };

const certified = qualityCases('summary').filter(({ id }) => id.startsWith('strd-'));
const numberOf = (of: unknown, key: string): number => (of as Record<string, number>)[key] ?? Number.NaN;

describe('certified values', () => {
  test('the set has them', () => {
    expect(certified.length).toBeGreaterThanOrEqual(5);
  });

  test.each(certified.map((each) => [each.id, each] as const))(
    '%s (NIST StRD, certified)',
    (id, { input, expected }) => {
      const got = summary(input['values'] as number[]);
      const digits = DIGITS[id] ?? 12;
      expect(significantDigits(got.mean, numberOf(expected, 'certified_mean'))).toBeGreaterThanOrEqual(digits);
      expect(significantDigits(got.sd ?? 0, numberOf(expected, 'certified_sd'))).toBeGreaterThanOrEqual(digits);
      const r1 = numberOf(expected, 'certified_lag1_autocorrelation');
      expect(significantDigits(got.lag1Autocorrelation ?? 0, r1)).toBeGreaterThanOrEqual(Math.min(digits, 9));
    },
  );
});

const readings = fc.array(fc.integer({ min: -100_000, max: 100_000 }), { minLength: 3, maxLength: 60 });

describe('properties of a summary', () => {
  test('a shift moves mean and extremes by itself and nothing else', () => {
    fc.assert(
      fc.property(readings, fc.integer({ min: -1e12, max: 1e12 }), (values, shift) => {
        const [a, b] = [summary(values), summary(values.map((v) => v + shift))];
        expect(b.mean).toBeCloseTo(a.mean + shift, 3);
        expect([b.min, b.max, b.median]).toEqual([a.min + shift, a.max + shift, a.median + shift]);
        expect(b.sd).toBeCloseTo(a.sd ?? 0, 8);
      }),
    );
  });

  test('a unit carries over into all but the autocorrelation', () => {
    fc.assert(
      fc.property(readings, (values) => {
        // A power of two is a unit that no rounding hides behind.
        const [a, b] = [summary(values), summary(values.map((v) => v / 1024))];
        expect(b.sd).toBe(a.sd === null ? null : a.sd / 1024);
        expect([b.mean, b.range]).toEqual([a.mean / 1024, a.range / 1024]);
        expect(b.lag1Autocorrelation).toBe(a.lag1Autocorrelation);
      }),
    );
  });

  test('the order of rows changes nothing but the autocorrelation', () => {
    const values = [3, 1, 4, 1, 5, 9, 2, 6];
    const { lag1Autocorrelation: r1, ...sorted } = summary(values.toSorted());
    const { lag1Autocorrelation: other, ...drawn } = summary(values);
    expect(sorted).toEqual(drawn);
    expect(other).not.toBe(r1);
  });

  test('a typed array gives what a list gives', () => {
    expect(summary(Float64Array.of(1, 2, 4))).toEqual(summary([1, 2, 4]));
  });
});

describe('what has no value, and what is refused', () => {
  test('one value has no spread', () => {
    expect(summary([4.25])).toMatchObject({
      n: 1,
      mean: 4.25,
      sd: null,
      standardError: null,
      lag1Autocorrelation: null,
    });
  });

  test.each([0.1, 1e12 + 0.1, -7.3e-300])('constant %d: a spread of exactly 0, no autocorrelation', (value) => {
    const got = summary(Array.from({ length: 11 }, () => value));
    expect(got).toMatchObject({ mean: value, sd: 0, range: 0, standardError: 0, lag1Autocorrelation: null });
  });

  test.each([
    { values: [], code: 'empty', key: 'values' },
    { values: [1, Number.NaN], code: 'not-finite', key: 'values[1]' },
    { values: [Number.NEGATIVE_INFINITY], code: 'not-finite', key: 'values[0]' },
    { values: [-1.5e308, 1.5e308], code: 'out-of-range', key: 'values' },
  ])('$values is refused as $code', ({ values, code, key }) => {
    expect(() => summary(values)).toThrow(expect.objectContaining({ code, key }) as Error);
  });

  test('moments of nothing are refused', () => {
    expect(() => moments([])).toThrow(expect.objectContaining({ code: 'empty' }) as Error);
  });
});
