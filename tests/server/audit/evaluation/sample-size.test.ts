import { describe, expect, test } from 'vitest';
import type { SamplingPlan } from '../../../../server/audit/evaluation/contract.ts';
import { evaluate } from '../../../../server/audit/evaluation/evaluate.ts';
import { missesOf, sampleSizeOf } from '../../../../server/audit/evaluation/sample-size.ts';
import { drawnAudit } from '../../../support/audit-population.ts';

const zero = (confidence: number, badShare: number): SamplingPlan => ({
  kind: 'zero-acceptance',
  confidence,
  badShare,
});

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
    expect(missesOf(zero(0.9, 0.1), 10_000)).toMatch(/22.*10000.*1000 bad \(10 %\).*10 of 100 cases/);
    expect(missesOf(zero(0.9, 0.1), 5)).toContain('Every part of the lot');
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
    const says = missesOf({ kind: 'fixed', n: 5 }, 3214);
    expect(says).toContain('5 parts accept a lot with 10 % bad in 59 of 100 cases');
    expect(says).toContain('process audit');
  });

  test('by attributes and by variables, both points of the curve', () => {
    expect(missesOf(attributes, 3214)).toMatch(/^Of lots of 3214 .* to be stopped 9 times in 10/);
    expect(() => missesOf(attributes, 40)).toThrow('50');
    expect(missesOf(variables, 3214)).toMatch(/accepts 95 of 100.*normally distributed/);
  });

  test('an evaluation says what its plan misses', () => {
    const input = drawnAudit({ parts: 5 }, 1);
    expect(evaluate(input).misses).toBe(missesOf(input.plan, input.lotSize));
    expect(evaluate(input).misses).toContain('59 of 100');
  });
});
