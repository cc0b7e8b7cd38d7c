import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  variablesAcceptance,
  variablesDecision,
  variablesQualityAt,
} from '../../../../server/quality/sampling/variables-plan.ts';

/**
 * One-sided tolerance factors are plans by variables: with k the factor for coverage 1 - p and confidence 1 - beta, a lot
 * with the fraction p beyond the limit is accepted with probability beta. Natrella, "Experimental Statistics", NBS Handbook
 * 91, Table A-7; ISO 16269-6 (both from memory), factors printed to three decimals.
 */
test.each([
  [10, 2.355, 0.1, 0.05],
  [10, 2.911, 0.05, 0.05],
  [10, 3.981, 0.01, 0.05],
  [20, 1.926, 0.1, 0.05],
  [20, 2.396, 0.05, 0.05],
  [20, 3.295, 0.01, 0.05],
  [5, 3.407, 0.1, 0.05],
  [5, 4.203, 0.05, 0.05],
  [50, 2.065, 0.05, 0.05],
])('%d parts, k %d: %d beyond the limit is accepted with probability %d', (n, k, p, beta) => {
  const atPrinted = (shift: number): number => variablesAcceptance({ n, k: k + shift }, p);
  // The exact k lies within half of the last printed digit.
  expect(atPrinted(-0.0006)).toBeGreaterThan(beta);
  expect(atPrinted(0.0006)).toBeLessThan(beta);
});

const plans = fc.record({ n: fc.integer({ min: 2, max: 300 }), k: fc.double({ min: -1, max: 4, noNaN: true }) });
const fractions = fc.double({ min: 1e-6, max: 1 - 1e-6, noNaN: true });

describe('every plan', () => {
  test('acceptance falls as more lies beyond the limit, and the two tails make 1', () => {
    fc.assert(
      fc.property(plans, fractions, fractions, (plan, one, other) => {
        const better = variablesAcceptance(plan, Math.min(one, other));
        expect(variablesAcceptance(plan, Math.max(one, other))).toBeLessThanOrEqual(better + 1e-10);
        expect(better + variablesAcceptance(plan, Math.min(one, other), 'upper')).toBeCloseTo(1, 9);
      }),
      { numRuns: 40 },
    );
  });

  test('quality at a probability is the inverse of acceptance', () => {
    const wanted = fc.double({ min: 0.01, max: 0.99, noNaN: true });
    fc.assert(
      fc.property(plans, wanted, (plan, pa) => {
        expect(variablesAcceptance(plan, variablesQualityAt(plan, pa))).toBeCloseTo(pa, 8);
      }),
      { numRuns: 40 },
    );
  });

  test('with k 0 a process centred on the limit is accepted half of the time, by symmetry', () => {
    for (const n of [2, 3, 10, 1000]) expect(variablesAcceptance({ n, k: 0 }, 0.5)).toBeCloseTo(0.5, 10);
  });

  test('nothing beyond the limit is accepted, all beyond it refused', () => {
    expect(variablesAcceptance({ n: 5, k: 2 }, 0)).toBe(1);
    expect(variablesAcceptance({ n: 5, k: 2 }, 0, 'upper')).toBe(0);
    expect(variablesAcceptance({ n: 5, k: 2 }, 1)).toBe(0);
    expect(variablesAcceptance({ n: 5, k: 2 }, 1, 'upper')).toBe(1);
  });
});

const readings = fc
  .array(fc.integer({ min: -1000, max: 1000 }), { minLength: 3, maxLength: 20 })
  .filter((values) => new Set(values).size > 1);

