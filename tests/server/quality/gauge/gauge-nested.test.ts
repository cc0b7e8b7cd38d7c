import { describe, expect, test } from 'vitest';
import { gaugeNested } from '../../../../server/quality/gauge/gauge-nested.ts';
import { stream } from '../../../../station/random.ts';
import { MONTGOMERY_NESTED, nestedReadings } from '../../../support/gauge-data.ts';

const SOURCES = ['repeatability', 'reproducibility', 'gauge', 'part', 'total'] as const;
const TRUTH = { part: 1, appraiser: 0.2, repeatability: 0.1 };
const LAYOUT = { appraisers: 5, parts: 4, trials: 2 };
const study = (seed: number, layout = LAYOUT): number[][][] =>
  nestedReadings(stream(seed, 'nested gauge study', 0), TRUTH, layout);

describe('nested gauge study', () => {
  test('variances of the batches of Montgomery, Design and Analysis of Experiments (from memory)', () => {
    const { shares } = gaugeNested(MONTGOMERY_NESTED);
    expect(shares.repeatability.variance).toBeCloseTo(2.64, 2);
    expect(shares.part.variance).toBeCloseTo(1.71, 2);
    // The suppliers' estimate is below zero there and taken as zero.
    expect(shares.reproducibility.variance).toBe(0);
    expect(shares.gauge.variance).toBe(shares.repeatability.variance);
  });

  test('bounds of the same batches: numbers computed from the formulas with SciPy 1.17.1', () => {
    const { shares } = gaugeNested(MONTGOMERY_NESTED);
    const rows = [
      { source: 'repeatability', lower: 1.6089119348722438, upper: 5.107053154169819 },
      { source: 'reproducibility', lower: 0, upper: 24.038715939552244 },
      { source: 'gauge', lower: 0.7502409298899191, upper: 26.80383246606334 },
      { source: 'part', lower: 0.11754579338896809, upper: 7.729331044767582 },
      { source: 'total', lower: 3.014296319682591, upper: 28.9553474408395 },
    ] as const;
    for (const { source, lower, upper } of rows) {
      expect(shares[source].varianceBounds.lower, source).toBeCloseTo(lower, 10);
      expect(shares[source].varianceBounds.upper, source).toBeCloseTo(upper, 10);
      expect(shares[source].sdBounds.upper, source).toBeCloseTo(Math.sqrt(upper), 10);
    }
  });

  test('a shift changes the mean alone, a unit squares in the variances', () => {
    const readings = study(1);
    const before = gaugeNested(readings, { toleranceWidth: 4 });
    const moved = readings.map((a) => a.map((part) => part.map((each) => each * 1000 - 5e5)));
    const after = gaugeNested(moved, { toleranceWidth: 4000 });
    expect(after.grandMean).toBeCloseTo(before.grandMean * 1000 - 5e5, 6);
    for (const source of SOURCES) {
      expect(after.shares[source].variance / 1e6, source).toBeCloseTo(before.shares[source].variance, 9);
      expect(after.shares[source].percentTolerance, source).toBeCloseTo(before.shares[source].percentTolerance ?? 0, 7);
    }
  });

  test('appraisers, their parts and trials in another order change nothing', () => {
    const readings = study(2);
    const before = gaugeNested(readings);
    const after = gaugeNested(
      readings.toReversed().map((a, i) => (i % 2 === 0 ? a.toReversed() : a).map((part) => part.toReversed())),
    );
    for (const source of SOURCES) {
      expect(after.shares[source].variance, source).toBeCloseTo(before.shares[source].variance, 13);
    }
  });

  test('more trials narrow repeatability, more parts the parts, more appraisers reproducibility', () => {
    const spread = (layout: typeof LAYOUT, source: 'repeatability' | 'part' | 'reproducibility'): number => {
      const { lower, upper } = gaugeNested(study(3, layout)).shares[source].sdBounds;
      return upper / lower;
    };
    expect(spread({ ...LAYOUT, trials: 10 }, 'repeatability')).toBeLessThan(spread(LAYOUT, 'repeatability'));
    expect(spread({ ...LAYOUT, parts: 40 }, 'part')).toBeLessThan(spread(LAYOUT, 'part'));
    expect(spread({ ...LAYOUT, appraisers: 60 }, 'reproducibility')).toBeLessThan(spread(LAYOUT, 'reproducibility'));
  });

  // 1000 studies, seed 21: as for crossed studies, 50 misses wanted with a binomial standard deviation of 6.9, at most four
  // of these more.
  test('about 95 in 100 bounds of simulated studies hold the true variances', () => {
    const gauge = TRUTH.appraiser + TRUTH.repeatability;
    const truth = { ...TRUTH, reproducibility: TRUTH.appraiser, gauge, total: gauge + TRUTH.part };
    const share = 100 * Math.sqrt(gauge / truth.total);
    const chance = stream(21, 'coverage of bounds', 0);
    const misses = { repeatability: 0, reproducibility: 0, gauge: 0, part: 0, total: 0, share: 0 };
    for (let k = 0; k < 1000; k += 1) {
      const { shares, studyVariationBounds } = gaugeNested(nestedReadings(chance, TRUTH, LAYOUT));
      for (const source of SOURCES) {
        const { lower, upper } = shares[source].varianceBounds;
        if (lower > truth[source] || upper < truth[source]) misses[source] += 1;
      }
      const { lower = 100, upper = 0 } = studyVariationBounds?.gauge ?? {};
      if (lower > share || upper < share) misses.share += 1;
    }
    const deviation = Math.sqrt(1000 * 0.05 * 0.95);
    for (const [source, missed] of Object.entries(misses)) {
      expect(missed, source).toBeLessThanOrEqual(50 + 4 * deviation);
      expect(missed, source).toBeGreaterThan(0);
    }
    expect(misses.repeatability).toBeGreaterThanOrEqual(50 - 4 * deviation);
  });

  test('nothing varies: variances zero, shares, F and categories undefined', () => {
    const got = gaugeNested(
      [0, 0].map(() => [
        [0.7, 0.7],
        [0.7, 0.7],
      ]),
    );
    for (const source of SOURCES) {
      expect(got.shares[source]).toMatchObject({ variance: 0, percentStudyVariation: null });
    }
    expect(got.anova.appraiser).toMatchObject({ ss: 0, f: null, p: null });
    expect(got.anova.partWithinAppraiser).toMatchObject({ ss: 0, f: null, p: null });
    expect(got.distinctCategories.categories).toBeNull();
    expect(got.studyVariationBounds).toBeNull();
  });

  test.each([
    { what: 'nothing', given: [], code: 'empty', key: 'readings' },
    { what: 'one appraiser', given: study(4).slice(0, 1), code: 'too-few', key: 'readings' },
    { what: 'one part each', given: study(4).map((a) => a.slice(0, 1)), code: 'too-few', key: 'readings[0]' },
    {
      what: 'one trial',
      given: study(4).map((a) => a.map((p) => p.slice(0, 1))),
      code: 'too-few',
      key: 'readings[0][0]',
    },
    {
      what: 'an appraiser with fewer parts',
      given: [...study(4), study(4)[0]?.slice(1) ?? []],
      code: 'unequal-sizes',
      key: 'readings[5]',
    },
  ])('$what is refused', ({ given, code, key }) => {
    expect(() => gaugeNested(given)).toThrow(expect.objectContaining({ code, key }));
  });

  test.each([0, -2, Number.NaN])('a tolerance width of %d is refused', (toleranceWidth) => {
    expect(() => gaugeNested(study(5), { toleranceWidth })).toThrow(expect.objectContaining({ key: 'toleranceWidth' }));
  });
});
