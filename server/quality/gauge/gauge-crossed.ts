import { poolInteraction, twoWay } from './analysis-of-variance.ts';
import type { Cells, MeanSquare, Squares, TestedRow } from './analysis-of-variance.ts';
import { distinctCategories, gaugeShares, studyVariationBounds } from './gauge-shares.ts';
import type { StudyAnswer, StudyOptions } from './gauge-shares.ts';
import { meanSquareBounds } from './mean-square-bounds.ts';

/** The sources of variation of a crossed study. */
export type CrossedSource = 'repeatability' | 'appraiser' | 'interaction' | 'reproducibility' | 'gauge' | 'part';

/** Gauge study in which every appraiser measures every part several times. */
export interface GaugeCrossed {
  readonly parts: number;
  readonly appraisers: number;
  readonly trials: number;
  readonly grandMean: number;
  readonly anova: {
    readonly part: TestedRow;
    readonly appraiser: TestedRow;
    readonly interaction: TestedRow;
    readonly repeatability: MeanSquare;
    readonly total: Squares;
  };
  /** The interaction's squares and degrees of freedom added to repeatability. */
  readonly anovaPooled: {
    readonly part: TestedRow;
    readonly appraiser: TestedRow;
    readonly repeatability: MeanSquare;
    readonly total: Squares;
  };
  readonly withInteraction: StudyAnswer<CrossedSource>;
  readonly withoutInteraction: StudyAnswer<CrossedSource>;
  /** Whether the interaction's p value is above `POOLING_P`; never when it is undefined. */
  readonly poolInteraction: boolean;
  /** The answer that counts. */
  readonly reported: 'withInteraction' | 'withoutInteraction';
}

/** The interaction is pooled into repeatability when its p value is above this (common practice; no source). */
export const POOLING_P = 0.25;

/**
 * Crossed gauge study, `readings[part][appraiser][trial]`, balanced, with two or more of each. Parts and appraisers are
 * random; the appraiser may be an operator, a nest or a station, the mathematics is the same. Variance components from the
 * expected mean squares (Burdick, Borror & Montgomery, "Design and Analysis of Gauge R&R Studies", SIAM 2005, chapter 3
 * with interaction, chapter 2 without; AIAG, "Measurement Systems Analysis", 4th ed., analysis of variance method):
 *
 *     repeatability = MS(E)                       interaction = (MS(I) - MS(E)) / r
 *     appraiser = (MS(O) - MS(I)) / (p r)         part = (MS(P) - MS(I)) / (o r)
 *
 * without the interaction MS(I) and MS(E) are both the pooled mean square. A component below zero is set to zero;
 * reproducibility = appraiser + interaction, gauge = repeatability + reproducibility, total = gauge + part. Bounds: see
 * `meanSquareBounds`; exact chi-square for repeatability, modified large-sample for the rest. Those of the pooled answer
 * do not account for the choice to pool.
 *
 * @throws QualityError of `twoWay` (a study with one trial has no repeatability apart from the interaction: `too-few`),
 * `out-of-range`, `not-finite` (tolerance width, confidence)
 */
export function gaugeCrossed(readings: Cells, options: StudyOptions = {}, key = 'readings'): GaugeCrossed {
  const full = twoWay(readings, key);
  const pooled = poolInteraction(full);
  const pool = full.interaction.p !== null && full.interaction.p > POOLING_P;
  return {
    parts: full.rows,
    appraisers: full.columns,
    trials: full.trials,
    grandMean: full.grandMean,
    anova: {
      part: full.row,
      appraiser: full.column,
      interaction: full.interaction,
      repeatability: full.residual,
      total: full.total,
    },
    anovaPooled: { part: pooled.row, appraiser: pooled.column, repeatability: pooled.residual, total: full.total },
    withInteraction: answerWithInteraction(full, options),
    withoutInteraction: answerWithoutInteraction(pooled, options),
    poolInteraction: pool,
    reported: pool ? 'withoutInteraction' : 'withInteraction',
  };
}

function answerWithInteraction(
  { rows: p, columns: o, trials: r, row, column, interaction, residual }: ReturnType<typeof twoWay>,
  options: StudyOptions,
): StudyAnswer<CrossedSource> {
  const coefficients = {
    repeatability: [0, 0, 0, 1],
    interaction: [0, 0, 1 / r, -1 / r],
    appraiser: [0, 1 / (p * r), -1 / (p * r), 0],
    reproducibility: [0, 1 / (p * r), (p - 1) / (p * r), -1 / r],
    gauge: [0, 1 / (p * r), (p - 1) / (p * r), (r - 1) / r],
    part: [1 / (o * r), 0, -1 / (o * r), 0],
    total: [1 / (o * r), 1 / (p * r), (p * o - p - o) / (p * o * r), (r - 1) / r],
  };
  const variances = {
    repeatability: residual.ms,
    interaction: Math.max(0, (interaction.ms - residual.ms) / r),
    appraiser: Math.max(0, (column.ms - interaction.ms) / (p * r)),
    part: Math.max(0, (row.ms - interaction.ms) / (o * r)),
  };
  return answer([row, column, interaction, residual], coefficients, variances, options);
}

function answerWithoutInteraction(
  { rows: p, columns: o, trials: r, row, column, residual }: ReturnType<typeof poolInteraction>,
  options: StudyOptions,
): StudyAnswer<CrossedSource> {
  const appraiser = [0, 1 / (p * r), -1 / (p * r)];
  const coefficients = {
    repeatability: [0, 0, 1],
    interaction: [0, 0, 0],
    appraiser,
    reproducibility: appraiser,
    gauge: [0, 1 / (p * r), (p * r - 1) / (p * r)],
    part: [1 / (o * r), 0, -1 / (o * r)],
    total: [1 / (o * r), 1 / (p * r), (p * o * r - p - o) / (p * o * r)],
  };
  const variances = {
    repeatability: residual.ms,
    interaction: 0,
    appraiser: Math.max(0, (column.ms - residual.ms) / (p * r)),
    part: Math.max(0, (row.ms - residual.ms) / (o * r)),
  };
  return answer([row, column, residual], coefficients, variances, options);
}

function answer(
  meanSquares: readonly MeanSquare[],
  coefficients: Readonly<Record<CrossedSource | 'total', readonly number[]>>,
  variances: Readonly<Record<'repeatability' | 'interaction' | 'appraiser' | 'part', number>>,
  { toleranceWidth = null, confidence }: StudyOptions,
): StudyAnswer<CrossedSource> {
  const bounds = meanSquareBounds(meanSquares, confidence);
  const component = (source: CrossedSource | 'total', variance: number) => ({
    variance,
    bounds: bounds.combination(coefficients[source]),
  });
  const reproducibility = variances.appraiser + variances.interaction;
  const gauge = variances.repeatability + reproducibility;
  const shares = gaugeShares<CrossedSource>(
    {
      repeatability: component('repeatability', variances.repeatability),
      appraiser: component('appraiser', variances.appraiser),
      interaction: component('interaction', variances.interaction),
      reproducibility: component('reproducibility', reproducibility),
      gauge: component('gauge', gauge),
      part: component('part', variances.part),
    },
    component('total', gauge + variances.part),
    toleranceWidth,
  );
  return {
    shares,
    distinctCategories: distinctCategories(shares.part.sd, shares.gauge.sd),
    studyVariationBounds: studyVariationBounds(bounds.share(coefficients.gauge, coefficients.total)),
  };
}
