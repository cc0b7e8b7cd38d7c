import { describe, expect, test } from 'vitest';
import { gaugeLinearity } from '../../../../server/quality/gauge/gauge-linearity.ts';
import { qualityCases } from '../../../support/quality-cases.ts';

const REFERENCES = [2, 4, 8];
const READINGS = [
  [2.125, 2.25, 2],
  [4, 4.125, 4.25],
  [8.5, 8.25, 8.25, 8.375],
];

describe('linearity of a gauge', () => {
  test('example of the AIAG manual (from memory): slope, intercept, s and R squared as printed', () => {
    const given = qualityCases('gauge').find(({ id }) => id === 'linearity-aiag-5x12');
    const printed = given?.expected as Record<string, number>;
    const { line, slopeTest, interceptTest } = gaugeLinearity(
      given?.input['references'] as number[],
      given?.input['readings'] as number[][],
    );
    expect(line.slope).toBeCloseTo(printed['published_slope'] ?? 0, 6);
    expect(line.intercept).toBeCloseTo(printed['published_intercept'] ?? 0, 6);
    expect(line.residualSd).toBeCloseTo(printed['published_s'] ?? 0, 5);
    expect(line.rSquared).toBeCloseTo(printed['published_r_squared'] ?? 0, 3);
    // t of slope and intercept are printed there as -12.043 and 10.158.
    expect(slopeTest.t).toBeCloseTo(-12.043, 3);
    expect(interceptTest.t).toBeCloseTo(10.158, 3);
  });

  test('a constant bias lifts every fit and every bound by itself and leaves the slope', () => {
    const before = gaugeLinearity(REFERENCES, READINGS, { processVariation: 5 });
    const after = gaugeLinearity(
      REFERENCES,
      READINGS.map((each) => each.map((reading) => reading + 0.5)),
      { processVariation: 5 },
    );
    expect(after.averageBias).toBeCloseTo(before.averageBias + 0.5, 13);
    expect(after.line.slope).toBeCloseTo(before.line.slope ?? 0, 13);
    expect(after.linearity).toBeCloseTo(before.linearity ?? 0, 12);
    for (const [i, point] of after.band.entries()) {
      expect(point.fit).toBeCloseTo((before.band[i]?.fit ?? 0) + 0.5, 12);
      expect(point.bounds?.lower).toBeCloseTo((before.band[i]?.bounds?.lower ?? 0) + 0.5, 12);
    }
  });

  test('references and readings in another order change nothing', () => {
    const before = gaugeLinearity(REFERENCES, READINGS);
    const after = gaugeLinearity(
      REFERENCES.toReversed(),
      READINGS.toReversed().map((each) => each.toReversed()),
    );
    expect(after.line.slope).toBeCloseTo(before.line.slope ?? 0, 13);
    expect(after.line.residualSd).toBeCloseTo(before.line.residualSd ?? 0, 13);
    expect(after.band.toReversed().map(({ fit }) => fit?.toFixed(12))).toEqual(
      before.band.map(({ fit }) => fit?.toFixed(12)),
    );
  });

  test('a change of unit scales bias and linearity and leaves percents and tests', () => {
    const before = gaugeLinearity(REFERENCES, READINGS, { processVariation: 5 });
    const kilo = (each: number): number => each * 1024;
    const after = gaugeLinearity(
      REFERENCES.map(kilo),
      READINGS.map((each) => each.map(kilo)),
      {
        processVariation: kilo(5),
      },
    );
    expect(after.linearity).toBeCloseTo(kilo(before.linearity ?? 0), 9);
    expect(after.percentLinearity).toBeCloseTo(before.percentLinearity ?? 0, 12);
    expect(after.percentAverageBias).toBeCloseTo(before.percentAverageBias ?? 0, 12);
    expect(after.slopeTest.p).toBeCloseTo(before.slopeTest.p ?? 0, 12);
  });

  test('the band is narrowest at the mean of the references and wider at more confidence', () => {
    const given = (confidence: number) =>
      gaugeLinearity([1, 2, 3, 4, 5], [[1], [2.5], [3], [4], [5.5]], { confidence });
    const widths = (confidence: number): number[] =>
      given(confidence).band.map(({ bounds }) => (bounds?.upper ?? 0) - (bounds?.lower ?? 0));
    const [first = 0, second = 0, third = 0, fourth = 0, fifth = 0] = widths(0.95);
    expect(third).toBeLessThan(second);
    expect(second).toBeLessThan(first);
    expect(fourth).toBeCloseTo(second, 12);
    expect(fifth).toBeCloseTo(first, 12);
    expect(widths(0.99)[2]).toBeGreaterThan(third);
  });

  test('the band says where the gauge is proven to be off', () => {
    const readings = [
      [10.01, 9.99],
      [20.01, 19.99],
      [30.51, 30.49],
    ];
    const { band, zeroInsideBandEverywhere } = gaugeLinearity([10, 20, 30], readings);
    expect(band.at(-1)?.containsZero).toBe(false);
    expect(zeroInsideBandEverywhere).toBe(false);
    const centred = gaugeLinearity([10, 20], [readings[0] ?? [], readings[1] ?? []]);
    expect(centred.zeroInsideBandEverywhere).toBe(true);
  });

  test('a gauge that reads every reference exactly: no bias, no spread, tests undefined', () => {
    const got = gaugeLinearity(
      [1, 2, 3],
      [
        [1, 1],
        [2, 2],
        [3, 3],
      ],
      { processVariation: 2 },
    );
    expect(got.averageBias).toBe(0);
    expect(got.line).toMatchObject({ slope: 0, residualSd: 0, rSquared: null });
    expect([got.slopeTest, got.interceptTest]).toEqual([
      { t: null, p: null },
      { t: null, p: null },
    ]);
    expect(got.perReference[0]).toMatchObject({ bias: 0, sd: 0, t: null, p: null, bounds: { lower: 0, upper: 0 } });
    expect(got.zeroInsideBandEverywhere).toBe(true);
    expect(got.linearity).toBe(0);
  });

  test('one reading at a reference has a bias, but no spread and no test', () => {
    const got = gaugeLinearity([1, 2, 3], [[1.5], [2, 2.25], [3]]);
    expect(got.perReference[0]).toEqual({ reference: 1, n: 1, bias: 0.5, sd: null, t: null, p: null, bounds: null });
    expect(got.line.df).toBe(2);
  });

  test('two readings in all give a line without a band', () => {
    const got = gaugeLinearity([1, 2], [[1.5], [2]]);
    expect(got.line).toMatchObject({ slope: -0.5, intercept: 1, residualSd: null });
    expect(got.band[0]).toEqual({ reference: 1, fit: 0.5, bounds: null, containsZero: null });
    expect(got.zeroInsideBandEverywhere).toBeNull();
    expect(got.slopeTest).toEqual({ t: null, p: null });
  });

  test('a single reference has a bias but no line', () => {
    const got = gaugeLinearity([5], [[5.5, 5.25]], { processVariation: 1 });
    expect(got.averageBias).toBe(0.375);
    expect(got).toMatchObject({ line: { slope: null, intercept: null }, linearity: null, percentLinearity: null });
    expect(got.band[0]).toEqual({ reference: 5, fit: null, bounds: null, containsZero: null });
    expect(got.percentAverageBias).toBe(37.5);
  });

  test('without a process variation there is no linearity figure', () => {
    const got = gaugeLinearity(REFERENCES, READINGS);
    expect([got.linearity, got.percentLinearity, got.percentAverageBias]).toEqual([null, null, null]);
  });

  test.each([
    { what: 'nothing', references: [], readings: [], code: 'empty', key: 'references' },
    {
      what: 'a reference without its list',
      references: [1, 2],
      readings: [[1]],
      code: 'unequal-sizes',
      key: 'readings',
    },
    { what: 'an empty list', references: [1, 2], readings: [[1], []], code: 'empty', key: 'readings[1]' },
    { what: 'a single reading in all', references: [1], readings: [[1]], code: 'too-few', key: 'readings' },
    { what: 'a NaN', references: [1, 2], readings: [[1], [Number.NaN]], code: 'not-finite', key: 'readings[1][0]' },
    {
      what: 'an infinite reference',
      references: [1, 1 / 0],
      readings: [[1], [2]],
      code: 'not-finite',
      key: 'references[1]',
    },
    {
      what: 'references beyond squaring',
      references: [1, 1e200],
      readings: [[1], [1e200]],
      code: 'out-of-range',
      key: 'references',
    },
    {
      what: 'readings beyond squaring',
      references: [1, 2],
      readings: [[1e200], [1]],
      code: 'out-of-range',
      key: 'readings',
    },
  ])('$what is refused', ({ references, readings, code, key }) => {
    expect(() => gaugeLinearity(references, readings)).toThrow(expect.objectContaining({ code, key }));
  });

  test.each([0, -1, Number.NaN])('a process variation of %d is refused', (processVariation) => {
    expect(() => gaugeLinearity(REFERENCES, READINGS, { processVariation })).toThrow(
      expect.objectContaining({ key: 'processVariation' }),
    );
  });
});
