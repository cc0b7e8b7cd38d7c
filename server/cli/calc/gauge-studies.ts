import * as z from 'zod';
import type { MeanSquare, TestedRow } from '../../quality/gauge/analysis-of-variance.ts';
import { POOLING_P, gaugeCrossed } from '../../quality/gauge/gauge-crossed.ts';
import type { GaugeCrossed } from '../../quality/gauge/gauge-crossed.ts';
import { gaugeNested } from '../../quality/gauge/gauge-nested.ts';
import type { DistinctCategories, Share, StudyAnswer } from '../../quality/gauge/gauge-shares.ts';
import type { Interval } from '../../quality/gauge/mean-square-bounds.ts';
import { calculation } from './topic.ts';

const readings = z.array(z.array(z.array(z.number())));
const toleranceWidth = z
  .number()
  .gt(0)
  .nullable()
  .default(null)
  .describe('tolerance width, upper minus lower limit, unit of the readings; null: no percent_tolerance');

/** Output texts of one answer; the sources of variation stand for `<source>`. */
const shareTexts = (before: string): Record<string, string> => ({
  [`${before}variance`]: 'variance of each source, unit squared; an estimate below zero is set to 0',
  [`${before}variance_ci95`]:
    '95 % bounds [lower, upper] of each variance; an estimate that was set to 0 may leave sums outside their bounds',
  [`${before}sd`]: 'standard deviation of each source, unit of the readings',
  [`${before}sd_ci95`]: '95 % bounds of each standard deviation',
  [`${before}percent_contribution`]: '100 variance / total variance; null if nothing varies',
  [`${before}percent_study_variation`]: '100 sd / total sd; null if nothing varies',
  [`${before}percent_study_variation_ci95`]:
    '95 % bounds of percent_study_variation of gauge and part; null if nothing varies',
  [`${before}study_variation_6sd`]: 'six standard deviations, unit of the readings',
  [`${before}percent_tolerance`]: '100 times six standard deviations / tolerance width; null without a tolerance',
  [`${before}percent_tolerance_ci95`]: '95 % bounds of percent_tolerance; null without a tolerance',
  [`${before}ndc_raw_1.41`]: '1.41 sd of the parts / sd of the gauge; null for a gauge without variation',
  [`${before}ndc`]: 'number of distinct categories: ndc_raw_1.41 cut to a whole number, at least 1',
  [`${before}ndc_raw_sqrt2`]: 'the same with the square root of 2, not cut',
});

const ANOVA_TEXT =
  'ss sum of squares, df degrees of freedom, ms mean square, F ratio, p probability of a larger F; F and p null if the mean square it is tested against is 0';
const BOUNDS_SOURCES = [
  'bounds: exact chi-square for repeatability; modified large-sample for the rest: Graybill & Wang, J. Am. Stat. Assoc. 75 (1980) 869; Ting et al., J. Stat. Comput. Simul. 35 (1990) 135',
  'bounds of percent_study_variation: the shares that these bounds do not rule out, after Gui et al., J. Stat. Plan. Inference 48 (1995) 215',
];
const AIAG = 'AIAG, "Measurement Systems Analysis", 4th ed. (from memory)';

export const crossedCalculation = calculation({
  kind: 'crossed',
  about:
    'Gauge study in which every appraiser measures every part several times. Variance components by analysis of variance with confidence bounds, shares of the total and of the tolerance, with and without the interaction.',
  input: z.strictObject({
    kind: z.literal('crossed'),
    data_part_appraiser_trial: readings.describe(
      'readings[part][appraiser][trial], at least 2 of each, equally many throughout',
    ),
    appraiser_is: z
      .enum(['operator', 'nest', 'station'])
      .default('operator')
      .describe('what is compared; the mathematics is the same'),
    tolerance_width: toleranceWidth,
  }),
  outputs: {
    appraiser_is: 'as given',
    grand_mean: 'mean of all readings',
    anova: `part and appraiser tested against the interaction, the interaction against repeatability: ${ANOVA_TEXT}`,
    anova_pooled: 'the same with the interaction added to repeatability, against which all are tested',
    ...shareTexts('with_interaction.'),
    without_interaction: 'the same from anova_pooled',
    pool_interaction_by_p_over_0_25: `whether p of the interaction is above ${POOLING_P}; false if p is null`,
    reported: 'which answer counts: "without_interaction" if pooled, else "with_interaction"',
    reported_because: 'the reason in words',
    warning: 'what the study is too small to say; null if nothing',
  },
  sources: [
    'Burdick, Borror & Montgomery, "Design and Analysis of Gauge R&R Studies", SIAM 2005, chapters 2 and 3',
    `${AIAG}, analysis of variance method, ndc`,
    ...BOUNDS_SOURCES,
    'pooling above p 0.25: common practice, no source',
  ],
  example: {
    kind: 'crossed',
    data_part_appraiser_trial: [
      [
        [40.16, 40.12],
        [40.23, 40.19],
      ],
      [
        [40.07, 40.01],
        [40.09, 40.1],
      ],
      [
        [39.92, 39.93],
        [39.88, 39.91],
      ],
    ],
    appraiser_is: 'nest',
    tolerance_width: 2,
  },
  run: ({ data_part_appraiser_trial: data, appraiser_is: appraiserIs, tolerance_width: width }) => {
    const study = gaugeCrossed(data, { toleranceWidth: width }, 'data_part_appraiser_trial');
    const { anova, anovaPooled } = study;
    return {
      appraiser_is: appraiserIs,
      grand_mean: study.grandMean,
      anova: {
        part: tested(anova.part),
        appraiser: tested(anova.appraiser),
        interaction: tested(anova.interaction),
        repeatability: untested(anova.repeatability),
        total: anova.total,
      },
      anova_pooled: {
        part: tested(anovaPooled.part),
        appraiser: tested(anovaPooled.appraiser),
        repeatability: untested(anovaPooled.repeatability),
        total: anovaPooled.total,
      },
      with_interaction: crossedAnswer(study.withInteraction),
      without_interaction: crossedAnswer(study.withoutInteraction),
      pool_interaction_by_p_over_0_25: study.poolInteraction,
      reported: study.reported === 'withInteraction' ? 'with_interaction' : 'without_interaction',
      reported_because: because(study),
      warning: fewAppraisers(data[0]?.length ?? 0),
    };
  },
});

