import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { answer } from '../../../../server/cli/calc/answer.ts';
import { controlChartTopic } from '../../../../server/cli/calc/control-chart.ts';
import { fractionNonconforming, nonconformitiesPerUnit } from '../../../../server/quality/charts/attributes-chart.ts';
import { chartConstants } from '../../../../server/quality/charts/chart-constants.ts';
import { chartSignals } from '../../../../server/quality/charts/control-chart.ts';
import {
  individualsAndMovingRange,
  meanAndRange,
  meanAndSd,
} from '../../../../server/quality/charts/variables-chart.ts';

const around = (values: readonly number[], digits: number): number[] =>
  values.map((value) => expect.closeTo(value, digits) as number);

const subgroupsOf = (size: number) =>
  fc.array(fc.array(fc.integer({ min: -400, max: 400 }), { minLength: size, maxLength: size }), {
    minLength: 2,
    maxLength: 8,
  });

describe('means with ranges or standard deviations, worked examples', () => {
  test('mean 1.5056, mean range 0.32521, n = 5: 1.31795 to 1.69325, range up to 0.68749 (Montgomery, 6th ed., example 6.1, from memory)', () => {
    const [mean, range] = [1.5056, 0.32521];
    const chart = meanAndRange([[mean - range / 2, mean, mean, mean, mean + range / 2]]);
    // The book takes A2 = 0.577 and D4 = 2.114 from its table.
    expect(Math.abs((chart.location.lower[0] ?? 0) - 1.31795)).toBeLessThan(0.0005 * range);
    expect(Math.abs((chart.location.upper[0] ?? 0) - 1.69325)).toBeLessThan(0.0005 * range);
    expect(Math.abs((chart.spread.upper[0] ?? 0) - 0.68749)).toBeLessThan(0.0006 * range);
    expect(chart.spread.lower).toEqual([0]);
    expect(chart.sigma).toBeCloseTo(0.1398, 4);
  });

  test('mean 74.001, mean s 0.0094, n = 5: 73.988 to 74.014, s up to 0.0196 (Montgomery, 6th ed., example 6.3, from memory)', () => {
    const [mean, sd] = [74.001, 0.0094];
    const arm = sd * Math.SQRT2;
    const chart = meanAndSd([[mean - arm, mean, mean, mean, mean + arm]]);
    expect(chart.location.lower).toEqual(around([73.988], 3));
    expect(chart.location.upper).toEqual(around([74.014], 3));
    expect(chart.spread.upper).toEqual(around([0.0196], 4));
    expect(chart.spread.lower).toEqual([0]);
  });

  test('limits are the tabled factors times the mean range, the mean standard deviation, or the given sigma (NIST/SEMATECH e-Handbook, 6.3.2.1)', () => {
    for (const n of [2, 4, 7, 12]) {
      const given = { center: 3, sigma: 0.5 };
      const factors = chartConstants(n);
      const groups = [0, 1, 2].map((j) => Array.from({ length: n }, (_, i) => ((i * 7 + j * 3) % 5) + j));
      const byRange = meanAndRange(groups);
      const meanRange = byRange.spread.values.reduce((sum, value) => sum + value, 0) / 3;
      expect(byRange.location.upper[0]).toBeCloseTo(byRange.center + factors.A2 * meanRange, 11);
      expect(byRange.spread.center[0]).toBeCloseTo(meanRange, 11);
      expect(byRange.spread.lower[0]).toBeCloseTo(factors.D3 * meanRange, 11);
      expect(byRange.spread.upper[0]).toBeCloseTo(factors.D4 * meanRange, 11);
      const bySd = meanAndSd(groups);
      const meanSd = bySd.spread.values.reduce((sum, value) => sum + value, 0) / 3;
      expect(bySd.location.lower[0]).toBeCloseTo(bySd.center - factors.A3 * meanSd, 11);
      expect(bySd.spread.lower[0]).toBeCloseTo(factors.B3 * meanSd, 11);
      expect(bySd.spread.upper[0]).toBeCloseTo(factors.B4 * meanSd, 11);
      const standard = { range: meanAndRange(groups, given), sd: meanAndSd(groups, given) };
      expect(standard.range.location.upper[0]).toBeCloseTo(3 + factors.A * 0.5, 11);
      expect(standard.range.spread.lower[0]).toBeCloseTo(factors.D1 * 0.5, 11);
      expect(standard.range.spread.upper[0]).toBeCloseTo(factors.D2 * 0.5, 11);
      expect(standard.sd.spread.lower[0]).toBeCloseTo(factors.B5 * 0.5, 11);
      expect(standard.sd.spread.upper[0]).toBeCloseTo(factors.B6 * 0.5, 11);
    }
  });

  test('subgroups of differing size have limits of their own, narrower for more values', () => {
    const { location, spread } = meanAndRange([
      [1, 2, 3, 4],
      [2, 3],
      [1, 2, 4],
    ]);
    expect(location.center).toEqual([location.center[0], location.center[0], location.center[0]]);
    expect(location.center[0]).toBeCloseTo(22 / 9, 13);
    const width = location.upper.map((upper, j) => upper - (location.lower[j] ?? 0));
    expect(width[0]).toBeLessThan(width[2] ?? 0);
    expect(width[2]).toBeLessThan(width[1] ?? 0);
    expect(spread.center[0]).toBeGreaterThan(spread.center[1] ?? 0);
  });
});

