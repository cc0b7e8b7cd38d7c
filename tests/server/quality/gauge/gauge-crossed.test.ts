import { describe, expect, test } from 'vitest';
import { gaugeTopic } from '../../../../server/cli/calc/gauge.ts';
import { answer } from '../../../../server/cli/calc/answer.ts';
import { gaugeCrossed } from '../../../../server/quality/gauge/gauge-crossed.ts';
import type { CrossedSource, GaugeCrossed } from '../../../../server/quality/gauge/gauge-crossed.ts';
import { stream } from '../../../../station/random.ts';
import { MONTGOMERY_RUNGER, crossedReadings } from '../../../support/gauge-data.ts';
import { qualityCases } from '../../../support/quality-cases.ts';

const SOURCES = ['repeatability', 'appraiser', 'interaction', 'reproducibility', 'gauge', 'part', 'total'] as const;
const TRUTH = { part: 1, appraiser: 0.05, interaction: 0.04, repeatability: 0.1 };
const USUAL = { parts: 10, appraisers: 3, trials: 3 };

const study = (seed: number, layout = USUAL): number[][][] =>
  crossedReadings(stream(seed, 'crossed gauge study', 0), TRUTH, layout);
const scaled = (given: number[][][], factor: number, shift = 0): number[][][] =>
  given.map((part) => part.map((cell) => cell.map((each) => each * factor + shift)));

/** Upper over lower bound of a standard deviation, the width that does not depend on the estimate. */
const spread = (given: GaugeCrossed, source: CrossedSource): number => {
  const { lower, upper } = given.withInteraction.shares[source].sdBounds;
  return upper / lower;
};

