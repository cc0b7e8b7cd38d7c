import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { bias } from '../../../../server/quality/gauge/bias.ts';
import { gaugeType1 } from '../../../../server/quality/gauge/gauge-type-1.ts';

/** Multiples of 1/64, so that sums and shifts are exact. */
const readings = fc.array(
  fc.integer({ min: -64, max: 64 }).map((each) => each / 64),
  { minLength: 2, maxLength: 40 },
);

describe('type-1 study', () => {
  test('figures by hand: readings 9, 10, 11 of a reference of 9.5, tolerance width 30', () => {
    // s = 1, bias 0.5: Cg = 6/6, Cgk = (3 - 0.5)/3, with four s 6/4 and 2.5/2.
    const got = gaugeType1([9, 10, 11], 9.5, 30);
    expect(got).toMatchObject({ n: 3, mean: 10, sd: 1, bias: 0.5 });
    expect(got.six).toEqual({ cg: 1, cgk: 2.5 / 3, percentRepeatability: 20, percentRepeatabilityAndBias: 24 });
    expect(got.four).toEqual({ cg: 1.5, cgk: 1.25, percentRepeatability: 20 / 1.5, percentRepeatabilityAndBias: 16 });
    expect(got.t).toBeCloseTo(0.5 * Math.sqrt(3), 14);
  });

  test('bias test and bounds of the NIST/SEMATECH e-Handbook 7.2.2, particles on wafers (from memory)', () => {
    const got = bias([50, 48, 44, 56, 61, 52, 53, 55, 67, 51], 50);
    expect(got.bias).toBeCloseTo(3.7, 12);
    expect(got.sd).toBeCloseTo(6.567, 3);
    expect(got.t).toBeCloseTo(1.782, 3);
    // Printed bounds of the mean are 49.0 and 58.4.
    expect((got.bounds?.lower ?? 0) + 50).toBeCloseTo(49.0, 1);
    expect((got.bounds?.upper ?? 0) + 50).toBeCloseTo(58.4, 1);
    // 0.10847290878263144: SciPy 1.17.1, one-sample t test.
    expect(got.p).toBeCloseTo(0.10847290878263144, 13);
  });

  test('without bias Cgk is Cg, and with more bias it falls, below zero past a tenth of the tolerance', () => {
    const at = (reference: number) => gaugeType1([9, 10, 11], reference, 30).six;
    expect(at(10).cgk).toBe(at(10).cg);
    expect(at(11).cgk).toBeLessThan(at(10).cgk ?? 0);
    expect(at(13)).toMatchObject({ cgk: 0, percentRepeatabilityAndBias: null });
    expect(at(14).cgk).toBeLessThan(0);
  });

  test('a common shift of readings and reference changes the mean alone', () => {
    fc.assert(
      fc.property(readings, fc.integer({ min: -1e9, max: 1e9 }), (given, shift) => {
        const before = gaugeType1(given, 0.25, 2);
        const after = gaugeType1(
          given.map((each) => each + shift),
          0.25 + shift,
          2,
        );
        expect({ ...after, mean: 0 }).toEqual({ ...before, mean: 0 });
      }),
    );
  });

  test('unit and order change no index', () => {
    fc.assert(
      fc.property(readings, fc.integer({ min: -20, max: 20 }), (given, exponent) => {
        const unit = 2 ** exponent;
        const before = gaugeType1(given, 0.25, 2);
        const after = gaugeType1(given.map((each) => each * unit).toReversed(), 0.25 * unit, 2 * unit);
        for (const name of ['cg', 'cgk'] as const) {
          if (before.six[name] === null) expect(after.six[name]).toBeNull();
          else expect(after.six[name]).toBeCloseTo(before.six[name], 9);
        }
      }),
    );
  });

  test('the bounds of the bias narrow with more readings and less confidence', () => {
    const width = (n: number, confidence: number): number => {
      const { bounds } = bias(
        Array.from({ length: n }, (_, i) => i % 2),
        0,
        confidence,
      );
      return (bounds?.upper ?? 0) - (bounds?.lower ?? 0);
    };
    expect(width(40, 0.95)).toBeLessThan(width(10, 0.95));
    expect(width(10, 0.9)).toBeLessThan(width(10, 0.95));
  });

  test('p of a bias far beyond chance keeps its digits', () => {
    // Two-sided tail of t = 1e6 at 1 degree of freedom: 2 atan(1 / t) / pi, exact for a Cauchy variable.
    const got = bias([1e6 - 1, 1e6 + 1], 0);
    expect((got.p ?? 0) / ((2 * Math.atan(1e-6)) / Math.PI)).toBeCloseTo(1, 10);
  });

  test('readings that all agree have no index, and a bias without doubt', () => {
    const got = gaugeType1([5.125, 5.125, 5.125], 5, 1);
    expect(got).toMatchObject({ sd: 0, bias: 0.125, t: null, p: null, bounds: { lower: 0.125, upper: 0.125 } });
    for (const indices of [got.six, got.four]) {
      expect(indices).toEqual({ cg: null, cgk: null, percentRepeatability: null, percentRepeatabilityAndBias: null });
    }
  });

  test('a single reading has a bias alone', () => {
    const got = gaugeType1([5.25], 5, 1);
    expect(got).toMatchObject({ n: 1, mean: 5.25, bias: 0.25, sd: null, t: null, p: null, bounds: null });
    expect(got.six.cg).toBeNull();
  });

  test.each([
    { what: 'no reading', values: [], reference: 5, width: 1, code: 'empty', key: 'readings' },
    { what: 'a NaN', values: [5, Number.NaN], reference: 5, width: 1, code: 'not-finite', key: 'readings[1]' },
    { what: 'an infinite reference', values: [5, 6], reference: 1 / 0, width: 1, code: 'not-finite', key: 'reference' },
    { what: 'no tolerance', values: [5, 6], reference: 5, width: 0, code: 'out-of-range', key: 'toleranceWidth' },
    {
      what: 'a negative tolerance',
      values: [5, 6],
      reference: 5,
      width: -1,
      code: 'out-of-range',
      key: 'toleranceWidth',
    },
    {
      what: 'an infinite tolerance',
      values: [5, 6],
      reference: 5,
      width: 1 / 0,
      code: 'not-finite',
      key: 'toleranceWidth',
    },
    {
      what: 'readings too far apart',
      values: [5, 1e200],
      reference: 5,
      width: 1,
      code: 'out-of-range',
      key: 'readings',
    },
  ])('$what is refused', ({ values, reference, width, code, key }) => {
    expect(() => gaugeType1(values, reference, width)).toThrow(expect.objectContaining({ code, key }));
  });

  test('a confidence of 95 is refused', () => {
    expect(() => gaugeType1([5, 6], 5, 1, 95)).toThrow(expect.objectContaining({ key: 'confidence' }));
  });
});
