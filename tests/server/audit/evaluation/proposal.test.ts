import { describe, expect, test } from 'vitest';
import type { EvaluationInput, Proposal, SamplingPlan } from '../../../../server/audit/evaluation/contract.ts';
import { evaluate } from '../../../../server/audit/evaluation/evaluate.ts';
import { STAGES, drawnAudit, givenAudit } from '../../../support/audit-population.ts';

const AMBIENT = STAGES.slice(1, 2);
const ZERO: SamplingPlan = { kind: 'zero-acceptance', confidence: 0.9, badShare: 0.1 };
const oneBad = (n: number, c: number): SamplingPlan => ({ kind: 'attributes', n, c, reference: 'Order 7, clause 4' });

const proposed = (input: EvaluationInput): Proposal => evaluate(input).proposal;
const why = (input: EvaluationInput): string[] => proposed(input).because.map(({ code }) => code);

/** Errors of one point at ambient, 1.5 kPa allowed. */
const atOnePoint = (errors: readonly number[], plan: SamplingPlan = ZERO): EvaluationInput => ({
  ...givenAudit(
    errors.map((each) => [[each]]),
    AMBIENT,
  ),
  plan,
});

const NARROW = [0.1, -0.1, 0.05, -0.05, 0];
const WIDE = [1.1, -1.1, 0.9, -0.9, 0];

describe('nothing is proposed before everything is tested', () => {
  test('no part', () => {
    expect(proposed(givenAudit([]))).toEqual({
      decision: null,
      because: [{ code: 'unfinished', facts: { parts: 0, of: 0 } }],
    });
  });

  test('one of two parts not at hot yet, though the other has failed', () => {
    const input = givenAudit([
      [[9], [0], [0]],
      [[0], [0], null],
    ]);
    expect(proposed(input)).toEqual({
      decision: null,
      because: [{ code: 'unfinished', facts: { parts: 1, of: 2 } }],
    });
    expect(evaluate(input).bad).toBe(1);
  });

  test('a part with fewer results than there are stages', () => {
    const input = givenAudit([[[0], [0], [0]]]);
    expect(proposed({ ...input, parts: input.parts.map((part) => ({ ...part, results: [] })) }).decision).toBeNull();
  });
});

describe('by attributes', () => {
  test('a good sample is accepted, and says why', () => {
    expect(proposed(drawnAudit({}, 1)).decision).toBe('accept');
    const { decision, because } = proposed(atOnePoint(NARROW));
    expect(decision).toBe('accept');
    expect(because).toHaveLength(2);
    expect(because[0]).toEqual({ code: 'few-enough-bad', facts: { bad: 0, allowed: 0, n: 5 } });
    expect(because[1]).toMatchObject({ code: 'ppk-reached', facts: { stage: 2, step: '20-kpa', wanted: 1.33 } });
    // sd sqrt(0.025/4) = 0.0791: 1.5/(3 x 0.0791).
    expect(because[1]?.facts['ppk']).toBeCloseTo(6.3246, 4);
  });

  test.each([
    ['zero-acceptance', ZERO, 'reject', 'too-many-bad'],
    // A process audit judges no lot: it has somebody look, and speaks of nothing that is allowed.
    ['fixed', { kind: 'fixed', n: 5 } as const, 'hold', 'bad-seen'],
    ['attributes with c = 0', oneBad(6, 0), 'reject', 'too-many-bad'],
  ])('one bad part is one too many for %s', (_name, plan, wanted, code) => {
    const { decision, because } = proposed(atOnePoint([...NARROW, 1.6], plan));
    expect(decision).toBe(wanted);
    expect(because[0]).toEqual({ code, facts: { bad: 1, allowed: 0, n: 6 } });
    // The weak index stands behind what decides.
    expect(because[1]?.code).toBe('ppk-below');
  });

  test('c = 1 allows one bad part, not two', () => {
    const one = proposed(atOnePoint([...NARROW, 1.6], oneBad(6, 1)));
    expect(one.decision).toBe('hold');
    expect(one.because.map(({ code, facts }) => [code, facts['bad'], facts['allowed']])).toEqual([
      ['ppk-below', undefined, undefined],
      ['few-enough-bad', 1, 1],
    ]);
    expect(why(atOnePoint([...NARROW, 1.6, -1.6], oneBad(7, 1)))[0]).toBe('too-many-bad');
  });

  test('all inside but a weak index: hold', () => {
    const { decision, because } = proposed(atOnePoint(WIDE));
    expect(decision).toBe('hold');
    expect(because.map(({ code }) => code)).toEqual(['ppk-below', 'few-enough-bad']);
    // sd sqrt((2 x 1.21 + 2 x 0.81)/4) = 1.005: 1.5/(3 x 1.005).
    expect(because[0]?.facts['ppk']).toBeCloseTo(0.4975, 4);
  });

  test('a part without a verdict, and missing parts: hold, each with its count', () => {
    const input = atOnePoint(NARROW);
    const parts = input.parts.map((part, k) =>
      k === 0 ? { ...part, results: [{ verdict: 'none' as const, reason: 'guard-open' }] } : part,
    );
    const missing = [
      { serial: 'AQ1105-26B-00008', reason: 'not in the box' },
      { serial: 'AQ1105-26B-00009', reason: 'not in the box' },
    ];
    const { decision, because } = proposed({ ...input, parts, missing });
    expect(decision).toBe('hold');
    expect(because.slice(0, 2)).toEqual([
      { code: 'not-judged', facts: { parts: 1 } },
      { code: 'missing', facts: { parts: 2 } },
    ]);
    expect(because.slice(2).map(({ code }) => code)).toEqual(['few-enough-bad', 'ppk-reached']);
    // A bad part among the others decides all the same, and all else is still said.
    const bad = atOnePoint([...NARROW, 1.6]);
    expect(why({ ...bad, missing })).toEqual(['too-many-bad', 'ppk-below', 'missing']);
  });

  test('every part missing: hold for that alone', () => {
    const missing = [{ serial: 'AQ1105-26B-00001', reason: 'not in the box' }];
    expect(proposed({ ...givenAudit([]), missing })).toEqual({
      decision: 'hold',
      because: [{ code: 'missing', facts: { parts: 1 } }],
    });
  });

  test('a point whose readings are all equal holds the lot, and no Ppk is said to be reached everywhere', () => {
    // Every part 0.01 kPa from the limit of 1.5 kPa, to the last digit.
    const input = {
      ...givenAudit(
        NARROW.map((kPa) => [
          [kPa, 1.49],
          [kPa, kPa],
          [kPa, kPa],
        ]),
      ),
      plan: ZERO,
    };
    const { decision, because } = proposed(input);
    expect(decision).toBe('hold');
    expect(because).toEqual([
      { code: 'no-ppk', facts: { stage: 1, step: '40-kpa', cells: 1 } },
      { code: 'few-enough-bad', facts: { bad: 0, allowed: 0, n: 5 } },
    ]);
    // Beside a weak index both are said.
    const weak = {
      ...givenAudit(
        WIDE.map((kPa) => [[0.2, kPa]]),
        AMBIENT,
      ),
      plan: ZERO,
    };
    expect(why(weak)).toEqual(['ppk-below', 'no-ppk', 'few-enough-bad']);
    expect(proposed(atOnePoint([0.2, 0.2])).decision).toBe('hold');
  });

  test('one good part has no index and is accepted by its count', () => {
    expect(proposed(atOnePoint([0.1], { kind: 'fixed', n: 1 }))).toEqual({
      decision: 'accept',
      because: [{ code: 'none-bad-seen', facts: { bad: 0, allowed: 0, n: 1 } }],
    });
  });
});

