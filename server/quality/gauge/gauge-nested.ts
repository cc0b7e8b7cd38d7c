import { nested } from './analysis-of-variance.ts';
import type { Cells, MeanSquare, Squares, TestedRow } from './analysis-of-variance.ts';
import { distinctCategories, gaugeShares, studyVariationBounds } from './gauge-shares.ts';
import type { StudyAnswer, StudyOptions } from './gauge-shares.ts';
import { meanSquareBounds } from './mean-square-bounds.ts';

/** The sources of variation of a nested study. */
export type NestedSource = 'repeatability' | 'reproducibility' | 'gauge' | 'part';

/** Gauge study in which every appraiser measures parts that no other one measures. */
export interface GaugeNested extends StudyAnswer<NestedSource> {
  readonly appraisers: number;
  /** Parts of each appraiser. */
  readonly parts: number;
  readonly trials: number;
  readonly grandMean: number;
  readonly anova: {
    readonly appraiser: TestedRow;
    readonly partWithinAppraiser: TestedRow;
    readonly repeatability: MeanSquare;
    readonly total: Squares;
  };
}

/**
 * Nested gauge study, `readings[appraiser][part][trial]`, balanced, with two or more of each; for parts that cannot be
 * measured by another appraiser. Variance components from the expected mean squares of the two-stage nested random model
 * (Montgomery, "Design and Analysis of Experiments"; Burdick & Graybill, "Confidence Intervals on Variance Components",
 * Marcel Dekker 1992, twofold nested design):
 *
 *     repeatability = MS(E)   part = (MS(P in O) - MS(E)) / r   reproducibility = (MS(O) - MS(P in O)) / (p r)
 *
 * A component below zero is set to zero; gauge = repeatability + reproducibility, total = gauge + part. An interaction
 * of parts and appraisers cannot be told from the parts here. Bounds: see `meanSquareBounds`; exact chi-square for
 * repeatability, modified large-sample for the rest.
 *
 * @throws QualityError of `nested`, `out-of-range`, `not-finite` (tolerance width, confidence)
 */
export function gaugeNested(
  readings: Cells,
  { toleranceWidth = null, confidence }: StudyOptions = {},
  key = 'readings',
): GaugeNested {
  const { inners: p, trials: r, ...analysis } = nested(readings, key);
  const { outer, inner, residual, total } = analysis;
  const bounds = meanSquareBounds([outer, inner, residual], confidence);
  const coefficients = {
    repeatability: [0, 0, 1],
    reproducibility: [1 / (p * r), -1 / (p * r), 0],
    gauge: [1 / (p * r), -1 / (p * r), 1],
    part: [0, 1 / r, -1 / r],
    total: [1 / (p * r), (p - 1) / (p * r), (r - 1) / r],
  };
  const component = (source: NestedSource | 'total', variance: number) => ({
    variance,
    bounds: bounds.combination(coefficients[source]),
  });
  const reproducibility = Math.max(0, (outer.ms - inner.ms) / (p * r));
  const part = Math.max(0, (inner.ms - residual.ms) / r);
  const gauge = residual.ms + reproducibility;
  const shares = gaugeShares<NestedSource>(
    {
      repeatability: component('repeatability', residual.ms),
      reproducibility: component('reproducibility', reproducibility),
      gauge: component('gauge', gauge),
      part: component('part', part),
    },
    component('total', gauge + part),
    toleranceWidth,
  );
  return {
    appraisers: analysis.outers,
    parts: p,
    trials: r,
    grandMean: analysis.grandMean,
    anova: { appraiser: outer, partWithinAppraiser: inner, repeatability: residual, total },
    shares,
    distinctCategories: distinctCategories(shares.part.sd, shares.gauge.sd),
    studyVariationBounds: studyVariationBounds(bounds.share(coefficients.gauge, coefficients.total)),
  };
}