export const nestedCalculation = calculation({
  kind: 'nested',
  about:
    'Gauge study in which every appraiser measures parts that no other one measures. For parts that cannot be measured again by another; an interaction cannot be told from the parts.',
  input: z.strictObject({
    kind: z.literal('nested'),
    data_appraiser_part_trial: readings.describe(
      'readings[appraiser][part][trial], at least 2 of each, equally many throughout',
    ),
    tolerance_width: toleranceWidth,
  }),
  outputs: {
    grand_mean: 'mean of all readings',
    anova: `appraiser tested against part_within_appraiser, that against repeatability: ${ANOVA_TEXT}`,
    ...shareTexts(''),
  },
  sources: [
    'Montgomery, "Design and Analysis of Experiments", two-stage nested design, random factors',
    'Burdick & Graybill, "Confidence Intervals on Variance Components", Marcel Dekker 1992, twofold nested design',
    ...BOUNDS_SOURCES,
    `${AIAG}, ndc`,
  ],
  example: {
    kind: 'nested',
    data_appraiser_part_trial: [
      [
        [2.493, 2.488],
        [2.543, 2.542],
      ],
      [
        [2.505, 2.511],
        [2.452, 2.444],
      ],
    ],
    tolerance_width: 0.2,
  },
  run: ({ data_appraiser_part_trial: data, tolerance_width: width }) => {
    const study = gaugeNested(data, { toleranceWidth: width }, 'data_appraiser_part_trial');
    const { repeatability, reproducibility, gauge, part, total } = study.shares;
    const sources = { repeatability, reproducibility, gauge_rr: gauge, part_within_appraiser: part, total };
    return {
      grand_mean: study.grandMean,
      anova: {
        appraiser: tested(study.anova.appraiser),
        part_within_appraiser: tested(study.anova.partWithinAppraiser),
        repeatability: untested(study.anova.repeatability),
        total: study.anova.total,
      },
      ...shares(sources, study, 'part_within_appraiser'),
    };
  },
});

function crossedAnswer(answer: GaugeCrossed['withInteraction']): object {
  const { repeatability, appraiser, interaction, reproducibility, gauge, part, total } = answer.shares;
  const sources = { repeatability, appraiser, interaction, reproducibility, gauge_rr: gauge, part, total };
  return shares(sources, answer, 'part');
}

function shares(
  sources: Readonly<Record<string, Share>>,
  answer: Pick<StudyAnswer<never>, 'distinctCategories' | 'studyVariationBounds'>,
  partName: string,
): object {
  const of = <T>(pick: (share: Share) => T): Record<string, T> =>
    Object.fromEntries(Object.entries(sources).map(([name, each]) => [name, pick(each)]));
  const bounds = answer.studyVariationBounds;
  return {
    variance: of(({ variance }) => variance),
    variance_ci95: of(({ varianceBounds }) => pair(varianceBounds)),
    sd: of(({ sd }) => sd),
    sd_ci95: of(({ sdBounds }) => pair(sdBounds)),
    percent_contribution: of(({ percentContribution }) => percentContribution),
    percent_study_variation: of(({ percentStudyVariation }) => percentStudyVariation),
    percent_study_variation_ci95: bounds && { gauge_rr: pair(bounds.gauge), [partName]: pair(bounds.part) },
    study_variation_6sd: of(({ studyVariation }) => studyVariation),
    percent_tolerance: of(({ percentTolerance }) => percentTolerance),
    percent_tolerance_ci95: of(({ percentToleranceBounds }) => percentToleranceBounds && pair(percentToleranceBounds)),
    ...categories(answer.distinctCategories),
  };
}

function categories({ raw, categories: count, rawSqrt2 }: DistinctCategories): object {
  return { 'ndc_raw_1.41': raw, ndc: count, ndc_raw_sqrt2: rawSqrt2 };
}

/** Below this the bounds of everything that appraisers share in are too wide to be of use (common practice, no source). */
const ENOUGH_APPRAISERS = 5;

function fewAppraisers(count: number): string | null {
  if (count >= ENOUGH_APPRAISERS) return null;
  return `${count} appraisers leave ${count - 1} degrees of freedom: the bounds of reproducibility and of gauge_rr say little. If they are all the appraisers there are (the nests of one station), look at the means by appraiser instead.`;
}

function because({ anova, poolInteraction }: GaugeCrossed): string {
  const { p } = anova.interaction;
  if (p === null) return 'repeatability is 0, the interaction cannot be tested and stays';
  const found = `p of the interaction is ${p.toPrecision(3)}`;
  return poolInteraction
    ? `${found}, above ${POOLING_P}: it is pooled into repeatability`
    : `${found}, not above ${POOLING_P}: it stays a source of its own`;
}

const tested = ({ ss, df, ms, f, p }: TestedRow): object => ({ ss, df, ms, F: f, p });
const untested = ({ ss, df, ms }: MeanSquare): object => ({ ss, df, ms, F: null, p: null });
const pair = ({ lower, upper }: Interval): readonly [number, number] => [lower, upper];
