import { describe, expect, test } from 'vitest';
import { c4, c5, chartConstants, d2, d3 } from '../../../../server/quality/charts/chart-constants.ts';

const relativeError = (got: number, expected: number): number => Math.abs(got / expected - 1);

describe('factors as printed', () => {
  // Montgomery, "Introduction to Statistical Quality Control", appendix VI, the same in ASTM MNL 7, table of factors; from
  // memory. Printed values come partly from rounded d2 and d3, so one unit of the last digit is allowed.
  const names = ['A', 'A2', 'A3', 'c4', 'B3', 'B4', 'B5', 'B6', 'd2', 'd3', 'D1', 'D2', 'D3', 'D4'] as const;
  const rows = [
    ['2', '2.121 1.880 2.659 0.7979 0.000 3.267 0.000 2.606 1.128 0.853 0.000 3.686 0.000 3.267'],
    ['3', '1.732 1.023 1.954 0.8862 0.000 2.568 0.000 2.276 1.693 0.888 0.000 4.358 0.000 2.574'],
    ['4', '1.500 0.729 1.628 0.9213 0.000 2.266 0.000 2.088 2.059 0.880 0.000 4.698 0.000 2.282'],
    ['5', '1.342 0.577 1.427 0.9400 0.000 2.089 0.000 1.964 2.326 0.864 0.000 4.918 0.000 2.114'],
    ['6', '1.225 0.483 1.287 0.9515 0.030 1.970 0.029 1.874 2.534 0.848 0.000 5.078 0.000 2.004'],
    ['7', '1.134 0.419 1.182 0.9594 0.118 1.882 0.113 1.806 2.704 0.833 0.204 5.204 0.076 1.924'],
    ['8', '1.061 0.373 1.099 0.9650 0.185 1.815 0.179 1.751 2.847 0.820 0.388 5.306 0.136 1.864'],
    ['9', '1.000 0.337 1.032 0.9693 0.239 1.761 0.232 1.707 2.970 0.808 0.547 5.393 0.184 1.816'],
    ['10', '0.949 0.308 0.975 0.9727 0.284 1.716 0.276 1.669 3.078 0.797 0.687 5.469 0.223 1.777'],
    ['15', '0.775 0.223 0.789 0.9823 0.428 1.572 0.421 1.544 3.472 0.756 1.203 5.741 0.347 1.653'],
    ['20', '0.671 0.180 0.680 0.9869 0.510 1.490 0.504 1.470 3.735 0.729 1.549 5.921 0.415 1.585'],
    ['25', '0.600 0.153 0.606 0.9896 0.565 1.435 0.559 1.420 3.931 0.708 1.806 6.056 0.459 1.541'],
  ] as const;

  test.each(rows)('subgroups of %s (Montgomery, appendix VI)', (n, printed) => {
    const computed = chartConstants(Number(n));
    const values = printed.split(' ');
    expect(values).toHaveLength(names.length);
    for (const [i, name] of names.entries()) {
      const text = values[i] ?? '';
      const unit = 10 ** -(text.split('.')[1]?.length ?? 0);
      expect(Math.abs(computed[name] - Number(text)), name).toBeLessThanOrEqual(unit);
    }
  });

  test('E2 of moving ranges of two is printed as 2.66, which is 3/1.128 (NIST/SEMATECH e-Handbook, 6.3.2.2, from memory)', () => {
    expect(chartConstants(2).E2).toBeCloseTo(2.66, 2);
    expect(3 / Number(chartConstants(2).d2.toFixed(3))).toBeCloseTo(2.66, 3);
  });
});

