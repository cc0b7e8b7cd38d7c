import * as z from 'zod';
import { QualityError } from '../../quality/errors.ts';
import { largestProvable, observedNeeded, sizeNeeded } from '../../quality/capability/provable.ts';
import type { Both } from '../../quality/capability/provable.ts';
import { provableSentence } from '../../quality/capability/provable-sentence.ts';
import { calculation } from './topic.ts';
import type { Topic } from './topic.ts';

const provable = calculation({
  kind: null,
  about:
    'What a capability study of this size can prove: the Ppk (or one-sided PPU, PPL) that has to be observed so that the wanted one is shown, the largest one that an observed index shows, and the number of values it takes. Each by the exact noncentral t bound and by the customary normal approximation, which from six values on asks for a little too little. For independent values of a normal, stable process.',
  input: z.strictObject({
    index: z.number().positive().describe('the index to be shown, for example 1.33'),
    n: z.number().int().min(2).nullable().default(null).describe('number of values; null: asks only for the number'),
    observed: z.number().nullable().default(null).describe('the index computed from the sample; null: none yet'),
    confidence: z.number().gt(0.5).lt(1).default(0.95).describe('one-sided confidence, 0.95 for 95 %'),
  }),
  outputs: {
    confidence: 'as asked',
    observed_needed: 'smallest observed index at which a sample of n shows the wanted one; null without n',
    'observed_needed.exact': 'by the noncentral t distribution',
    'observed_needed.normal_approx': 'by the normal approximation; null for samples too small for it',
    shows: 'largest index that the observed one shows: its one-sided lower bound; null without n or observed',
    shown: 'whether the observed index shows the wanted one; null without n or observed',
    n_needed:
      'smallest n at which the observed index shows the wanted one; its figures are null when the observed one is not above the wanted one or when more than 1,000,000 values are needed',
    sentence: 'the same in words, indices needed rounded up and indices shown rounded down to two decimals',
  },
  sources: [
    'Exact: Chou, Owen & Borrego, Journal of Quality Technology 22 (1990) 223-229; Kushler & Hurley, Journal of Quality Technology 24 (1992) 188-195. For Ppk of two limits the bound of the nearer side is safe, and exact when the other limit is far.',
    'Normal approximation: Bissell, Applied Statistics 39 (1990) 331-340: c - z sqrt(1/(9 n) + c^2/(2 (n - 1))), solved for c.',
  ],
  example: { index: 1.33, n: 13 },
  run: ({ index, n, observed, confidence }) => {
    if (n === null && observed === null) {
      throw new QualityError('empty', 'n', 'n and observed are both missing; one wanted');
    }
    const shows = n === null || observed === null ? null : largestProvable(n, observed, confidence);
    return {
      confidence,
      observed_needed: n === null ? null : named(observedNeeded(n, index, confidence)),
      shows: shows === null ? null : named(shows),
      shown:
        shows === null
          ? null
          : { exact: atLeast(shows.exact, index), normal_approx: atLeast(shows.approximate, index) },
      n_needed: observed === null ? null : named(sizeNeeded(observed, index, confidence)),
      sentence: provableSentence({ wanted: index, n, observed, confidence }),
    };
  },
});

/** Topic `provable`: what a sample of this size can prove about a capability index. */
export const provableTopic: Topic = {
  name: 'provable',
  about: 'what a sample of this size can prove about Ppk: index to be observed, number of values',
  selectBy: null,
  calculations: [provable],
};

const named = ({ exact, approximate }: Both): object => ({ exact, normal_approx: approximate });

const atLeast = (bound: number | null, index: number): boolean | null => (bound === null ? null : bound >= index);
