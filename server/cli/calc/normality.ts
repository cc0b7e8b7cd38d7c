import * as z from 'zod';
import { normality } from '../../quality/normality/normality.ts';
import { probabilityPlot } from '../../quality/normality/probability-plot.ts';
import { calculation, numbers } from './topic.ts';
import type { Topic } from './topic.ts';

/** `barolot calc normality`. */
export const normalityTopic: Topic = {
  name: 'normality',
  about: 'whether readings look normal: Shapiro-Wilk, Anderson-Darling, skewness and kurtosis',
  selectBy: null,
  calculations: [
    calculation({
      kind: null,
      about:
        'Tests whether readings can come from a normal distribution. A small p speaks against it; for many tests together see test-family.',
      input: z.strictObject({
        values: numbers('readings in one unit, in any order; one or more'),
        plot: z
          .enum(['median-rank', 'blom', 'filliben'])
          .nullable()
          .default(null)
          .describe('plotting positions of a normal probability plot, if one is wanted'),
      }),
      outputs: {
        n: 'number of values',
        shapiro_W:
          'Shapiro-Wilk W, up to 1, which is perfectly normal; null without spread and outside 3 to 5000 values',
        shapiro_p: 'probability of a W as small or smaller from normal values, 0 to 1; null as shapiro_W',
        anderson_darling_A2:
          'Anderson-Darling A^2, mean and sd (n - 1) estimated; null without spread and below 3 values',
        anderson_darling_A2_star: 'A^2 (1 + 0.75/n + 2.25/n^2), adjusted for the number of values; null as A^2',
        anderson_darling_p:
          'probability of an A^2 as large or larger from normal values, 0 to 1, meant for 8 values and more; null as A^2',
        skewness_g1: 'm3 / m2^1.5, moments with divisor n, 0 for a symmetric distribution; null without spread',
        excess_kurtosis_g2: 'm4 / m2^2 - 3, moments with divisor n, 0 for a normal distribution; null without spread',
        skewness_G1_adjusted: 'g1 sqrt(n (n - 1)) / (n - 2); null without spread and below 3 values',
        excess_kurtosis_G2_adjusted:
          '(n - 1) / ((n - 2) (n - 3)) ((n + 1) g2 + 6); null without spread and below 4 values',
        probability_plot: 'only where asked for',
        'probability_plot.points[]':
          'in ascending order: value; probability, its plotting position, 0 to 1; score, the normal quantile of that',
        'probability_plot.intercept':
          'of the line value = intercept + slope score: estimates the mean; null for one value',
        'probability_plot.slope': 'estimates the standard deviation, unit of the values; null for one value',
        'probability_plot.correlation': 'of values and scores, up to 1; null without spread',
      },
      sources: [
        'Royston, algorithm AS R94, Applied Statistics 44 (1995) 547-551: W and its p for 3 to 5000 values',
        "D'Agostino & Stephens (eds.), Goodness-of-Fit Techniques (1986), section 4.8.5, Table 4.9: A^2* and its p",
        'Plotting positions: Benard & Bos-Levenbach (1953), Blom (1958), Filliben, Technometrics 17 (1975) 111-117',
        'Joanes & Gill, Comparing measures of sample skewness and kurtosis, The Statistician 47 (1998) 183-189',
      ],
      example: { values: [101.293, 101.421, 101.237, 101.158, 101.323, 101.37, 101.284, 101.313] },
      run: ({ values, plot }) => {
        const { n, shapiroWilk, andersonDarling, shape } = normality(values);
        return {
          n,
          shapiro_W: shapiroWilk.w,
          shapiro_p: shapiroWilk.p,
          anderson_darling_A2: andersonDarling.a2,
          anderson_darling_A2_star: andersonDarling.a2Star,
          anderson_darling_p: andersonDarling.p,
          skewness_g1: shape.g1,
          excess_kurtosis_g2: shape.g2,
          skewness_G1_adjusted: shape.adjustedG1,
          excess_kurtosis_G2_adjusted: shape.adjustedG2,
          ...(plot === null ? {} : { probability_plot: probabilityPlot(values, plot) }),
        };
      },
    }),
  ],
};