describe('crossed gauge study', () => {
  test('variances of Montgomery & Runger 1993 (from memory), interaction pooled', () => {
    const got = gaugeCrossed(MONTGOMERY_RUNGER, { toleranceWidth: 55 });
    expect(got).toMatchObject({ parts: 20, appraisers: 3, trials: 2, poolInteraction: true });
    expect(got.reported).toBe('withoutInteraction');
    const { repeatability, part, appraiser } = got.withoutInteraction.shares;
    expect(repeatability.variance).toBeCloseTo(0.88, 2);
    expect(part.variance).toBeCloseTo(10.25, 2);
    expect(appraiser.variance).toBeCloseTo(0.0106, 4);
    expect(got.withoutInteraction.shares.gauge.variance).toBeCloseTo(0.89, 2);
  });

  test('table of the AIAG manual: ratios to repeatability as printed (from memory)', () => {
    const given = qualityCases('gauge').find(({ id }) => id === 'crossed-aiag-10x3x3');
    const got = gaugeCrossed(given?.input['data_part_appraiser_trial'] as number[][][]);
    type Printed = Record<string, { ss: number; df: number; ms?: number; F?: number; F_vs_repeatability?: number }>;
    const printed = (given?.expected as { published_anova_4dp: Printed }).published_anova_4dp;
    for (const line of ['part', 'appraiser', 'interaction', 'repeatability'] as const) {
      expect(got.anova[line].ss, line).toBeCloseTo(printed[line]?.ss ?? 0, 4);
      expect(got.anova[line].ms, line).toBeCloseTo(printed[line]?.ms ?? 0, 5);
      expect(got.anova[line].df, line).toBe(printed[line]?.df);
    }
    expect(got.anova.part.ms / got.anova.repeatability.ms).toBeCloseTo(printed['part']?.F_vs_repeatability ?? 0, 2);
    expect(got.anova.appraiser.ms / got.anova.repeatability.ms).toBeCloseTo(
      printed['appraiser']?.F_vs_repeatability ?? 0,
      2,
    );
    expect(got.anova.interaction.f).toBeCloseTo(printed['interaction']?.F ?? 0, 3);
  });

  test('repeatability has the exact chi-square bounds, whatever the interaction does', () => {
    const { anova, withInteraction } = gaugeCrossed(study(1));
    const { lower, upper } = withInteraction.shares.repeatability.varianceBounds;
    // 60 degrees of freedom: chi-square 83.2977 and 40.4817, printed tables (NIST/SEMATECH e-Handbook 1.3.6.7.4).
    expect(anova.repeatability.df).toBe(60);
    expect(anova.repeatability.ss / lower).toBeCloseTo(83.2977, 3);
    expect(anova.repeatability.ss / upper).toBeCloseTo(40.4817, 3);
  });

  test('a shift changes the mean alone, a unit squares in the variances, percents stay', () => {
    const readings = study(2);
    const before = gaugeCrossed(readings, { toleranceWidth: 8 });
    const after = gaugeCrossed(scaled(readings, 1000, 1e6), { toleranceWidth: 8000 });
    expect(after.grandMean).toBeCloseTo(before.grandMean * 1000 + 1e6, 6);
    for (const source of SOURCES) {
      const [a, b] = [before.withInteraction.shares[source], after.withInteraction.shares[source]];
      expect(b.variance / 1e6, source).toBeCloseTo(a.variance, 9);
      expect(b.varianceBounds.lower / 1e6, source).toBeCloseTo(a.varianceBounds.lower, 9);
      expect(b.varianceBounds.upper / 1e6, source).toBeCloseTo(a.varianceBounds.upper, 7);
      expect(b.percentStudyVariation, source).toBeCloseTo(a.percentStudyVariation ?? 0, 7);
      expect(b.percentTolerance, source).toBeCloseTo(a.percentTolerance ?? 0, 7);
    }
    expect(after.withInteraction.distinctCategories.categories).toBe(
      before.withInteraction.distinctCategories.categories,
    );
  });

  test('parts, appraisers and trials in another order change nothing', () => {
    const readings = study(3);
    const before = gaugeCrossed(readings);
    const after = gaugeCrossed(readings.toReversed().map((part) => part.toReversed().map((cell) => cell.toReversed())));
    for (const source of SOURCES) {
      const [a, b] = [before.withInteraction.shares[source], after.withInteraction.shares[source]];
      expect(b.variance, source).toBeCloseTo(a.variance, 13);
      expect(b.varianceBounds.upper, source).toBeCloseTo(a.varianceBounds.upper, 11);
    }
    expect(after.reported).toBe(before.reported);
  });

  test('variances add up, and shares of the total are those of the variances', () => {
    const { shares } = gaugeCrossed(study(4)).withInteraction;
    const { repeatability, appraiser, interaction, reproducibility, gauge, part, total } = shares;
    expect(reproducibility.variance).toBe(appraiser.variance + interaction.variance);
    expect(gauge.variance).toBe(repeatability.variance + reproducibility.variance);
    expect(total.variance).toBe(gauge.variance + part.variance);
    expect((gauge.percentContribution ?? 0) + (part.percentContribution ?? 0)).toBeCloseTo(100, 12);
    expect((gauge.percentStudyVariation ?? 0) ** 2 + (part.percentStudyVariation ?? 0) ** 2).toBeCloseTo(1e4, 9);
    expect(gauge.studyVariation).toBe(6 * gauge.sd);
    expect(gauge.percentTolerance).toBeNull();
    expect(gauge.percentToleranceBounds).toBeNull();
  });

  test('more trials narrow repeatability, more parts the parts, more appraisers the appraisers', () => {
    const base = gaugeCrossed(study(5));
    expect(spread(gaugeCrossed(study(5, { ...USUAL, trials: 12 })), 'repeatability')).toBeLessThan(
      spread(base, 'repeatability'),
    );
    expect(spread(gaugeCrossed(study(5, { ...USUAL, parts: 60 })), 'part')).toBeLessThan(spread(base, 'part'));
    expect(spread(gaugeCrossed(study(5, { ...USUAL, appraisers: 30 })), 'appraiser')).toBeLessThan(
      spread(base, 'appraiser'),
    );
  });

  test('99 % bounds hold the 90 % ones', () => {
    const readings = study(6);
    const [wide, narrow] = [gaugeCrossed(readings, { confidence: 0.99 }), gaugeCrossed(readings, { confidence: 0.9 })];
    for (const source of SOURCES) {
      const [w, n] = [wide, narrow].map((each) => each.withInteraction.shares[source].varianceBounds);
      expect(w?.lower, source).toBeLessThanOrEqual(n?.lower ?? 0);
      expect(w?.upper, source).toBeGreaterThan(n?.upper ?? 0);
    }
    const [w, n] = [wide, narrow].map((each) => each.withInteraction.studyVariationBounds?.gauge);
    expect(w?.lower).toBeLessThan(n?.lower ?? 0);
    expect(w?.upper).toBeGreaterThan(n?.upper ?? 0);
  });

  test('the interaction is pooled above p 0.25 and not at or below it', () => {
    for (let seed = 0; seed < 40; seed += 1) {
      const got = gaugeCrossed(crossedReadings(stream(seed, 'pooling', 0), { ...TRUTH, interaction: 0.01 }, USUAL));
      expect(got.poolInteraction).toBe((got.anova.interaction.p ?? 0) > 0.25);
      expect(got.reported).toBe(got.poolInteraction ? 'withoutInteraction' : 'withInteraction');
      expect(got.withoutInteraction.shares.interaction).toMatchObject({
        variance: 0,
        varianceBounds: { lower: 0, upper: 0 },
      });
    }
  });

  test('pooled answer: repeatability is the mean square of interaction and repeatability together', () => {
    const { anova, anovaPooled, withoutInteraction } = gaugeCrossed(study(7));
    expect(anovaPooled.repeatability.ss).toBe(anova.interaction.ss + anova.repeatability.ss);
    expect(anovaPooled.repeatability.df).toBe(anova.interaction.df + anova.repeatability.df);
    expect(withoutInteraction.shares.repeatability.variance).toBe(anovaPooled.repeatability.ms);
  });
});

