import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { ewmaChart } from '../../../../server/quality/charts/ewma.ts';
import { qualityCases } from '../../../support/quality-cases.ts';

const design = { target: 10, sigma: 1, lambda: 0.1, L: 2.7 };
const series = fc.array(fc.double({ min: -50, max: 50, noNaN: true }), { minLength: 1, maxLength: 40 });

/** Thirty values, the last ten from a mean raised by one sigma: Montgomery, table 9.1, from memory. */
const SHIFTED = [
  ...[9.45, 7.99, 9.29, 11.66, 12.16, 10.18, 8.04, 11.46, 9.2, 10.34, 9.03, 11.47, 10.51, 9.4, 10.08],
  ...[9.37, 10.62, 10.31, 8.52, 10.84, 10.9, 9.33, 12.29, 11.5, 10.6, 11.08, 10.38, 11.62, 11.31, 10.52],
];

describe('worked examples', () => {
  interface Printed {
    readonly published_ewma_2dp: readonly number[];
    readonly published_steady_state_ucl: number;
    readonly published_steady_state_lcl: number;
  }

  test('averages and steady limits of NIST/SEMATECH e-Handbook, 6.3.2.4, as printed', () => {
    const given = qualityCases('control-rules').find(({ id }) => id === 'ewma-nist-6324');
    const input = given?.input as { values: number[]; target: number; sigma: number; lambda: number; L: number };
    const printed = given?.expected as Printed;
    const chart = ewmaChart(input.values, input);
    expect(printed.published_ewma_2dp).toHaveLength(20);
    for (const [i, value] of printed.published_ewma_2dp.entries()) {
      expect(Math.abs((chart.ewma[i] ?? Number.NaN) - value)).toBeLessThanOrEqual(0.005 + 1e-9);
    }
    // The page takes 0.4201 for sqrt(0.3/1.7) = 0.42008, so its limits are good to a thousandth.
    expect(Math.abs(chart.steadyUpper - printed.published_steady_state_ucl)).toBeLessThan(1e-3);
    expect(Math.abs(chart.steadyLower - printed.published_steady_state_lcl)).toBeLessThan(1e-3);
    expect(chart.signals).toEqual([]);
  });

  test('lambda 0.1, L 2.7: limits 9.38 and 10.62, first averages 9.945 and 9.7495 (Montgomery, 6th ed., example 9.2, from memory)', () => {
    const chart = ewmaChart(SHIFTED, design);
    expect(chart.ewma.slice(0, 2)).toEqual([expect.closeTo(9.945, 10), expect.closeTo(9.7495, 10)]);
    expect(chart.lower[0]).toBeCloseTo(9.73, 10);
    expect(chart.upper[0]).toBeCloseTo(10.27, 10);
    expect(chart.steadyLower).toBeCloseTo(9.38, 2);
    expect(chart.steadyUpper).toBeCloseTo(10.62, 2);
    // Value 29 is the first outside: 10.6468 against 10.6187, by the recursion in Python.
    expect(chart.signals).toEqual([28, 29]);
  });
});

