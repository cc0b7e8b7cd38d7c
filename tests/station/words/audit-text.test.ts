import { describe, expect, test } from 'vitest';
import type { Finding, MissesJudged, Proposal, SamplingPlan } from '../../../server/audit/evaluation/contract.ts';
import type { AuditPhase } from '../../../server/audit/contract.ts';
import { fourAnswers } from '../../../station/words/audit-answers.ts';
import { auditEnglish } from '../../../station/words/audit-en.ts';
import { auditSpanish } from '../../../station/words/audit-es.ts';
import {
  becauseText,
  cellText,
  errorNote,
  findingText,
  namesOf,
  judgedText,
  planText,
  pointText,
  reasonText,
  stageText,
} from '../../../station/words/audit-text.ts';
import type { AuditTongue } from '../../../station/words/audit-text.ts';
import { english } from '../../../station/words/en.ts';
import { spanish } from '../../../station/words/es.ts';
import { belowText, numberText, probabilityText, signedText } from '../../../station/words/number-text.ts';
import { auditView } from '../../support/audit-view.ts';

const EN: AuditTongue = { language: 'en', words: auditEnglish, catalogue: english };
const ES: AuditTongue = { language: 'es', words: auditSpanish, catalogue: spanish };
const names = {
  stages: [
    { stage: 1, condition: 'cold', targetC: -40, isAgain: false },
    { stage: 2, condition: 'ambient', targetC: 23, isAgain: false },
    { stage: 3, condition: 'hot', targetC: 125, isAgain: false },
    { stage: 4, condition: 'ambient', targetC: 23, isAgain: true },
  ],
  points: [
    { step: 'ambient', kPaAbs: null },
    { step: '80-kpa', kPaAbs: 80 },
  ],
  cells: [
    { stage: 1, step: 'ambient', pointKpaAbs: 94.8 },
    { stage: 3, step: 'ambient', pointKpaAbs: 95.1 },
  ],
} as const;

type Said<Code> = readonly [Code, Record<string, number | string>, string, string];

/** Every finding with what a quality engineer would say of it; TypeScript holds the list to be complete below. */
const FINDINGS: readonly Said<Finding['code']>[] = [
  [
    'part-outside',
    { serial: 'AQ1105-7', stage: 3, step: 'ambient', kPa: -2.61, allowedKpa: 2.4 },
    'AQ1105-7 is outside at hot, 95 kPa: −2.61 kPa, ±2.40 allowed',
    'AQ1105-7 está fuera en caliente, 95 kPa: −2,61 kPa, ±2,40 permitido',
  ],
  [
    'part-failed',
    { serial: 'AQ1105-7', stage: 1, reason: 'slow' },
    'AQ1105-7 failed at cold: Responds too slowly',
    'AQ1105-7 falló en frío: Responde demasiado lento',
  ],
  [
    'part-not-judged',
    { serial: 'AQ1105-7', stage: 2, reason: 'unknown' },
    'AQ1105-7 was not judged at ambient: no reason was kept',
    'AQ1105-7 quedó sin juzgar a temperatura ambiente: no se guardó motivo',
  ],
  [
    'span-falls',
    { stage: 3, kPa: -1.05, parts: 13, of: 13 },
    'Span falls at hot, all 13 parts alike: −1.05 kPa',
    'El alcance baja en caliente, las 13 piezas por igual: −1,05 kPa',
  ],
  [
    'span-rises',
    { stage: 1, kPa: 0.4, parts: 12, of: 13 },
    'Span rises at cold, 12 of 13 parts: +0.40 kPa',
    'El alcance sube en frío, 12 de 13 piezas: +0,40 kPa',
  ],
  [
    'offset-falls',
    { stage: 3, kPa: -0.5, parts: 2, of: 2 },
    'Offset falls at hot, all 2 parts alike: −0.50 kPa',
    'El cero baja en caliente, las 2 piezas por igual: −0,50 kPa',
  ],
  [
    'offset-rises',
    { stage: 4, kPa: 0.5, parts: 2, of: 2 },
    'Offset rises back at ambient, all 2 parts alike: +0.50 kPa',
    'El cero sube de nuevo a temperatura ambiente, las 2 piezas por igual: +0,50 kPa',
  ],
  ['nest-low', { nest: 5, kPa: -0.2 }, 'Nest 5 reads 0.20 kPa low', 'El nido 5 lee 0,20 kPa de menos'],
  ['nest-high', { nest: 5, kPa: 0.2 }, 'Nest 5 reads 0.20 kPa high', 'El nido 5 lee 0,20 kPa de más'],
  [
    'ambient-changed',
    { stage: 4, step: '80-kpa', kPa: 0.12 },
    'Changed since the first test at ambient: +0.12 kPa at 80 kPa',
    'Cambio desde la primera prueba a temperatura ambiente: +0,12 kPa, 80 kPa',
  ],
  [
    'line-off',
    { kPa: -0.11 },
    'The line reads 0.11 kPa lower than the lab',
    'La línea lee 0,11 kPa menos que el laboratorio',
  ],
  [
    'not-normal',
    { stage: 3, step: '80-kpa', p: 0.0031 },
    'Values do not look normal at hot, 80 kPa (p = 0.0031)',
    'Los valores no parecen normales en caliente, 80 kPa (p = 0,0031)',
  ],
];