describe('bounds of simulated crossed studies with known variances', () => {
  // 1000 studies, seed 20: each two-sided 95 % bound misses 50 times by its confidence, with a binomial standard deviation
  // of 6.9. Exact bounds must lie within four of these; modified large-sample ones are known to be on the careful side
  // (Burdick, Borror & Montgomery 2005), so they must not miss more often than that.
  const STUDIES = 1000;
  const DEVIATION = Math.sqrt(STUDIES * 0.05 * 0.95);
  test.each([
    { name: 'usual layout', truth: TRUTH, layout: USUAL },
    { name: 'poor gauge', truth: { part: 0.1, appraiser: 0.3, interaction: 0.2, repeatability: 0.1 }, layout: USUAL },
    { name: 'four nests', truth: TRUTH, layout: { parts: 5, appraisers: 4, trials: 2 } },
  ])('$name: about 95 in 100 hold the truth', ({ truth, layout }) => {
    const { repeatability, appraiser, interaction, part } = truth;
    const gauge = repeatability + appraiser + interaction;
    const all = { ...truth, reproducibility: appraiser + interaction, gauge, total: gauge + part };
    const gaugeShare = 100 * Math.sqrt(gauge / (gauge + part));
    const misses = Object.fromEntries([...SOURCES, 'share'].map((source) => [source, 0]));
    const count = (source: string, value: number, bounds: { lower: number; upper: number } | undefined): void => {
      if (bounds === undefined || bounds.lower > value || bounds.upper < value)
        misses[source] = (misses[source] ?? 0) + 1;
    };
    const chance = stream(20, 'coverage of bounds', 0);
    for (let k = 0; k < STUDIES; k += 1) {
      const got = gaugeCrossed(crossedReadings(chance, truth, layout)).withInteraction;
      for (const source of SOURCES) count(source, all[source], got.shares[source].varianceBounds);
      count('share', gaugeShare, got.studyVariationBounds?.gauge);
    }
    for (const [source, missed] of Object.entries(misses)) {
      expect(missed, source).toBeLessThanOrEqual(50 + 4 * DEVIATION);
      // Bounds that never miss would be no bounds.
      expect(missed, source).toBeGreaterThan(0);
    }
    expect(misses['repeatability']).toBeGreaterThanOrEqual(50 - 4 * DEVIATION);
  });
});

