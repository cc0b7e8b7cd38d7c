import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { acceptanceInLot } from '../../../../server/quality/sampling/operating-characteristic.ts';
import { zeroAcceptance, zeroAcceptanceOfProcess } from '../../../../server/quality/sampling/zero-acceptance.ts';

test.each([
  [0.95, 0.01, 299],
  [0.95, 0.05, 59],
  [0.95, 0.1, 29],
  [0.9, 0.1, 22],
  [0.95, 0.001, 2995],
  // Success-run theorem, the reliability handbooks' table: 90/90 22, 95/95 59, 99/99 459 (from memory).
  [0.99, 0.01, 459],
  [0.9, 0.05, 45],
  [0.9, 0.01, 230],
])(
  'with confidence %d that at most the fraction %d is bad: %d parts without a bad one (from memory)',
  (confidence, p, n) => {
    expect(zeroAcceptanceOfProcess(p, 1 - confidence).n).toBe(n);
  },
);

describe('counted by hand', () => {
  test.each([
    ['1 bad of 20, 10 percent: 18, where the risk is 2/20 exactly', 20, 1, 0.1, 18, 0.1],
    ['1 bad of 20, 95 percent sure: 19, where the risk is 1/20 exactly', 20, 1, 0.05, 19, 0.05],
    ['all bad: one part tells', 10, 10, 0.05, 1, 0],
    ['a lot of one bad part', 1, 1, 0.05, 1, 0],
    ['2 bad of 4: two parts miss them in 1 of 6', 4, 2, 1 / 6, 2, 1 / 6],
    ['certainty wants all but D - 1', 50, 3, 0, 48, 0],
  ])('%s', (_what, lot, bad, beta, n, missed) => {
    const found = zeroAcceptance(lot, bad, beta);
    expect(found.n).toBe(n);
    expect(found.missed).toBeCloseTo(missed, 14);
  });

  test('(1/2)^2 is 1/4 exactly and two parts do', () => {
    expect(zeroAcceptanceOfProcess(0.5, 0.25)).toEqual({ n: 2, missed: 0.25, missedWithOneLess: 0.5 });
    expect(zeroAcceptanceOfProcess(0.9, 0.1).n).toBe(1);
    expect(zeroAcceptanceOfProcess(1, 0.1)).toEqual({ n: 1, missed: 0, missedWithOneLess: 1 });
  });
});

const asked = fc.integer({ min: 1, max: 3000 }).chain((lot) =>
  fc.record({
    lot: fc.constant(lot),
    bad: fc.integer({ min: 1, max: lot }),
    beta: fc.double({ min: 0.001, max: 0.999, noNaN: true }),
  }),
);

describe('every lot', () => {
  test('the sample keeps the risk and one part less does not', () => {
    fc.assert(
      fc.property(asked, ({ lot, bad, beta }) => {
        const { n, missed, missedWithOneLess } = zeroAcceptance(lot, bad, beta);
        expect(missed).toBeLessThanOrEqual(beta * (1 + 1e-10));
        expect(missedWithOneLess).toBeGreaterThan(beta * (1 - 1e-10));
        expect(missed).toBe(acceptanceInLot({ n, c: 0 }, lot, bad));
      }),
    );
  });

  test('the sample is never larger than that of a process as bad', () => {
    fc.assert(
      fc.property(asked, ({ lot, bad, beta }) => {
        expect(zeroAcceptance(lot, bad, beta).n).toBeLessThanOrEqual(zeroAcceptanceOfProcess(bad / lot, beta).n);
      }),
    );
  });

  test('more bad parts or more risk never need a larger sample', () => {
    fc.assert(
      fc.property(asked, ({ lot, bad, beta }) => {
        const { n } = zeroAcceptance(lot, bad, beta);
        expect(zeroAcceptance(lot, Math.min(lot, bad + 1), beta).n).toBeLessThanOrEqual(n);
        expect(zeroAcceptance(lot, bad, (1 + beta) / 2).n).toBeLessThanOrEqual(n);
      }),
    );
  });

  test('a lot of a million comes within a hundredth of its process', () => {
    expect(zeroAcceptance(1_000_000, 1000, 0.05).n / zeroAcceptanceOfProcess(0.001, 0.05).n).toBeCloseTo(1, 2);
  });
});

test.each([
  ['a lot without a bad part', () => zeroAcceptance(10, 0, 0.1), 'no-solution', 'bad'],
  ['more bad parts than the lot has', () => zeroAcceptance(10, 11, 0.1), 'beyond-lot', 'bad'],
  ['half a bad part', () => zeroAcceptance(10, 1.5, 0.1), 'not-whole', 'bad'],
  ['an empty lot', () => zeroAcceptance(0, 0, 0.1), 'out-of-range', 'lot'],
  ['a lot of NaN', () => zeroAcceptance(Number.NaN, 1, 0.1), 'not-finite', 'lot'],
  ['certain acceptance', () => zeroAcceptance(10, 1, 1), 'out-of-range', 'beta'],
  ['a negative risk', () => zeroAcceptance(10, 1, -0.1), 'out-of-range', 'beta'],
  ['a clean process', () => zeroAcceptanceOfProcess(0, 0.1), 'no-solution', 'p'],
  ['a process of NaN', () => zeroAcceptanceOfProcess(Number.NaN, 0.1), 'not-finite', 'p'],
  ['no risk at all in a process', () => zeroAcceptanceOfProcess(0.1, 0), 'out-of-range', 'beta'],
])('%s is refused', (_what, run, code, key) => {
  expect(run).toThrow(expect.objectContaining({ name: 'QualityError', code, key }));
});