describe('the decision', () => {
  test('MIL-STD-414 appendix, example B-1: five readings, upper limit 209, quality index 1.59 against k 1.53 (from memory)', () => {
    // Operating temperature of a device, AQL 1 percent, code letter D: 197, 188, 184, 205, 201; mean 195.
    const found = variablesDecision([197, 188, 184, 205, 201], null, 209, 1.53);
    expect(found).toMatchObject({ n: 5, mean: 195, qLower: null, accept: true });
    expect(found.qUpper!.toFixed(2)).toBe('1.59');
  });

  test('does not change with the unit or the order, and mirrors with the limits', () => {
    fc.assert(
      fc.property(readings, fc.double({ min: 0, max: 3, noNaN: true }), (values, k) => {
        const found = variablesDecision(values, -500, 600, k);
        expect(variablesDecision(values.toReversed(), -500, 600, k).accept).toBe(found.accept);
        const mirrored = variablesDecision(
          values.map((value) => -value),
          -600,
          500,
          k,
        );
        expect(mirrored.qUpper).toBeCloseTo(found.qLower!, 9);
        expect(mirrored.accept).toBe(found.accept);
        const scaled = variablesDecision(
          values.map((value) => 4 * value + 8),
          4 * -500 + 8,
          4 * 600 + 8,
          k,
        );
        expect(scaled.qUpper).toBeCloseTo(found.qUpper!, 9);
        expect(scaled.accept).toBe(found.accept);
      }),
    );
  });

  test('a quality index equal to k accepts', () => {
    // Mean 2, s 1, limit 4: index 2 exactly.
    expect(variablesDecision([1, 2, 3], null, 4, 2).accept).toBe(true);
    expect(variablesDecision([1, 2, 3], null, 4, 2.0000001).accept).toBe(false);
  });

  test('each limit is judged on its own: one below k refuses', () => {
    expect(variablesDecision([1, 2, 3], 1, 9, 1.5)).toMatchObject({ qLower: 1, qUpper: 7, accept: false });
  });

  test('one reading has no spread and decides nothing', () => {
    expect(variablesDecision([1], 0, 2, 1)).toEqual({
      n: 1,
      mean: 1,
      sd: null,
      qUpper: null,
      qLower: null,
      accept: null,
    });
  });

  test('equal readings decide nothing within the limits, and refuse beyond one', () => {
    expect(variablesDecision([1.1, 1.1, 1.1], 0, 2, 1)).toMatchObject({
      sd: 0,
      qUpper: null,
      qLower: null,
      accept: null,
    });
    expect(variablesDecision([1.1, 1.1, 1.1], 0, 1.1, 1)).toMatchObject({ qUpper: null, accept: null });
    expect(variablesDecision([3, 3, 3], 0, 2, 1)).toMatchObject({ qUpper: null, qLower: null, accept: false });
  });

  test('a huge offset keeps its digits', () => {
    const found = variablesDecision([1e9 + 0.001, 1e9 + 0.002, 1e9 + 0.003], null, 1e9 + 0.004, 1);
    // The doubles nearest to these readings are 2^-23 apart; so the index is 2 to that grain.
    expect(found.qUpper!).toBeCloseTo(2, 3);
  });
});

test.each([
  ['one part', () => variablesAcceptance({ n: 1, k: 1 }, 0.1), 'out-of-range', 'n'],
  ['half a part', () => variablesAcceptance({ n: 2.5, k: 1 }, 0.1), 'not-whole', 'n'],
  ['k of NaN', () => variablesAcceptance({ n: 5, k: Number.NaN }, 0.1), 'not-finite', 'k'],
  ['an infinite k', () => variablesQualityAt({ n: 5, k: Number.POSITIVE_INFINITY }, 0.1), 'not-finite', 'k'],
  ['a fraction above 1', () => variablesAcceptance({ n: 5, k: 1 }, 1.1), 'out-of-range', 'p'],
  ['certain acceptance', () => variablesQualityAt({ n: 5, k: 1 }, 1), 'out-of-range', 'pa'],
  ['no readings', () => variablesDecision([], 0, 1, 1), 'empty', 'values'],
  ['a reading of NaN', () => variablesDecision([1, Number.NaN], 0, 1, 1), 'not-finite', 'values[1]'],
  ['no limit', () => variablesDecision([1, 2], null, null, 1), 'no-limit', 'lsl'],
  ['crossed limits', () => variablesDecision([1, 2], 3, 2, 1), 'crossed-limits', 'lsl'],
  ['k of NaN for readings', () => variablesDecision([1, 2], 0, 3, Number.NaN), 'not-finite', 'k'],
])('%s is refused', (_what, run, code, key) => {
  expect(run).toThrow(expect.objectContaining({ name: 'QualityError', code, key }));
});