describe('single values and moving ranges', () => {
  test('batch of ten: center 50.81, limits 45.8159 and 55.8041 (NIST/SEMATECH e-Handbook, 6.3.2.2, from memory)', () => {
    const chart = individualsAndMovingRange([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]);
    expect(chart.center).toBeCloseTo(50.81, 12);
    // The page takes 1.128 for d2; its limits agree to about 1/3000 of their distance.
    expect(Math.abs((chart.location.lower[0] ?? 0) - 45.8159)).toBeLessThan(0.002);
    expect(Math.abs((chart.location.upper[0] ?? 0) - 55.8041)).toBeLessThan(0.002);
    expect(chart.spread.values).toEqual(around([2, 2.3, 1.4, 3.5, 3.4, 1.4, 0.2, 1.2, 1.5], 12));
    expect(chart.spread.center[0]).toBeCloseTo(1.8778, 4);
    expect(chart.location.outside).toEqual([]);
  });

  test('one value is enough beside a given sigma', () => {
    const chart = individualsAndMovingRange([14], { center: 10, sigma: 1 });
    expect(chart.location).toMatchObject({ lower: [7], upper: [13], outside: [0] });
    expect(chart.spread).toMatchObject({ values: [], outside: [] });
  });

  test.each([
    { center: 0, sigma: 0.7, on: 2.1 },
    { center: 10, sigma: 0.1, on: 10.3 },
    { center: 0.8, sigma: 0.2, on: 0.2 },
    { center: 1e6, sigma: 0.001, on: 1000000.003 },
  ])('$on, a limit of $center with sigma $sigma, is not beyond it', ({ center, sigma, on }) => {
    const further = on + Math.sign(on - center) * 1e-3 * sigma;
    const { location } = individualsAndMovingRange([on, further], { center, sigma });
    expect(location.outside).toEqual([1]);
    expect(chartSignals(location, ['beyond_3_sigma'])).toEqual([{ index: 1, rule: 'beyond_3_sigma', points: [1] }]);
  });
});

