import { describe, expect, test } from 'vitest';
import type { SamplingPlan } from '../../../../server/audit/evaluation/contract.ts';
import { evaluate } from '../../../../server/audit/evaluation/evaluate.ts';
import { missesOf, sampleSizeOf } from '../../../../server/audit/evaluation/sample-size.ts';
import { variablesQualityAt } from '../../../../server/quality/sampling/variables-plan.ts';
import { auditEnglish } from '../../../../station/words/audit-en.ts';
import { missesText } from '../../../../station/words/plan-text.ts';
import { drawnAudit } from '../../../support/audit-population.ts';

const zero = (confidence: number, badShare: number): SamplingPlan => ({
  kind: 'zero-acceptance',
  confidence,
  badShare,
});

const said = (plan: SamplingPlan, lotSize: number): string =>
  missesText({ language: 'en', words: auditEnglish }, missesOf(plan, lotSize));

describe('a sample without a bad part', () => {
  // Success-run theorem, the reliability handbooks' table: 90/90 22, 95/95 59, 99/99 459 (from memory).
  test.each([
    [0.9, 0.1, 22],
    [0.95, 0.05, 59],
    [0.99, 0.01, 459],
    [0.95, 0.1, 29],
    [0.9, 0.05, 45],
  ])('%d sure that less than the share %d of a very large lot is bad: %d parts', (confidence, badShare, n) => {
    expect(sampleSizeOf(zero(confidence, badShare), 10_000_000)).toBe(n);
  });

  test.each([
    // 2 bad of 20: n parts miss both in (20 - n)(19 - n)/380, which is 42/380 for 13 and 30/380 for 14.
    [20, 14],
    // 1 bad of 10: 9 parts miss it in 1 of 10, which is met exactly.
    [10, 9],
    // 3 bad of 30: 15 miss them in 455/4060 = 0.1121, 16 in 364/4060 = 0.0897.
    [30, 16],
    // One bad part of five: only all of them show it.
    [5, 5],
    [1, 1],
  ])('by hand, 0.9 sure of a tenth: of %d parts %d', (lot, n) => {
    expect(sampleSizeOf(zero(0.9, 0.1), lot)).toBe(n);
  });

  test('7 of 25 are 0.28 of them, whatever the last digit says: 5 parts miss 7 bad in 8568/53130 = 0.161, and 8 in 0.116', () => {
    expect(0.28 * 25).toBeGreaterThan(7);
    expect(sampleSizeOf(zero(0.86, 0.28), 25)).toBe(6);
  });

  test('never above the lot, and never falling as lots grow by whole tenths', () => {
    const sizes = Array.from({ length: 300 }, (_, k) => sampleSizeOf(zero(0.95, 0.1), 10 * (k + 1)));
    for (const [k, n] of sizes.entries()) expect(n).toBeLessThanOrEqual(10 * (k + 1));
    expect(sizes).toEqual(sizes.toSorted((a, b) => a - b));
    expect(sizes.at(-1)).toBe(29);
  });

  test('says what it misses: 22 of a lot of 10 000 with a tenth bad pass in 10 of 100 cases (0.9^22 = 0.098)', () => {
    expect(said(zero(0.9, 0.1), 10_000)).toMatch(/22.*10000.*1000 bad \(10 %\).*10 of 100 cases/);
    expect(said(zero(0.9, 0.1), 5)).toContain('Every part of the lot');
  });

  test('a lot of nothing has no sample', () => {
    expect(() => sampleSizeOf(zero(0.9, 0.1), 0)).toThrow('lot');
  });
});

describe('the other plans', () => {
  const attributes = { kind: 'attributes', n: 50, c: 1, reference: 'Order 7' } as const;
  const variables = { kind: 'variables', n: 13, k: 1.53, reference: null } as const;
  test.each([[attributes, 50] as const, [variables, 13] as const, [{ kind: 'fixed', n: 5 } as const, 5] as const])(
    'ask for their number, whatever the lot: %o',
    (plan, n) => {
      expect(sampleSizeOf(plan, 3214)).toBe(n);
      expect(sampleSizeOf(plan, 4)).toBe(n);
    },
  );

  test('five parts accept a lot with a tenth bad in 59 of 100 cases (0.9^5 = 0.59049): a process audit', () => {
    const says = said({ kind: 'fixed', n: 5 }, 3214);
    expect(says).toContain('5 parts accept a lot with 10 % bad in 59 of 100 cases');
    expect(says).toContain('process audit');
  });

  test('by attributes and by variables, both points of the curve', () => {
    expect(said(attributes, 3214)).toMatch(/^Of lots of 3214 .* to be stopped 9 times in 10/);
    expect(() => missesOf(attributes, 40)).toThrow('50');
    expect(said(variables, 3214)).toMatch(/accepts 95 of 100.*normally distributed/);
  });

  test('an evaluation says what its plan misses', () => {
    const input = drawnAudit({ parts: 5 }, 1);
    expect(evaluate(input).misses).toEqual(missesOf(input.plan, input.lotSize));
    expect(evaluate(input).misses).toEqual({
      code: 'process-audit',
      facts: { n: 5, share: 0.1, missed: expect.closeTo(0.59049, 10) as number },
    });
  });
});