describe('properties', () => {
  test('lambda 1 is the plain chart', () => {
    fc.assert(
      fc.property(series, (values) => {
        const chart = ewmaChart(values, { target: 0, sigma: 7, lambda: 1, L: 3 });
        expect(chart.ewma).toEqual(values.map((value) => expect.closeTo(value, 12) as number));
        expect(chart.lower).toEqual(values.map(() => -21));
        expect(chart.upper).toEqual(values.map(() => 21));
        expect(chart.signals).toEqual(values.flatMap((value, i) => (Math.abs(value) > 21 ? [i] : [])));
      }),
    );
  });

  test('mirrored data give the mirrored chart and the same signals', () => {
    fc.assert(
      fc.property(series, fc.double({ min: 0.01, max: 1, noNaN: true }), (values, lambda) => {
        const at = { target: 0, sigma: 5, lambda, L: 2.5 };
        const chart = ewmaChart(values, at);
        const mirrored = ewmaChart(
          values.map((value) => -value),
          at,
        );
        for (const [i, each] of mirrored.ewma.entries()) expect(each + (chart.ewma[i] ?? 0)).toBe(0);
        expect(mirrored.signals).toEqual(chart.signals);
      }),
    );
  });

  test('the average is the sum of all values, each weighted by its age', () => {
    const lambda = 0.3;
    const values = [4, -2, 7, 1, 0.5];
    const weighted = values.reduce((sum, value, i) => sum + lambda * (1 - lambda) ** (4 - i) * value, 0);
    const start = 2;
    const chart = ewmaChart(values, { target: start, sigma: 1, lambda, L: 3 });
    expect(chart.ewma[4]).toBeCloseTo(weighted + (1 - lambda) ** 5 * start, 13);
  });

  test('the limits open from L sigma lambda to the steady state and never beyond', () => {
    const values = Array.from({ length: 500 }, () => 10);
    const chart = ewmaChart(values, design);
    expect(chart.upper[0]).toBeCloseTo(10 + 2.7 * 0.1, 13);
    for (let i = 1; i < values.length; i += 1) {
      expect(chart.upper[i]).toBeGreaterThanOrEqual(chart.upper[i - 1] ?? Number.NaN);
      expect(chart.upper[i]).toBeLessThanOrEqual(chart.steadyUpper);
    }
    expect(chart.upper.at(-1)).toBeCloseTo(chart.steadyUpper, 13);
  });

  test('a tiny lambda keeps the digits of its first limits', () => {
    const chart = ewmaChart([0], { target: 0, sigma: 1, lambda: 1e-12, L: 3 });
    expect(chart.upper[0]).toBeCloseTo(3e-12, 24);
  });

  test('values at the target stay there exactly, under any offset', () => {
    const chart = ewmaChart([1e9 + 0.1, 1e9 + 0.1, 1e9 + 0.1], { ...design, target: 1e9 + 0.1 });
    expect(chart.ewma).toEqual([1e9 + 0.1, 1e9 + 0.1, 1e9 + 0.1]);
    expect(chart.signals).toEqual([]);
  });

  test.each([0.1, 0.2, 0.3, 0.7])(
    'lambda %d: a first value at L sigma is on its limit and gives no signal',
    (lambda) => {
      for (const L of [2.7, 2.9, 3, 3.1]) {
        expect(ewmaChart([L], { target: 0, sigma: 1, lambda, L }).signals).toEqual([]);
        expect(ewmaChart([L * (1 + 1e-9)], { target: 0, sigma: 1, lambda, L }).signals).toEqual([0]);
      }
    },
  );
});

describe('inputs', () => {
  test('no values give empty lists and the steady limits', () => {
    const chart = ewmaChart([], design);
    expect(chart).toMatchObject({ ewma: [], lower: [], upper: [], signals: [] });
    expect(chart.steadyUpper).toBeGreaterThan(10);
  });

  test.each([
    { change: { values: [1, Number.NaN] }, code: 'not-finite', key: 'values[1]' },
    { change: { target: Number.NaN }, code: 'not-finite', key: 'target' },
    { change: { sigma: 0 }, code: 'out-of-range', key: 'sigma' },
    { change: { sigma: -1 }, code: 'out-of-range', key: 'sigma' },
    { change: { lambda: 0 }, code: 'out-of-range', key: 'lambda' },
    { change: { lambda: 1.01 }, code: 'out-of-range', key: 'lambda' },
    { change: { lambda: Number.NaN }, code: 'not-finite', key: 'lambda' },
    { change: { L: 0 }, code: 'out-of-range', key: 'L' },
    { change: { L: 1e200, sigma: 1e200 }, code: 'out-of-range', key: 'L' },
    { change: { values: [-1e308], target: 1e308 }, code: 'out-of-range', key: 'values[0]' },
  ])('$change is refused as $code of $key', ({ change, code, key }) => {
    const { values, ...drawnWith } = { values: [1, 2], ...design, ...change };
    expect(() => ewmaChart(values, drawnWith)).toThrow(expect.objectContaining({ name: 'QualityError', code, key }));
  });
});