describe('crossed studies without some variation', () => {
  const constant = Array.from({ length: 3 }, () => [
    [0.1, 0.1],
    [0.1, 0.1],
  ]);

  test('nothing varies: variances zero, shares and categories undefined', () => {
    const got = gaugeCrossed(constant, { toleranceWidth: 1 });
    for (const answered of [got.withInteraction, got.withoutInteraction]) {
      for (const source of SOURCES) {
        expect(answered.shares[source]).toMatchObject({ variance: 0, percentContribution: null, percentTolerance: 0 });
        expect(answered.shares[source].varianceBounds).toEqual({ lower: 0, upper: 0 });
      }
      expect(answered.distinctCategories).toEqual({ raw: null, categories: null, rawSqrt2: null });
      expect(answered.studyVariationBounds).toBeNull();
    }
    expect(got.anova.interaction).toMatchObject({ f: null, p: null });
    expect(got.reported).toBe('withInteraction');
  });

  test('only the parts vary: a gauge without variation has no number of categories', () => {
    const got = gaugeCrossed(
      [1, 2, 4].map((part) => [
        [part, part],
        [part, part],
      ]),
    );
    expect(got.withInteraction.shares.gauge.variance).toBe(0);
    expect(got.withInteraction.shares.part.percentStudyVariation).toBe(100);
    expect(got.withInteraction.distinctCategories.categories).toBeNull();
    expect(got.withInteraction.studyVariationBounds?.gauge).toEqual({ lower: 0, upper: 0 });
  });

  test('equal parts: one category', () => {
    const got = gaugeCrossed(
      [0, 0, 0].map(() => [
        [1, 2],
        [2, 1],
      ]),
    );
    expect(got.withInteraction.shares.part.variance).toBe(0);
    expect(got.withInteraction.distinctCategories).toMatchObject({ raw: 0, categories: 1 });
  });
});

describe('crossed studies that are refused', () => {
  const good = study(8, { parts: 3, appraisers: 2, trials: 2 });
  test.each([
    { what: 'no parts', given: [], code: 'empty', key: 'readings' },
    { what: 'one part', given: good.slice(0, 1), code: 'too-few', key: 'readings' },
    { what: 'one appraiser', given: good.map((part) => part.slice(0, 1)), code: 'too-few', key: 'readings[0]' },
    {
      what: 'one trial, which leaves repeatability and interaction together',
      given: good.map((part) => part.map((cell) => cell.slice(0, 1))),
      code: 'too-few',
      key: 'readings[0][0]',
    },
    {
      what: 'a missing cell',
      given: [...good.slice(0, 2), good[2]?.slice(1) ?? []],
      code: 'unequal-sizes',
      key: 'readings[2]',
    },
  ])('$what', ({ given, code, key }) => {
    expect(() => gaugeCrossed(given)).toThrow(expect.objectContaining({ code, key }));
  });

  test.each([0, -1, Number.NaN, Number.POSITIVE_INFINITY])('a tolerance width of %d', (toleranceWidth) => {
    expect(() => gaugeCrossed(good, { toleranceWidth })).toThrow(expect.objectContaining({ key: 'toleranceWidth' }));
  });

  test.each([0, 1, 95])('a confidence of %d', (confidence) => {
    expect(() => gaugeCrossed(good, { confidence })).toThrow(
      expect.objectContaining({ code: 'out-of-range', key: 'confidence' }),
    );
  });

  test('barolot calc names its own keys', () => {
    const asked = (more: object) => answer(gaugeTopic, { kind: 'crossed', data_part_appraiser_trial: good, ...more });
    expect(asked({ data_part_appraiser_trial: [good[0]] })).toMatchObject({
      problem: { code: 'too-few', key: 'data_part_appraiser_trial' },
    });
    expect(asked({ tolerance_width: 0 })).toMatchObject({ problem: { key: 'tolerance_width' } });
    expect(asked({ appraiser_is: 'station' })).toMatchObject({
      result: { appraiser_is: 'station', with_interaction: { percent_tolerance: { gauge_rr: null } } },
    });
  });
});