const FINDING_CODES: Readonly<Record<Finding['code'], true>> = {
  ...{ 'part-outside': true, 'part-failed': true, 'part-not-judged': true, 'span-falls': true, 'span-rises': true },
  ...{ 'offset-falls': true, 'offset-rises': true, 'nest-low': true, 'nest-high': true, 'ambient-changed': true },
  ...{ 'line-off': true, 'not-normal': true },
};

test.each(FINDINGS)('%s is said in both languages', (code, facts, inEnglish, inSpanish) => {
  expect(findingText(EN, names, { code, facts })).toBe(inEnglish);
  expect(findingText(ES, names, { code, facts })).toBe(inSpanish);
});

test('the list of findings is complete', () => {
  expect(FINDINGS.map(([code]) => code).sort()).toEqual(Object.keys(FINDING_CODES).sort());
  expect(findingText(EN, names, { code: 'line-off', facts: { kPa: 0.11 } })).toContain('0.11 kPa higher');
});

type Because = Proposal['because'][number]['code'];
const at = { stage: 3, step: 'ambient' };
const REASONS: Readonly<Record<Because, readonly [Record<string, number | string>, string]>> = {
  unfinished: [{ parts: 5, of: 13 }, '5 of 13 parts are tested at every condition'],
  'too-many-bad': [{ bad: 2, allowed: 0, n: 13 }, '2 of 13 parts are bad, 0 allowed'],
  'few-enough-bad': [{ bad: 0, allowed: 0, n: 13 }, '0 of 13 parts bad, 0 allowed'],
  'ppk-below': [{ ...at, ppk: 1.15, wanted: 1.33 }, 'Ppk 1.15 is below 1.33 at hot, 95 kPa'],
  'ppk-reached': [
    { ...at, ppk: 1.41, wanted: 1.33 },
    'The estimate of Ppk reaches 1.33 everywhere; it is smallest at hot, 95 kPa: 1.41',
  ],
  'no-ppk': [
    { ...at, cells: 2 },
    'No Ppk at hot, 95 kPa: all readings there are equal, or there is one only. Points without a Ppk: 2',
  ],
  'k-below': [{ ...at, quality: 1.5, k: 1.72 }, 'Quality index 1.50 is below k = 1.72 at hot, 95 kPa'],
  'k-reached': [
    { ...at, quality: 2.1, k: 1.72 },
    'Quality index reaches k = 1.72 everywhere; it is smallest at hot, 95 kPa: 2.10',
  ],
  'not-judged': [{ parts: 1 }, 'Parts without a verdict: 1'],
  missing: [{ parts: 2 }, 'Parts of the sample that are not to be found: 2'],
  'bad-seen': [{ bad: 1, n: 13 }, '1 of 13 parts are bad; a process audit judges no lot, a person decides'],
  'none-bad-seen': [{ n: 13 }, 'none of 13 parts is bad'],
};