describe('fractions and rates, worked examples', () => {
  test('thirty wafers of 50 chips: p 0.2313, limits 0.0524 and 0.4102, samples 15 and 23 beyond (NIST/SEMATECH e-Handbook, 6.3.3.2; samples from memory)', () => {
    const counts = [
      ...[12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6],
    ];
    const { center, chart } = fractionNonconforming(
      counts,
      counts.map(() => 50),
    );
    expect(center).toBeCloseTo(0.2313, 4);
    expect(chart.lower[0]).toBeCloseTo(0.0524, 4);
    expect(chart.upper[0]).toBeCloseTo(0.4102, 4);
    expect(chart.outside).toEqual([14, 22]);
  });

  test('purchase orders in samples of 80 to 120: p 0.0955, sample 11 beyond (Montgomery, 6th ed., table 7.4, from memory)', () => {
    const sizes = [
      ...[100, 80, 80, 100, 110, 110, 100, 100, 90, 90, 110, 120, 120, 120, 110],
      ...[80, 80, 80, 90, 100, 100, 100, 100, 90, 90],
    ];
    const counts = [12, 8, 6, 9, 10, 12, 11, 16, 10, 6, 20, 15, 9, 8, 6, 8, 10, 7, 5, 8, 5, 8, 10, 6, 9];
    const { center, chart } = fractionNonconforming(counts, sizes);
    expect(center).toBeCloseTo(234 / 2450, 14);
    expect(chart.outside).toEqual([10]);
    expect(chart.upper.slice(0, 2)).toEqual(around([0.184, 0.194], 2));
    expect(chart.lower.slice(0, 2)).toEqual([expect.closeTo(0.007, 2), 0]);
  });

  test('flaws of dyed cloth in 8 to 13 units: u 1.42, limits of each sample (Montgomery, 6th ed., table 7.11, from memory)', () => {
    const sizes = [10, 8, 13, 10, 9.5, 10, 12, 10.5, 12, 12.5];
    const counts = [14, 12, 20, 11, 7, 10, 21, 16, 19, 23];
    const { center, chart } = nonconformitiesPerUnit(counts, sizes);
    expect(center).toBeCloseTo(153 / 107.5, 14);
    // Printed from the rounded center 1.42, so a hundredth apart at most.
    const upper = [2.55, 2.68, 2.41, 2.55, 2.58, 2.55, 2.45, 2.52, 2.45, 2.43];
    const lower = [0.29, 0.16, 0.43, 0.29, 0.26, 0.29, 0.39, 0.32, 0.39, 0.41];
    for (const [j, printed] of upper.entries()) {
      expect(Math.abs((chart.upper[j] ?? 0) - printed)).toBeLessThan(0.01);
      expect(Math.abs((chart.lower[j] ?? 0) - (lower[j] ?? 0))).toBeLessThan(0.01);
    }
    expect(chart.outside).toEqual([]);
  });
});

describe('properties', () => {
  test('a shift moves the location chart and leaves the spread chart', () => {
    fc.assert(
      fc.property(subgroupsOf(4), fc.integer({ min: -10_000, max: 10_000 }), (groups, shift) => {
        for (const draw of [meanAndRange, meanAndSd]) {
          const chart = draw(groups);
          const moved = draw(groups.map((values) => values.map((value) => value + shift)));
          expect(moved.sigma).toBeCloseTo(chart.sigma, 9);
          expect(moved.location.upper).toEqual(
            around(
              chart.location.upper.map((value) => value + shift),
              9,
            ),
          );
          expect(moved.spread.values).toEqual(around(chart.spread.values, 9));
        }
      }),
    );
  });

  test('the order inside a subgroup changes nothing, and a change of unit scales everything', () => {
    fc.assert(
      fc.property(subgroupsOf(3), (groups) => {
        const chart = meanAndRange(groups);
        const reversed = meanAndRange(groups.map((values) => values.toReversed()));
        expect(reversed.location.upper).toEqual(around(chart.location.upper, 10));
        const scaled = meanAndRange(groups.map((values) => values.map((value) => 4 * value)));
        expect(scaled.sigma).toBeCloseTo(4 * chart.sigma, 9);
        expect(scaled.location.outside).toEqual(chart.location.outside);
      }),
    );
  });

  test('limits of fractions stay within 0 and 1 around the center, and close in on it as samples grow', () => {
    const sample = fc
      .integer({ min: 1, max: 500 })
      .chain((size) => fc.record({ size: fc.constant(size), count: fc.integer({ min: 0, max: size }) }));
    fc.assert(
      fc.property(fc.array(sample, { minLength: 1, maxLength: 20 }), (samples) => {
        const { center, chart } = fractionNonconforming(
          samples.map(({ count }) => count),
          samples.map(({ size }) => size),
        );
        for (const [j, upper] of chart.upper.entries()) {
          const lower = chart.lower[j] ?? Number.NaN;
          expect(lower).toBeGreaterThanOrEqual(0);
          expect(lower).toBeLessThanOrEqual(center);
          expect(upper).toBeGreaterThanOrEqual(center);
          expect(upper).toBeLessThanOrEqual(1);
          for (const [k, other] of chart.upper.entries()) {
            if ((samples[j]?.size ?? 0) > (samples[k]?.size ?? 0)) expect(upper).toBeLessThanOrEqual(other);
          }
        }
      }),
    );
  });

  test('fractions of conforming units mirror those of nonconforming ones', () => {
    const counts = [1, 9, 2, 0, 30];
    const sizes = [40, 50, 60, 20, 45];
    const { chart } = fractionNonconforming(counts, sizes);
    const good = fractionNonconforming(
      counts.map((count, j) => (sizes[j] ?? 0) - count),
      sizes,
    ).chart;
    expect(good.lower).toEqual(
      around(
        chart.upper.map((value) => 1 - value),
        13,
      ),
    );
    expect(good.outside).toEqual(chart.outside);
    expect(chart.outside.length).toBeGreaterThan(0);
  });

  test('rates count per unit: double size and double count give the same point and narrower limits', () => {
    const once = nonconformitiesPerUnit([4, 6], [2, 3], 2).chart;
    const twice = nonconformitiesPerUnit([8, 12], [4, 6], 2).chart;
    expect(twice.values).toEqual(once.values);
    expect(twice.sigma).toEqual(
      around(
        once.sigma.map((sigma) => sigma / Math.SQRT2),
        13,
      ),
    );
  });
});