describe('the range', () => {
  // David & Nagaraja, "Order Statistics", 3rd ed., section 3.2: closed forms for small samples.
  const root = Math.sqrt(Math.PI);
  test.each([
    { n: 2, mean: 2 / root },
    { n: 3, mean: 3 / root },
    { n: 4, mean: (3 / root) * (1 + (2 / Math.PI) * Math.asin(1 / 3)) },
    { n: 5, mean: (5 / (2 * root)) * (1 + (6 / Math.PI) * Math.asin(1 / 3)) },
  ])('d2($n) is its closed form', ({ n, mean }) => {
    expect(relativeError(d2(n), mean)).toBeLessThan(1e-14);
  });

  test.each([
    { n: 2, sd: Math.sqrt(2 - 4 / Math.PI) },
    { n: 3, sd: Math.sqrt(2 + (3 * Math.sqrt(3) - 9) / Math.PI) },
  ])('d3($n) is its closed form', ({ n, sd }) => {
    expect(relativeError(d3(n), sd)).toBeLessThan(1e-13);
  });

  // Integrals with 30 digits in mpmath 1.3.0.
  test.each([
    { n: 50, mean: 4.4981472587797 },
    { n: 100, mean: 5.015187272883368 },
    { n: 500, mean: 6.073398691857863 },
    { n: 1000, mean: 6.482871538266882 },
    { n: 10_000, mean: 7.70323163413335 },
    { n: 1_000_000, mean: 9.725794972392926 },
  ])('d2($n) as mpmath integrates it', ({ n, mean }) => {
    expect(relativeError(d2(n), mean)).toBeLessThan(1e-12);
  });

  test('d3(1000) as mpmath integrates it', () => {
    expect(relativeError(d3(1000), 0.49673518578289)).toBeLessThan(2e-14);
  });

  test('grows with n, its spread shrinks from 3 on; the lower limit of the range leaves 0 at 7', () => {
    for (let n = 4; n <= 25; n += 1) {
      expect(d2(n)).toBeGreaterThan(d2(n - 1));
      expect(d3(n)).toBeLessThan(d3(n - 1));
      expect(chartConstants(n).D3 > 0).toBe(n >= 7);
      expect(chartConstants(n).B3 > 0).toBe(n >= 6);
    }
  });

  test('the answer for a size stays the same when it is asked again', () => {
    expect(chartConstants(11)).toEqual(chartConstants(11));
  });
});

describe('the standard deviation', () => {
  // sqrt(2/(n-1)) Gamma(n/2)/Gamma((n-1)/2) with 30 digits in mpmath 1.3.0, at the doubles given.
  test.each([
    { n: 1.0000001, expected: 0.0003963327024046151 },
    { n: 1.5, expected: 0.6759782400672847 },
    { n: 2.3, expected: 0.8357155804597072 },
    { n: 7.7, expected: 0.9635042541571112 },
    { n: 30, expected: 0.991418053292673 },
    { n: 51, expected: 0.9950128107045548 },
    { n: 52, expected: 0.9951103466452502 },
    { n: 1e3, expected: 0.9997497811015132 },
    { n: 1e5, expected: 0.9999974999781248 },
    { n: 1e7, expected: 0.9999999749999978 },
    { n: 1e12, expected: 0.99999999999975 },
  ])('c4($n) as mpmath computes it', ({ n, expected }) => {
    expect(relativeError(c4(n), expected)).toBeLessThan(1e-14);
  });

  test('c4(2) is sqrt(2/pi), c4(3) is sqrt(pi)/2', () => {
    expect(relativeError(c4(2), Math.sqrt(2 / Math.PI))).toBeLessThan(1e-15);
    expect(relativeError(c4(3), Math.sqrt(Math.PI) / 2)).toBeLessThan(1e-15);
  });

  test('its square and that of its spread make 1', () => {
    for (const n of [1.001, 2, 3.5, 10, 51, 1e4]) expect(c4(n) ** 2 + c5(n) ** 2).toBeCloseTo(1, 14);
  });

  test('the spread keeps its digits for many values: variance of s is 1/(2n) to first order', () => {
    // 1 - c4^2 = 1/(2 nu) (1 - 1/(4 nu) + …), nu = n - 1 (Johnson, Kotz & Balakrishnan, vol. 1, section 18.3).
    const nu = 1e9;
    expect(relativeError(c5(nu + 1) ** 2, (1 - 1 / (4 * nu)) / (2 * nu))).toBeLessThan(1e-14);
  });
});

describe('sizes that make no sense', () => {
  test.each([
    { n: 1, code: 'out-of-range' },
    { n: 0, code: 'out-of-range' },
    { n: -3, code: 'out-of-range' },
    { n: 1_000_001, code: 'out-of-range' },
    { n: 2.5, code: 'not-whole' },
    { n: Number.NaN, code: 'not-finite' },
    { n: Number.POSITIVE_INFINITY, code: 'not-finite' },
  ])('subgroups of $n are refused as $code', ({ n, code }) => {
    for (const refused of [chartConstants, d2, d3]) {
      expect(() => refused(n)).toThrow(expect.objectContaining({ name: 'QualityError', code, key: 'n' }));
    }
  });

  test.each([
    { n: 1, code: 'out-of-range' },
    { n: Number.NaN, code: 'not-finite' },
    { n: Number.POSITIVE_INFINITY, code: 'not-finite' },
  ])('c4 of $n is refused as $code', ({ n, code }) => {
    expect(() => c4(n)).toThrow(expect.objectContaining({ name: 'QualityError', code, key: 'n' }));
  });
});
