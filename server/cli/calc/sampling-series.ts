import { switchingText } from '../../../station/words/plan-text.ts';
import * as z from 'zod';
import { QualityError } from '../../quality/errors.ts';
import { drawPlaces, drawSerials } from '../../quality/sampling/random-draw.ts';
import { SWITCHING_START, nextSwitching, resumeSwitching } from '../../quality/sampling/switching.ts';
import { maybeLotSize } from './sampling-attributes.ts';
import { calculation } from './topic.ts';
import { ENGLISH } from './plan-sentence.ts';

export const drawCalculation = calculation({
  kind: 'draw',
  about:
    'Draws the parts of a sample from a lot by a recorded seed. Anyone can repeat the draw with a SHA-256 program; the method is described under sources.',
  input: z.strictObject({
    kind: z.literal('draw'),
    n: z.int().min(1).max(1_000_000).describe('sample size, parts'),
    seed: z.string().min(1).describe("text recorded before the draw; make the lot's name part of it"),
    N: maybeLotSize('lot size, parts; not needed when serials are given'),
    serials: z
      .array(z.string())
      .nullable()
      .default(null)
      .describe('serial numbers of the lot, each once; sorted before drawing, so their order changes nothing'),
  }),
  outputs: {
    method: 'name and version of the method',
    seed: 'the seed, to be recorded with the sample',
    N: 'lot size, parts',
    places: 'places drawn, counted from 1, in the order drawn; in the sorted list if serials are given',
    serials: 'serial numbers drawn, in the same order; null without serials',
  },
  sources: [
    'Method sha256-counter/1. Number k (0, 1, 2 ...) is the first 12 hexadecimal digits of the SHA-256 (FIPS 180-4) of the UTF-8 text "sha256-counter/1|seed|k".',
    'A whole number below m: take the next number x; if it is 2^48 - (2^48 mod m) or more, drop it and take the next; else x mod m.',
    'Write the places 1 to N in a row; for i = 0 to n - 1 take j = i + a whole number below N - i, exchange what stands at i and j, draw what now stands at i (Durstenfeld, Algorithm 235, Communications of the ACM 7 (1964) 420).',
    'Serials are sorted by their Unicode code points.',
  ],
  example: { kind: 'draw', N: 1000, n: 5, seed: 'lot 4711, 2 May' },
  run: ({ n, seed, N, serials }) => {
    if (serials !== null) {
      if (N !== null && N !== serials.length) {
        throw new QualityError('unequal-sizes', 'N', `N is ${N}, but there are ${serials.length} serials`);
      }
      const { method, lot, drawn, serials: taken } = drawSerials(serials, n, seed);
      return { method, seed, N: lot, places: drawn, serials: taken };
    }
    if (N === null) throw new QualityError('empty', 'N', 'N and serials are both missing; one wanted');
    const { method, lot, drawn } = drawPlaces(N, n, seed);
    return { method, seed, N: lot, places: drawn, serials: null };
  },
});

const lotResult = z.strictObject({
  bad: z.int().min(0),
  Ac: z.int().min(0),
  Ac_one_step_tighter: z.int().min(0).nullable().default(null),
  original: z.boolean().default(true),
  after_action: z.boolean().default(false),
});

export const switchingCalculation = calculation({
  kind: 'switching',
  about:
    'Where a series of lots stands between normal and tightened inspection. Starts with normal inspection; reduced inspection is shown as possible, never entered.',
  input: z.strictObject({
    kind: z.literal('switching'),
    lots: z
      .array(lotResult)
      .describe(
        'results in order: bad parts in the sample; acceptance number; the same with the AQL one step tighter (for a lot accepted with Ac 2 or more under normal inspection, else it may be left out); original false for a lot presented again (left out: true); after_action true for the first lot after the cause of a discontinuation was acted on (left out: false)',
      ),
  }),
  outputs: {
    severity: 'inspection of the next lot: normal, tightened or discontinued',
    score: 'switching score of normal inspection; 30 makes reduced inspection possible',
    reduced_eligible: 'whether reduced inspection could be asked for',
    'lots[].accepted': 'whether the lot was accepted; null while sampling is discontinued',
    'lots[].severity': 'inspection of the lot after this one',
    'lots[].score': 'switching score after this lot',
    'lots[].reduced_eligible': 'whether reduced inspection could be asked for after this lot',
    'lots[].explanation': 'why, in a sentence',
  },
  sources: [
    'ISO 2859-1:1999, clause 9.3 and 9.4: 2 of 5 or fewer not accepted to tightened, 5 accepted in a row to normal, 5 not accepted on tightened to discontinuation, score 30',
    'Points of the switching score, clause 9.3.3.2: from memory',
  ],
  example: {
    kind: 'switching',
    lots: [
      { bad: 0, Ac: 2, Ac_one_step_tighter: 1 },
      { bad: 3, Ac: 2, Ac_one_step_tighter: 1 },
      { bad: 4, Ac: 2, Ac_one_step_tighter: 1 },
    ],
  },
  run: ({ lots }) => {
    let state = SWITCHING_START;
    const steps = lots.map(({ bad, Ac, Ac_one_step_tighter: tighter, original, after_action: resumed }, at) => {
      const before = resumed ? resumeSwitching(state) : state;
      const keys = {
        bad: `lots[${at}].bad`,
        acceptance: `lots[${at}].Ac`,
        acceptanceTighter: `lots[${at}].Ac_one_step_tighter`,
      };
      const step = nextSwitching(before, { bad, acceptance: Ac, acceptanceTighter: tighter, original }, keys);
      state = step.state;
      const { severity, score, reducedEligible } = state;
      return {
        accepted: step.accepted,
        severity,
        score,
        reduced_eligible: reducedEligible,
        explanation: switchingText(ENGLISH, step.explanation),
      };
    });
    const { severity, score, reducedEligible } = state;
    return { severity, score, reduced_eligible: reducedEligible, lots: steps };
  },
});