describe('run rules on a chart', () => {
  test('a mean of decimals on the center line is on no side', () => {
    // Eight subgroups that deviate by +d, -e, e - d from the center: their means are the center as written, but not always
    // to the last bit.
    const tenths = fc.integer({ min: 1, max: 40 });
    fc.assert(
      fc.property(fc.integer({ min: 50, max: 2000 }), tenths, tenths, (center, d, e) => {
        const group = [center + d, center - e, center + e - d].map((value) => value / 10);
        const { location } = meanAndRange(
          Array.from({ length: 8 }, () => group),
          { center: center / 10, sigma: 1 },
        );
        expect(chartSignals(location, ['eight_same_side'])).toEqual([]);
      }),
    );
  });

  test('samples of differing size are judged by their standardized points', () => {
    // Both fractions are 0.2; 2.5 sigma of 100 units, but less than 1 sigma of 9.
    const { chart } = fractionNonconforming([20, 2, 20], [100, 10, 100], 0.12);
    expect(chartSignals(chart, ['two_of_three_beyond_2_sigma'])).toEqual([
      { index: 2, rule: 'two_of_three_beyond_2_sigma', points: [0, 2] },
    ]);
  });

  test('points without spread have no zones: undefined', () => {
    const { location, sigma } = meanAndRange([
      [5, 5],
      [5, 5],
    ]);
    expect(sigma).toBe(0);
    expect(location).toMatchObject({ lower: [5, 5], upper: [5, 5], outside: [] });
    expect(chartSignals(location, ['beyond_3_sigma'])).toBeNull();
    expect(chartSignals(fractionNonconforming([0, 0], [5, 6]).chart, ['nine_same_side'])).toBeNull();
  });
});

describe('data without spread', () => {
  test('constant values under an offset give limits exactly on the center line', () => {
    const chart = individualsAndMovingRange([1e7 + 0.1, 1e7 + 0.1, 1e7 + 0.1]);
    expect(chart.sigma).toBe(0);
    expect(chart.location.lower).toEqual([1e7 + 0.1, 1e7 + 0.1, 1e7 + 0.1]);
    expect(chart.location.outside).toEqual([]);
  });

  test('subgroups that differ without a spread inside are all beyond', () => {
    expect(
      meanAndSd([
        [1, 1],
        [3, 3],
      ]).location.outside,
    ).toEqual([0, 1]);
  });

  test.each([
    { what: 'none', counts: [0, 0], center: 0 },
    { what: 'all', counts: [7, 9], center: 1 },
  ])('$what nonconforming: limits on the center line, no point beyond', ({ counts, center }) => {
    const found = fractionNonconforming(counts, [7, 9]);
    expect(found.center).toBe(center);
    expect(found.chart).toMatchObject({ lower: [center, center], upper: [center, center], outside: [] });
  });
});