test.each(Object.entries(REASONS))('%s is said, and leaves no place open in Spanish', (code, [facts, says]) => {
  expect(becauseText(EN, names, { code, facts })).toBe(says);
  expect(becauseText(ES, names, { code, facts })).not.toMatch(/[{}]/);
});

const FEWER: Readonly<Record<MissesJudged['code'], readonly [Record<string, number>, string]>> = {
  'judged-none': [{ judged: 0, of: 21 }, '0 of 21 parts were judged: that says nothing of the lot.'],
  'judged-fewer': [
    { judged: 5, of: 21, c: 0, lot: 200, bad: 20, missed: 0.587 },
    'Only 5 of 21 parts were judged: with at most 0 bad among them, a lot of 200 with 20 bad (10 %) is accepted in 59 of 100 cases.',
  ],
  'judged-fewer-variables': [
    { judged: 5, of: 13, share: 0.153 },
    'Only 5 of 13 parts were judged: a lot must then have 15.3 % beyond the limit to be stopped 9 times in 10, if the values are normally distributed.',
  ],
  'judged-fewer-process': [
    { judged: 5, of: 13, share: 0.1, missed: 0.59049 },
    'Only 5 of 13 parts were judged: they accept a lot with 10 % bad in 59 of 100 cases.',
  ],
};

test.each(Object.entries(FEWER))('%s is said, and leaves no place open in Spanish', (code, [facts, says]) => {
  expect(judgedText(EN, { code, facts })).toBe(says);
  expect(judgedText(ES, { code, facts })).not.toMatch(/[{}]/);
});

test.each([
  [0.999, 'more than 99 of 100 cases'],
  [0.001, 'less than 1 of 100 cases'],
  [1, 'every case'],
])('a probability of %d is never rounded to certainty', (missed, says) => {
  expect(judgedText(EN, { code: 'judged-fewer-process', facts: { judged: 1, of: 2, share: 0.1, missed } })).toContain(
    says,
  );
});

test('an index that is below what is wanted never looks equal to it', () => {
  const says = becauseText(EN, names, { code: 'ppk-below', facts: { ...at, ppk: 1.3284, wanted: 1.33 } });
  expect(says).toBe('Ppk 1.328 is below 1.33 at hot, 95 kPa');
  expect(belowText(1.32996, 1.33, 'en')).toBe('1.3300');
});

test('stages and points have their names', () => {
  expect(names.stages.map((stage) => stageText(EN, stage))).toEqual([
    ...['Cold −40 °C', 'Ambient 23 °C', 'Hot +125 °C', 'Ambient again 23 °C'],
  ]);
  expect(cellText(EN, names, { stage: 3, step: '80-kpa' })).toBe('Hot, 80 kPa');
  expect(pointText(EN, { ...names, cells: [] }, 'ambient')).toBe('barometer');
});

test('a code without words stays as it is, also when it is called like a method', () => {
  expect(reasonText(EN, 'guard-open')).toBe(english.faults['guard-open'].says);
  expect(reasonText(EN, 'toString')).toBe('toString');
  expect(findingText(EN, names, { code: 'constructor', facts: {} })).toBe('constructor');
});

test.each([
  [{ kind: 'fixed', n: 13 }, '13 parts, whatever the size of the lot: a process audit, which judges no lot.'],
  [{ kind: 'attributes', n: 50, c: 1, reference: 'Q-17' }, '50 parts, at most 1 bad. Reference: Q-17.'],
  [
    { kind: 'zero-acceptance', confidence: 0.9, badShare: 0.1 },
    '22 parts, none may be bad. Chosen so that a lot with 10 % or more bad is refused with 90 % confidence.',
  ],
] satisfies [SamplingPlan, string][])('a plan is said in words: %j', (plan, says) => {
  expect(planText(EN, plan, 'n' in plan ? plan.n : 22)).toBe(says);
  expect(planText(ES, plan, 22)).not.toMatch(/[{}]/);
});

test('every phase has its words', () => {
  const phases: Readonly<Record<AuditPhase, true>> = {
    ...{ finding: true, loading: true, running: true, stopped: true, opening: true },
    ...{ deciding: true, decided: true, abandoned: true },
  };
  expect(Object.keys(auditEnglish.phases).sort()).toEqual(Object.keys(phases).sort());
});