describe('a sample of which not every part was judged', () => {
  const missing = (parts: number) =>
    Array.from({ length: parts }, (_, k) => ({ serial: `M-${k}`, reason: 'not in the box' }));
  const judged = (plan: SamplingPlan, of: number, lotSize = 200) =>
    evaluate({ ...drawnAudit({ parts: 5 }, 1), plan, lotSize, missing: missing(of - 5) }).missesJudged;

  test('misses more: 5 instead of 21 of a lot of 200 with 20 bad', () => {
    expect(sampleSizeOf(zero(0.9, 0.1), 200)).toBe(21);
    // No bad part among 5: (180 · 179 · 178 · 177 · 176)/(200 · 199 · 198 · 197 · 196).
    const missed = [0, 1, 2, 3, 4].reduce((product, k) => (product * (180 - k)) / (200 - k), 1);
    expect(missed).toBeCloseTo(0.587, 3);
    expect(judged(zero(0.9, 0.1), 21)).toEqual({
      code: 'judged-fewer',
      facts: { judged: 5, of: 21, c: 0, lot: 200, bad: 20, missed: expect.closeTo(missed, 12) as number },
    });
  });

  test('by attributes the lot that the whole sample stops nine times in ten, by variables and as a process audit', () => {
    const one = judged({ kind: 'attributes', n: 13, c: 1, reference: 'Order 7' }, 13);
    expect(one).toMatchObject({ code: 'judged-fewer', facts: { judged: 5, of: 13, c: 1, lot: 200 } });
    // At most one bad among 5: none, or one (hypergeometric).
    const bad = one!.facts['bad']!;
    const none = [0, 1, 2, 3, 4].reduce((product, k) => (product * (200 - bad - k)) / (200 - k), 1);
    const single = (5 * none * bad) / (200 - bad - 4);
    expect(one!.facts['missed']).toBeCloseTo(none + single, 10);
    expect(one!.facts['missed']).toBeGreaterThan(0.4);
    expect(judged({ kind: 'attributes', n: 13, c: 5, reference: 'Order 7' }, 13)!.facts['missed']).toBe(1);
    const whole = variablesQualityAt({ n: 13, k: 1.53 }, 0.1);
    const fewer = judged({ kind: 'variables', n: 13, k: 1.53, reference: null }, 13);
    expect(fewer?.code).toBe('judged-fewer-variables');
    expect(fewer!.facts['share']).toBeGreaterThan(1.3 * whole);
    // 0.9^5.
    expect(judged({ kind: 'fixed', n: 13 }, 13)).toEqual({
      code: 'judged-fewer-process',
      facts: { judged: 5, of: 13, share: 0.1, missed: expect.closeTo(0.59049, 10) as number },
    });
  });

  test('a part without a verdict is one that was not judged; all judged say nothing more; no part says nothing at all', () => {
    const input = { ...drawnAudit({ parts: 5 }, 1), plan: { kind: 'fixed', n: 5 } as const };
    expect(evaluate(input).missesJudged).toBeNull();
    const parts = input.parts.map((part, k) =>
      k === 0
        ? { ...part, results: part.results.map(() => ({ verdict: 'none', reason: 'guard-open' }) as const) }
        : part,
    );
    expect(evaluate({ ...input, parts }).missesJudged?.facts).toMatchObject({ judged: 4, of: 5 });
    const gone = { ...input, parts: [], readings: [], missing: missing(5) };
    expect(evaluate(gone).missesJudged).toEqual({ code: 'judged-none', facts: { judged: 0, of: 5 } });
    // Before the end nobody knows how many it will be.
    const untested = input.parts.map((part) => ({ ...part, results: part.results.map(() => null) }));
    expect(evaluate({ ...input, parts: untested }).missesJudged).toBeNull();
  });
});