describe('inputs that make no sense', () => {
  const refused = (run: () => unknown, code: string, key: string): void => {
    expect(run).toThrow(expect.objectContaining({ name: 'QualityError', code, key }));
  };

  test.each([
    { groups: [], code: 'empty', key: 'subgroups' },
    { groups: [[1, 2], []], code: 'empty', key: 'subgroups[1]' },
    { groups: [[1]], code: 'too-few', key: 'subgroups[0]' },
    { groups: [[1, Number.NaN]], code: 'not-finite', key: 'subgroups[0][1]' },
    { groups: [[-1.5e308, 1.5e308]], code: 'out-of-range', key: 'points[0]' },
  ])('subgroups $groups are refused as $code', ({ groups, code, key }) => {
    refused(() => meanAndRange(groups), code, key);
    refused(() => meanAndSd(groups), code, key);
  });

  test.each([
    { values: [], standard: { center: null, sigma: null }, code: 'empty', key: 'values' },
    { values: [1], standard: { center: null, sigma: null }, code: 'too-few', key: 'values' },
    { values: [1, Number.POSITIVE_INFINITY], standard: { center: 0, sigma: 1 }, code: 'not-finite', key: 'values[1]' },
    { values: [1, 2], standard: { center: Number.NaN, sigma: 1 }, code: 'not-finite', key: 'center' },
    { values: [1, 2], standard: { center: 0, sigma: 0 }, code: 'out-of-range', key: 'sigma' },
    { values: [1, 2], standard: { center: 0, sigma: -1 }, code: 'out-of-range', key: 'sigma' },
  ])('values $values with $standard are refused as $code', ({ values, standard, code, key }) => {
    refused(() => individualsAndMovingRange(values, standard), code, key);
  });

  test.each([
    { counts: [], sizes: [], code: 'empty', key: 'counts' },
    { counts: [1], sizes: [], code: 'empty', key: 'sizes' },
    { counts: [1, 2], sizes: [5], code: 'unequal-sizes', key: 'sizes' },
    { counts: [0], sizes: [0], code: 'out-of-range', key: 'sizes[0]' },
    { counts: [0], sizes: [-2], code: 'out-of-range', key: 'sizes[0]' },
    { counts: [-1], sizes: [5], code: 'out-of-range', key: 'counts[0]' },
    { counts: [1.5], sizes: [5], code: 'not-whole', key: 'counts[0]' },
    { counts: [Number.NaN], sizes: [5], code: 'not-finite', key: 'counts[0]' },
  ])('counts $counts of $sizes are refused as $code of $key', ({ counts, sizes, code, key }) => {
    refused(() => fractionNonconforming(counts, sizes), code, key);
    refused(() => nonconformitiesPerUnit(counts, sizes), code, key);
  });

  test('a count above its sample size is a fraction above 1, but a rate like any other', () => {
    refused(() => fractionNonconforming([1, 6], [5, 5]), 'out-of-range', 'counts[1]');
    refused(() => fractionNonconforming([1], [5.5]), 'not-whole', 'sizes[0]');
    expect(nonconformitiesPerUnit([6], [5.5]).center).toBeCloseTo(6 / 5.5, 14);
  });

  test.each([-0.1, 1.1])('a given fraction of %d is refused', (center) => {
    refused(() => fractionNonconforming([1], [5], center), 'out-of-range', 'center');
  });

  test('a given rate below 0 is refused', () => {
    refused(() => nonconformitiesPerUnit([1], [5], -1), 'out-of-range', 'center');
  });
});

describe('barolot calc control-chart', () => {
  test.each([
    { kind: 'xbar_r', lists: ['mean', 'range'] },
    { kind: 'xbar_s', lists: ['mean', 'sd'] },
    { kind: 'individuals', lists: ['individual', 'moving_range'] },
    { kind: 'p', lists: ['fraction'] },
    { kind: 'u', lists: ['rate'] },
  ])('$kind answers its example with $lists', ({ kind, lists }) => {
    const example = controlChartTopic.calculations.find((each) => each.kind === kind)?.example;
    const answered = answer(controlChartTopic, example);
    const result = 'result' in answered ? (answered.result as Record<string, unknown>) : {};
    expect(result).toMatchObject({ center: expect.any(Number) as number, signals: expect.any(Array) as unknown[] });
    for (const list of lists) {
      expect(Object.keys(result[list] ?? {})).toEqual(['values', 'center', 'sigma', 'lcl', 'ucl', 'out_of_limits']);
    }
  });

  test('run rules are judged when they are asked for', () => {
    const values = [1, 2, 3, 4, 5, 6, 2];
    const plain = answer(controlChartTopic, { kind: 'individuals', values });
    const ruled = answer(controlChartTopic, { kind: 'individuals', values, rules: ['six_trend'] });
    expect(plain).toMatchObject({ result: { signals: [] } });
    expect(ruled).toMatchObject({
      result: { signals: [{ index: 5, rule: 'six_trend', points: [0, 1, 2, 3, 4, 5] }] },
    });
  });

  test('a rule that does not exist is named', () => {
    const answered = answer(controlChartTopic, { kind: 'individuals', values: [1, 2], rules: ['five_trend'] });
    expect(answered).toMatchObject({ problem: { code: 'invalid', key: 'rules[0]' } });
  });
});
