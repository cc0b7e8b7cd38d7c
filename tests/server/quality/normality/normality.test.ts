import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { andersonDarling } from '../../../../server/quality/normality/anderson-darling.ts';
import { normality } from '../../../../server/quality/normality/normality.ts';
import { shapiroWilk } from '../../../../server/quality/normality/shapiro-wilk.ts';
import { stream } from '../../../../station/random.ts';

/** Weights of 11 men in pounds, the worked example of Shapiro & Wilk, Biometrika 52 (1965) 591-611 (from memory). */
const WEIGHTS = [148, 154, 158, 160, 161, 162, 166, 170, 182, 195, 236];

const normalValues = (seed: number, n: number): number[] => {
  const chance = stream(seed, 'normality', 0);
  return Array.from({ length: n }, () => chance.normal());
};

describe('tests of normality', () => {
  test('W = 0.79 for the weights of 11 men, below the 1 % point 0.792 (Shapiro & Wilk 1965, from memory)', () => {
    const { w, p } = shapiroWilk(WEIGHTS);
    expect(w).toBeCloseTo(0.79, 2);
    expect(p).toBeLessThan(0.01);
  });

  test('neither shift nor unit nor order changes W, A^2 or the shape', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: -5000, max: 5000 }), { minLength: 4, maxLength: 50 }),
        fc.integer({ min: -1000, max: 1000 }),
        (values, shift) => {
          const a = normality(values);
          const b = normality(values.toReversed().map((v) => 8 * v + shift));
          expect(b.shapiroWilk.w ?? 0).toBeCloseTo(a.shapiroWilk.w ?? 0, 10);
          expect(b.andersonDarling.a2 ?? 0).toBeCloseTo(a.andersonDarling.a2 ?? 0, 9);
          expect(b.shape.g1 ?? 0).toBeCloseTo(a.shape.g1 ?? 0, 9);
          expect(b.shape.g2 ?? 0).toBeCloseTo(a.shape.g2 ?? 0, 9);
        },
      ),
    );
  });

  test('W is 1 at most and p between 0 and 1, whatever the values', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -1e6, max: 1e6, noNaN: true }), { minLength: 3, maxLength: 30 }),
        (values) => {
          const { shapiroWilk: sw, andersonDarling: ad } = normality(values);
          for (const p of [sw.p, ad.p]) if (p !== null) expect(p >= 0 && p <= 1).toBe(true);
          if (sw.w !== null) expect(sw.w > 0 && sw.w <= 1).toBe(true);
        },
      ),
    );
  });

  test('of 1,000 normal samples of 20 about 5 in 100 have p below 0.05: 3 to 7, seed 11', () => {
    const alarms = { sw: 0, ad: 0 };
    for (let sample = 0; sample < 1000; sample += 1) {
      const { shapiroWilk: sw, andersonDarling: ad } = normality(normalValues(11_000 + sample, 20));
      alarms.sw += (sw.p ?? 1) < 0.05 ? 1 : 0;
      alarms.ad += (ad.p ?? 1) < 0.05 ? 1 : 0;
    }
    // Three standard errors of a binomial share of 5 % in 1,000 are 2.1 %.
    for (const count of Object.values(alarms)) expect(Math.abs(count - 50)).toBeLessThanOrEqual(21);
  });

  test('exponential values of 50 are found out', () => {
    const chance = stream(3, 'normality', 1);
    const skewed = Array.from({ length: 50 }, () => -Math.log(1 - chance.uniform()));
    const { shapiroWilk: sw, andersonDarling: ad } = normality(skewed);
    expect(sw.p).toBeLessThan(0.001);
    expect(ad.p).toBeLessThan(0.001);
  });
});

describe('what has no value, and what is refused', () => {
  test.each([
    { what: 'constant values', values: [2, 2, 2, 2, 2] },
    { what: 'one value', values: [1] },
    { what: 'two values', values: [1, 2] },
  ])('$what: no test', ({ values }) => {
    expect(shapiroWilk(values)).toEqual({ w: null, p: null });
    expect(andersonDarling(values).a2).toBeNull();
  });

  test('Shapiro-Wilk ends at 5000 values, Anderson-Darling goes on', () => {
    const values = normalValues(1, 5001);
    expect(shapiroWilk(values).w).toBeNull();
    expect(shapiroWilk(values.slice(1)).w).toBeGreaterThan(0.99);
    expect(andersonDarling(values).a2).toBeGreaterThan(0);
  });

  test('three values have no adjusted kurtosis', () => {
    expect(normality([1, 2, 4]).shape).toMatchObject({ adjustedG2: null });
  });

  test.each([
    { values: [], code: 'empty' },
    { values: [1, 2, Number.NaN], code: 'not-finite' },
  ])('$values is refused as $code', ({ values, code }) => {
    expect(() => normality(values)).toThrow(expect.objectContaining({ code }) as Error);
  });
});