describe('the four answers', () => {
  const answersOf = (choice: Parameters<typeof auditView>[0], tongue = EN) => {
    const { input, evaluation } = auditView(choice);
    const { stages, points, parts, missing, wantedPpk } = input;
    return fourAnswers(tongue, {
      ...evaluation,
      stages,
      points,
      parts: parts.length,
      missing: missing.length,
      wantedPpk,
    });
  };

  test('a lot that is too near to its limits is not good enough there', () => {
    const { weakest, cells } = auditView().evaluation;
    const ppk = cells.find(({ stage, step }) => stage === weakest?.stage && step === weakest.step)?.ppk;
    const answers = answersOf({});
    expect(answers.standing).toBe('weak');
    expect(answers.good.says).toBe('Not good enough at hot');
    expect(answers.weakest.says).toMatch(/^Hot, 100 kPa: mean −\d\.\d\d kPa$/);
    expect(answers.capable.says).toBe(`Ppk estimated at ${(ppk ?? NaN).toFixed(2)}, wanted 1.33`);
    expect(answers.sure.note).toContain('from 13 parts, a small sample');
    expect(answersOf({}, ES).good.says).toBe('No basta en caliente');
  });

  test('a good lot is good', () => {
    expect(answersOf({ spanFallsKpa: 0 })).toMatchObject({
      standing: 'good',
      good: {
        says: 'Good at every condition tested',
        note: '13 of 13 parts inside their limits; the estimate of Ppk reaches 1.33 at every point. How sure that is stands beside it.',
      },
    });
  });

  test('a lot with parts outside says how many', () => {
    const choice = { spanFallsKpa: -4.2 };
    const { bad } = auditView(choice).evaluation;
    expect(bad).toBeGreaterThan(0);
    expect(answersOf(choice)).toMatchObject({
      standing: 'bad',
      good: {
        says: `${bad} of 13 parts failed`,
        note: 'A process audit judges no lot; with a bad part in it, it is held until a person decides.',
      },
    });
  });

  test('nothing tested is nothing said', () => {
    const { input, evaluation } = auditView();
    const answers = fourAnswers(EN, {
      ...{ ...evaluation, cells: [], weakest: null, bad: 0, notJudged: 0, missing: 0, parts: 13, wantedPpk: 1.33 },
      proposal: { decision: null, because: [{ code: 'unfinished', facts: { parts: 0, of: 13 } }] },
      ...{ stages: input.stages, points: input.points },
    });
    expect(answers.standing).toBe('open');
    expect(answers.good.says).toBe('Not finished');
    expect(answers.weakest.says).toBe('not known');
  });
});

test('a point that only audits take says how it was taken, in both languages', () => {
  const { input, evaluation } = auditView({ hasAuditPoints: true });
  const names = namesOf({ input, evaluation });
  const texts = (tongue: AuditTongue) => input.points.slice(5).map(({ step }) => pointText(tongue, names, step));
  expect(texts(EN)).toEqual(['40 kPa rising', '60 kPa rising', '60 kPa at 4.85 V', '60 kPa at 5.15 V']);
  expect(texts(ES)).toEqual(['40 kPa subiendo', '60 kPa subiendo', '60 kPa con 4,85 V', '60 kPa con 5,15 V']);
  expect(cellText(EN, names, { stage: 3, step: '60-kpa:rising' })).toBe('Hot, 60 kPa rising');
  expect(errorNote({ input }, EN)).toContain('way back');
  expect(errorNote({ input: auditView().input }, EN)).not.toContain('way back');
});

test('numbers are written as the language has them', () => {
  expect(numberText(-1.05, 2, 'en')).toBe('−1.05');
  expect(numberText(1234.5, 1, 'es')).toBe('1234,5');
  expect(signedText(-0.001, 2, 'en')).toBe('0.00');
  expect(signedText(0.5, 1, 'es')).toBe('+0,5');
  expect(probabilityText(0.35, 'en')).toBe('0.35');
  expect(probabilityText(0.0031, 'en')).toBe('0.0031');
  expect(probabilityText(1e-9, 'en')).toBe('< 0.0001');
});
