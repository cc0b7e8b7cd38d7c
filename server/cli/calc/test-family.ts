import * as z from 'zod';
import { adjustFamily } from '../../quality/normality/test-family.ts';
import { calculation } from './topic.ts';
import type { Topic } from './topic.ts';

/** `barolot calc test-family`. */
export const testFamilyTopic: Topic = {
  name: 'test-family',
  about: 'p-values of tests made together, adjusted for their number: Holm, Benjamini-Hochberg',
  selectBy: null,
  calculations: [
    calculation({
      kind: null,
      about:
        'Adjusts a family of p-values, such as a normality test at every point and condition. Among 100 good ones about 5 have a p below 0.05 by chance; compare the adjusted ones instead.',
      input: z.strictObject({
        p_values: z
          .array(z.number().min(0).max(1).nullable())
          .describe(
            'p-values, fractions 0 to 1, in any order; null for a test that is undefined, which does not count',
          ),
      }),
      outputs: {
        tests: 'number of p-values that count',
        holm: 'adjusted p in the order given, 0 to 1; those at or below alpha keep the chance of any false alarm at alpha. null where the p-value is',
        benjamini_hochberg:
          'adjusted p in the order given, 0 to 1; those at or below q keep the expected share of false alarms among the alarms at q. null where the p-value is',
      },
      sources: [
        'Holm, A simple sequentially rejective multiple test procedure, Scandinavian Journal of Statistics 6 (1979) 65-70',
        'Benjamini & Hochberg, Controlling the false discovery rate, Journal of the Royal Statistical Society B 57 (1995) 289-300',
      ],
      example: { p_values: [0.0095, 0.43, null, 0.0001, 0.0201] },
      run: ({ p_values }) => {
        const { tests, holm, benjaminiHochberg } = adjustFamily(p_values, 'p_values');
        return { tests, holm, benjamini_hochberg: benjaminiHochberg };
      },
    }),
  ],
};