describe('by variables', () => {
  // MIL-STD-414, example B-1 (from memory): 197, 188, 184, 205 and 201 degrees, upper limit 209, k 1.53: quality index 1.59.
  const degrees = (k: number): EvaluationInput => {
    const plan = { kind: 'variables', n: 5, k, reference: null } as const;
    const input = atOnePoint([197, 188, 184, 205, 201], plan);
    // Limits 100 about 109: the lower one is far.
    const readings = input.readings.map((each) => ({ ...each, errorKpa: each.errorKpa - 109, allowedKpa: 100 }));
    const parts = input.parts.map((part) => ({ ...part, results: [{ verdict: 'pass' as const, reason: null }] }));
    return { ...input, readings, parts, wantedPpk: 0.5 };
  };

  test('quality 1.59 reaches k 1.53 (MIL-STD-414, example B-1)', () => {
    const { decision, because } = proposed(degrees(1.53));
    expect(decision).toBe('accept');
    expect(because[0]).toMatchObject({ code: 'k-reached', facts: { stage: 2, step: '20-kpa', k: 1.53 } });
    expect(Number(because[0]?.facts['quality'])).toBeCloseTo(1.59, 2);
  });

  test('and is below 1.6: reject', () => {
    const { decision, because } = proposed(degrees(1.6));
    expect(decision).toBe('reject');
    expect(because[0]?.code).toBe('k-below');
  });

  test('the smallest index of all stages and points decides', () => {
    const input = givenAudit(
      NARROW.map((kPa, k) => [
        [kPa, kPa],
        [kPa, WIDE[k] ?? 0],
        [kPa, kPa],
      ]),
    );
    const { decision, because } = proposed({ ...input, plan: { kind: 'variables', n: 5, k: 1.6, reference: null } });
    expect(decision).toBe('reject');
    // 1.5/1.005, see above.
    expect(because[0]).toMatchObject({ code: 'k-below', facts: { stage: 2, step: '40-kpa', k: 1.6 } });
    expect(because[0]?.facts['quality']).toBeCloseTo(1.4926, 4);
  });

  test('a failed part is no matter of the index, but holds the lot', () => {
    const input = degrees(1.53);
    const parts = input.parts.map((part, k) =>
      k === 0 ? { ...part, results: [{ verdict: 'fail' as const, reason: 'slow' }] } : part,
    );
    const { decision, because } = proposed({ ...input, parts });
    expect(decision).toBe('hold');
    expect(because.map(({ code }) => code)).toEqual(['too-many-bad', 'k-reached', 'ppk-reached']);
  });

  test('readings without spread decide nothing: hold', () => {
    const plan = { kind: 'variables', n: 5, k: 1.53, reference: null } as const;
    expect(proposed(atOnePoint([0.2, 0.2, 0.2, 0.2, 0.2], plan))).toEqual({
      decision: 'hold',
      because: [
        { code: 'no-ppk', facts: { stage: 2, step: '20-kpa', cells: 1 } },
        { code: 'not-judged', facts: { parts: 5 } },
        { code: 'few-enough-bad', facts: { bad: 0, allowed: 0, n: 5 } },
      ],
    });
    expect(proposed(atOnePoint([0.2], plan)).decision).toBe('hold');
    // One point without spread among good ones: k is not reached everywhere.
    const mixed = givenAudit(
      NARROW.map((kPa) => [[kPa, 0.2]]),
      AMBIENT,
    );
    expect(why({ ...mixed, plan })).toEqual(['no-ppk', 'not-judged', 'few-enough-bad']);
    const unread = atOnePoint(NARROW, plan);
    expect(proposed({ ...unread, readings: [] }).because[0]).toEqual({ code: 'not-judged', facts: { parts: 5 } });
  });
});
