import { describe, expect, test } from 'vitest';
import { answer } from '../../../server/cli/calc/answer.ts';
import { samplingTopic } from '../../../server/cli/calc/sampling.ts';
import {
  auditSentence,
  lotSentence,
  processSentence,
  variablesSentence,
  zeroAcceptanceSentence,
} from '../../../server/cli/calc/plan-sentence.ts';

describe('what a plan says of itself', () => {
  test.each([
    [
      'a plan for a lot (SciPy hypergeom: Pa 0.9608 at 10 bad, 0.0999 at 64)',
      lotSentence({ n: 80, c: 2 }, 1000),
      'Of lots of 1000 with 10 bad (1 %), this plan accepts 96 of 100; 64 must be bad (6.4 %) to be stopped 9 times in 10 (exactly this lot, hypergeometric).',
    ],
    [
      'a plan that stands no bad part: 1 bad of 50 is missed in 40 of 50',
      lotSentence({ n: 10, c: 0 }, 50),
      'Of lots of 50 with 1 bad (2 %), this plan accepts 80 of 100; 10 must be bad (20 %) to be stopped 9 times in 10 (exactly this lot, hypergeometric).',
    ],
    [
      'a lot inspected wholly',
      lotSentence({ n: 8, c: 0 }, 8),
      'Every part of the lot is inspected; it is accepted with at most 0 bad.',
    ],
    [
      'a plan that cannot refuse',
      lotSentence({ n: 5, c: 5 }, 50),
      'This plan accepts every lot: as many bad parts are allowed as are inspected.',
    ],
    [
      'a plan at its AQL (MIL-STD-105E Table X-J: 6.52 percent at Pa 10; from memory)',
      processSentence({ n: 80, c: 2 }, 0.01, 'binomial'),
      'Of lots with 1 % bad, this plan accepts 95 of 100; a lot must have 6.5 % bad to be stopped 9 times in 10 (lots of a process, binomial).',
    ],
    [
      'a plan without an AQL (Table X-J: 1.03 percent at Pa 95; from memory)',
      processSentence({ n: 80, c: 2 }, null, 'binomial'),
      'Of lots with 1 % bad, this plan accepts 95 of 100; a lot must have 6.5 % bad to be stopped 9 times in 10 (lots of a process, binomial).',
    ],
    [
      'a plan for faults',
      processSentence({ n: 13, c: 21 }, 1, 'poisson'),
      'Of lots with 100 faults in 100 parts, this plan accepts 99 of 100; a lot must have 217 faults in 100 parts to be stopped 9 times in 10 (lots of a process, Poisson).',
    ],
    [
      'a process plan that cannot refuse',
      processSentence({ n: 5, c: 5 }, 0.1, 'binomial'),
      'This plan accepts every lot: as many bad parts are allowed as are inspected.',
    ],
    [
      'a lot accepted hardly ever',
      processSentence({ n: 1000, c: 0 }, 0.5, 'binomial'),
      'Of lots with 50 % bad, this plan accepts less than 1 of 100; a lot must have 0.23 % bad to be stopped 9 times in 10 (lots of a process, binomial).',
    ],
    [
      'no bad part among 34 of 50 with 2 bad (16 15 / (50 49) is 0.098)',
      zeroAcceptanceSentence(50, 2, 34),
      'With no bad part allowed among 34, a lot of 50 with 2 bad (4 %) is accepted in 10 of 100 cases.',
    ],
    [
      'no bad part among all but one',
      zeroAcceptanceSentence(5, 2, 4),
      'With no bad part allowed among 4, a lot of 5 with 2 bad (40 %) is accepted in no case.',
    ],
    [
      'no bad part in the lot',
      zeroAcceptanceSentence(5, 1, 5),
      'Every part of the lot is inspected; it is accepted only without a bad one.',
    ],
    [
      'five parts at a temperature (0.9^5 is 0.59049)',
      auditSentence(5),
      '5 parts accept a lot with 10 % bad in 59 of 100 cases: a process audit, not lot acceptance.',
    ],
    [
      'one part',
      auditSentence(1, 0.001),
      '1 part accepts a lot with 0.1 % bad in more than 99 of 100 cases: a process audit, not lot acceptance.',
    ],
    [
      'five parts of a clean lot',
      auditSentence(5, 0),
      '5 parts accept a lot with 0 % bad in every case: a process audit, not lot acceptance.',
    ],
    [
      'a plan by variables (SciPy nct: 0.573 percent at Pa 0.95, 15.2 at 0.10)',
      variablesSentence({ n: 10, k: 1.72 }),
      'Of lots with 0.57 % beyond the limit, this plan accepts 95 of 100; a lot must have 15 % to be stopped 9 times in 10, if the values are normally distributed.',
    ],
    [
      'a plan by variables that asks for too much',
      variablesSentence({ n: 3, k: 100 }),
      'This plan refuses nearly every lot of normally distributed values.',
    ],
    [
      'a plan by variables that asks for nothing',
      variablesSentence({ n: 3, k: -100 }),
      'This plan accepts nearly every lot of normally distributed values.',
    ],
  ])('%s', (_what, said, wanted) => {
    expect(said).toBe(wanted);
  });

  test('small fractions are written out, with the digits that count', () => {
    expect(processSentence({ n: 1_336_155, c: 3 }, 1e-6, 'binomial')).toContain('with 0.0001 % bad');
    expect(auditSentence(5, 1e-12)).toContain('next to nothing bad');
  });
});

test.each([
  ['an audit of no part', () => auditSentence(0), 'out-of-range', 'n'],
  ['an audit against more than everything', () => auditSentence(5, 1.5), 'out-of-range', 'p'],
  ['a sample beyond its lot', () => lotSentence({ n: 6, c: 0 }, 5), 'beyond-lot', 'n'],
  ['a plan of NaN', () => processSentence({ n: Number.NaN, c: 0 }, 0.1, 'binomial'), 'not-finite', 'n'],
])('%s is refused', (_what, run, code, key) => {
  expect(run).toThrow(expect.objectContaining({ name: 'QualityError', code, key }));
});

/** Every answer about a plan says it in a sentence too. */
test.each(
  samplingTopic.calculations
    .filter(({ outputs }) => 'sentence' in outputs)
    .map(({ kind, example }) => [kind, example] as const),
)('the example of %s answers with a sentence', (_kind, example) => {
  expect(answer(samplingTopic, example)).toMatchObject({
    result: { sentence: expect.stringMatching(/\.$/) as unknown },
  });
});

test('only the draw and the switching rules have no plan to say', () => {
  const silent = samplingTopic.calculations.filter(({ outputs }) => !('sentence' in outputs)).map(({ kind }) => kind);
  expect(silent).toEqual(['switching', 'draw']);
});
