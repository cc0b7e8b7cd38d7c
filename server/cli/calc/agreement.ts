import * as z from 'zod';
import { agreement } from '../../quality/comparison/agreement.ts';
import type { Agreement } from '../../quality/comparison/agreement.ts';
import { agreementSentence } from './agreement-sentence.ts';
import { calculation, numbers } from './topic.ts';
import type { Topic } from './topic.ts';

const input = z.strictObject({
  line: numbers('readings of the line, one for each part'),
  lab: numbers('readings of the audit lab for the same parts in the same order, same unit'),
  unit: z.string().max(20).default('').describe('unit of the readings, for the sentence only'),
});

/** `barolot calc agreement`: whether line and lab read the same, pair by pair. */
export const agreementTopic: Topic = {
  name: 'agreement',
  about: 'line against lab on the same parts: bias, limits of agreement, trend, Deming line, concordance',
  selectBy: null,
  calculations: [
    calculation({
      kind: null,
      about:
        'Whether two ways of measuring agree, from pairs on the same parts. Differences are line minus lab: above 0 the line reads higher.',
      input,
      outputs: {
        sentence: 'what the pairs show, in plain words',
        n: 'number of pairs',
        mean_difference: 'bias: mean of line minus lab',
        sd_difference: 'standard deviation of the differences, divisor n - 1',
        'mean_ci95[]': '95 % bounds of the bias, Student t with n - 1 degrees of freedom',
        t_statistic: 'bias over its standard error; null when the differences do not vary',
        p_value: 'probability of such a bias or a larger one, either way, if there is none; 0 to 1',
        loa_lower: 'lower limit of agreement, mean - 1.96 sd: about 95 of 100 differences lie between the two limits',
        loa_upper: 'upper limit of agreement, mean + 1.96 sd',
        loa_se_1986: 'standard error of a limit, sd root(3 / n)',
        'loa_lower_ci95_1986[]': '95 % bounds of the lower limit with that standard error',
        'loa_upper_ci95_1986[]': '95 % bounds of the upper limit with that standard error',
        loa_se_1999: 'standard error of a limit as refined later, sd root(1 / n + 1.96^2 / (2 (n - 1)))',
        'loa_lower_ci95_1999[]': '95 % bounds of the lower limit with that standard error',
        'loa_upper_ci95_1999[]': '95 % bounds of the upper limit with that standard error',
        loa_lower_2sd: 'mean - 2 sd, as printed in 1986',
        loa_upper_2sd: 'mean + 2 sd',
        'proportional_bias.slope': 'change of the difference for one unit more of the reading (average of the pair)',
        'proportional_bias.se': 'standard error of the slope; null below three pairs',
        'proportional_bias.t': 'slope over its standard error; null when that is 0',
        'proportional_bias.p': 'probability of such a slope if there is no trend; 0 to 1',
        'deming.slope': 'slope of line over lab where both carry equal errors; 1 = same scale',
        'deming.intercept': 'line at lab = 0; unit of the readings',
        'deming.slope_jackknife_se': 'standard error of the slope, leaving out one pair at a time',
        'deming.intercept_jackknife_se': 'standard error of the intercept, likewise',
        'deming.slope_ci95[]': '95 % bounds of the slope, Student t with n - 2 degrees of freedom',
        'deming.intercept_ci95[]': '95 % bounds of the intercept',
        'lin_ccc.ccc': 'concordance correlation: 1 = all pairs on line = lab; divisor n',
        'lin_ccc.pearson_r': 'its part for scatter: correlation of the pairs, -1 to 1',
        'lin_ccc.bias_correction_Cb': 'its part for shift of place and scale, 0 to 1; ccc = r Cb',
        'lin_ccc.ccc_n_minus_1': 'concordance correlation with variances of divisor n - 1',
        'lin_ccc.se_fisher_z': 'standard error of the z-transformed ccc; null when the ccc is exactly 1',
        'lin_ccc.ci95[]': '95 % bounds of the ccc',
      },
      sources: [
        'Bland & Altman, The Lancet 327 (1986) 307-310: bias, limits of agreement (from memory)',
        'Bland & Altman, Statistical Methods in Medical Research 8 (1999) 135-160, section 2: standard error of the limits (from memory)',
        'Deming, "Statistical Adjustment of Data", 1943; jackknife: Linnet, Clinical Chemistry 39 (1993) 424-432 (from memory)',
        'Lin, Biometrics 45 (1989) 255-268, variance as corrected in Biometrics 56 (2000) 324-325 (from memory)',
      ],
      example: { line: [50.02, 80.11, 109.93, 140.07], lab: [50.0, 80.05, 109.98, 140.01], unit: 'kPa' },
      run: ({ line, lab, unit }) => {
        const result = agreement(line, lab);
        return { sentence: agreementSentence(result, unit), ...differences(result), ...relations(result) };
      },
    }),
  ],
};

function differences({ n, meanDifference, sdDifference, meanBounds, t, p, limits }: Agreement): object {
  return {
    n,
    mean_difference: meanDifference,
    sd_difference: sdDifference,
    mean_ci95: meanBounds,
    t_statistic: t,
    p_value: p,
    loa_lower: limits?.lower.limit ?? null,
    loa_upper: limits?.upper.limit ?? null,
    loa_se_1986: limits?.se1986 ?? null,
    loa_lower_ci95_1986: limits?.lower.bounds1986 ?? null,
    loa_upper_ci95_1986: limits?.upper.bounds1986 ?? null,
    loa_se_1999: limits?.se1999 ?? null,
    loa_lower_ci95_1999: limits?.lower.bounds1999 ?? null,
    loa_upper_ci95_1999: limits?.upper.bounds1999 ?? null,
    loa_lower_2sd: limits?.lower.limitAt2Sd ?? null,
    loa_upper_2sd: limits?.upper.limitAt2Sd ?? null,
  };
}

function relations({ proportionalBias, deming, concordance }: Agreement): object {
  return {
    proportional_bias: proportionalBias,
    deming: {
      slope: deming.slope,
      intercept: deming.intercept,
      slope_jackknife_se: deming.slopeSe,
      intercept_jackknife_se: deming.interceptSe,
      slope_ci95: deming.slopeBounds,
      intercept_ci95: deming.interceptBounds,
    },
    lin_ccc: {
      ccc: concordance.ccc,
      pearson_r: concordance.pearsonR,
      bias_correction_Cb: concordance.biasCorrection,
      ccc_n_minus_1: concordance.cccNMinus1,
      se_fisher_z: concordance.fisherZSe,
      ci95: concordance.bounds,
    },
  };
}
