import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { acceptance, acceptanceInLot } from '../../../../server/quality/sampling/operating-characteristic.ts';
import type { ProcessModel } from '../../../../server/quality/sampling/operating-characteristic.ts';
import { twoPointPlan, twoPointPlanOfLot } from '../../../../server/quality/sampling/two-point-plan.ts';
import type { TwoPoints } from '../../../../server/quality/sampling/two-point-plan.ts';

const points = (aql: number, alpha: number, ltpd: number, beta: number): TwoPoints => ({ aql, alpha, ltpd, beta });

describe('the smallest plan, found outside the project by trying every n and c with SciPy binom.cdf and poisson.cdf', () => {
  test.each([
    [points(0.01, 0.05, 0.08, 0.1), [65, 2], [67, 2]],
    [points(0.02, 0.05, 0.08, 0.1), [98, 4], [116, 5]],
    [points(0.05, 0.1, 0.06, 0.4), [1213, 70], [1282, 74]],
    [points(0.01, 0.05, 0.06, 0.1), [110, 3], [112, 3]],
    [points(0.1, 0.05, 0.2, 0.05), [135, 19], [163, 23]],
    [points(0.3, 0.1, 0.5, 0.1), [39, 15], [68, 26]],
    [points(0.005, 0.01, 0.03, 0.05), [348, 5], [351, 5]],
  ] as const)('%o', (asked, [n, c], [poissonN, poissonC]) => {
    expect(twoPointPlan(asked, 'binomial')).toMatchObject({ n, c });
    expect(twoPointPlan(asked, 'poisson')).toMatchObject({ n: poissonN, c: poissonC });
  });
});

describe('one lot, by SciPy hypergeom.cdf over every n and c', () => {
  test.each([
    [100, points(0.01, 0.05, 0.1, 0.1), 33, 1],
    [500, points(0.01, 0.05, 0.05, 0.1), 123, 3],
    [30, points(1 / 30, 0.1, 5 / 30, 0.1), 17, 1],
    [20, points(0, 0.05, 0.05, 0.1), 18, 0],
    [10, points(0.1, 0.05, 0.2, 0.05), 10, 1],
  ] as const)('lot of %d', (lot, asked, n, c) => {
    expect(twoPointPlanOfLot(asked, lot)).toMatchObject({ n, c });
  });

  test('fractions are rounded so that both promises hold for every lot: down at aql, up at ltpd', () => {
    expect(twoPointPlanOfLot(points(0.019, 0.05, 0.081, 0.1), 100)).toMatchObject({ badAtAql: 1, badAtLtpd: 9 });
    // 0.07 times 100 is a little above 7 in doubles and still means 7.
    expect(twoPointPlanOfLot(points(0.01, 0.05, 0.07, 0.1), 100)).toMatchObject({ badAtAql: 1, badAtLtpd: 7 });
  });

  test('tends to the plan for the process as the lot grows', () => {
    const asked = points(0.02, 0.05, 0.08, 0.1);
    expect(twoPointPlanOfLot(asked, 10_000_000)).toMatchObject({ n: 98, c: 4 });
  });
});

const asked = fc
  .record({
    aql: fc.double({ min: 0.001, max: 0.3, noNaN: true }),
    ratio: fc.double({ min: 1.5, max: 3, noNaN: true }),
    alpha: fc.double({ min: 0.01, max: 0.3, noNaN: true }),
    beta: fc.double({ min: 0.01, max: 0.3, noNaN: true }),
  })
  .map(({ aql, ratio, alpha, beta }) => points(aql, alpha, aql * ratio, beta));

test.each(['binomial', 'poisson'] as ProcessModel[])(
  '%s: both promises hold, and no smaller sample keeps them',
  (model) => {
    fc.assert(
      fc.property(asked, (each) => {
        const { n, c, atAql, atLtpd } = twoPointPlan(each, model);
        expect(atAql).toBeGreaterThanOrEqual((1 - each.alpha) * (1 - 1e-10));
        expect(atLtpd).toBeLessThanOrEqual(each.beta * (1 + 1e-10));
        expect(atAql).toBe(acceptance({ n, c }, each.aql, model));
        // For each smaller sample the largest c that keeps the consumer's promise breaks the producer's.
        for (const fewer of [n - 1, n - 2, Math.floor(n / 2)].filter((size) => size >= 1)) {
          let most = -1;
          while (acceptance({ n: fewer, c: most + 1 }, each.ltpd, model) <= each.beta) most += 1;
          if (most >= 0)
            expect(acceptance({ n: fewer, c: most }, each.aql, model)).toBeLessThan(1 - each.alpha + 1e-10);
        }
      }),
      { numRuns: 60 },
    );
  },
);

test('a small lot: exhaustive comparison over its samples and acceptance numbers', () => {
  for (const lot of [1, 2, 5, 12, 25]) {
    for (const [badAtAql, badAtLtpd] of [
      [0, 1],
      [1, 2],
      [1, 4],
      [2, 9],
    ] as const) {
      if (badAtLtpd > lot) continue;
      const { n, c } = twoPointPlanOfLot(points(badAtAql / lot, 0.1, badAtLtpd / lot, 0.2), lot);
      const keeps = (size: number, most: number): boolean =>
        acceptanceInLot({ n: size, c: most }, lot, badAtAql) >= 0.9 - 1e-10 &&
        acceptanceInLot({ n: size, c: most }, lot, badAtLtpd) <= 0.2 + 1e-10;
      expect(keeps(n, c)).toBe(true);
      for (let size = 1; size < n; size += 1) {
        for (let most = 0; most <= size; most += 1) expect(keeps(size, most)).toBe(false);
      }
    }
  }
});

test('nothing bad at aql, everything at ltpd: one part tells', () => {
  expect(twoPointPlan(points(0, 0.05, 1, 0.1), 'binomial')).toEqual({ n: 1, c: 0, atAql: 1, atLtpd: 0 });
});

test.each([
  ['ltpd at aql', points(0.02, 0.05, 0.02, 0.1), 'crossed-limits', 'aql'],
  ['ltpd below aql', points(0.05, 0.05, 0.01, 0.1), 'crossed-limits', 'aql'],
  ['a fraction above 1', points(0.05, 0.05, 1.5, 0.1), 'out-of-range', 'ltpd'],
  ['a negative fraction', points(-0.05, 0.05, 0.5, 0.1), 'out-of-range', 'aql'],
  ['no risk for the producer', points(0.01, 0, 0.05, 0.1), 'out-of-range', 'alpha'],
  ['certain acceptance for the consumer', points(0.01, 0.05, 0.05, 1), 'out-of-range', 'beta'],
  ['a fraction of NaN', points(Number.NaN, 0.05, 0.05, 0.1), 'not-finite', 'aql'],
  ['points too close to tell apart', points(0.02, 0.05, 0.020001, 0.1), 'no-solution', 'ltpd'],
])('%s is refused', (_what, each, code, key) => {
  expect(() => twoPointPlan(each, 'binomial')).toThrow(expect.objectContaining({ name: 'QualityError', code, key }));
});

test.each([
  ['an empty lot', 0, points(0.01, 0.05, 0.05, 0.1), 'out-of-range', 'lot'],
  ['half a part', 10.5, points(0.01, 0.05, 0.05, 0.1), 'not-whole', 'lot'],
])('%s is refused', (_what, lot, each, code, key) => {
  expect(() => twoPointPlanOfLot(each, lot)).toThrow(expect.objectContaining({ name: 'QualityError', code, key }));
});
