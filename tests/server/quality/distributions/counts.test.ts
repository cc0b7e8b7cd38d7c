import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { binomialCdf } from '../../../../server/quality/distributions/binomial.ts';
import { chiSquareCdf } from '../../../../server/quality/distributions/chi-square.ts';
import { hypergeometricCdf } from '../../../../server/quality/distributions/hypergeometric.ts';
import { poissonCdf } from '../../../../server/quality/distributions/poisson.ts';

const choose = (n: number, k: number): bigint => {
  let product = 1n;
  for (let i = 1; i <= k; i += 1) product = (product * BigInt(n - k + i)) / BigInt(i);
  return k < 0 || k > n ? 0n : product;
};

/** A quotient of whole numbers to 15 digits, however long they are. */
const quotient = (over: bigint, under: bigint): number => {
  if (over === 0n) return 0;
  const shift = Math.max(0, under.toString(2).length - over.toString(2).length + 70);
  return Number((over << BigInt(shift)) / under) / 2 ** shift;
};

const expectNear = (got: number, expected: number, tolerance = 1e-12): void => {
  expect(Math.abs(got - expected)).toBeLessThanOrEqual(tolerance * Math.abs(expected));
};

const sumOf = (from: number, to: number, term: (i: number) => bigint): bigint => {
  let sum = 0n;
  for (let i = from; i <= to; i += 1) sum += term(i);
  return sum;
};

describe('against whole-number arithmetic from the definition', () => {
  test('hypergeometric: bad parts in a sample of a lot', () => {
    const cases = fc.integer({ min: 1, max: 120 }).chain((lot) =>
      fc.record({
        lot: fc.constant(lot),
        bad: fc.integer({ min: 0, max: lot }),
        sample: fc.integer({ min: 0, max: lot }),
        k: fc.integer({ min: -2, max: lot + 2 }),
      }),
    );
    fc.assert(
      fc.property(cases, ({ lot, bad, sample, k }) => {
        const ways = (i: number): bigint => choose(bad, i) * choose(lot - bad, sample - i);
        const all = choose(lot, sample);
        const given = { lot, bad, sample };
        expectNear(hypergeometricCdf(k, given), quotient(sumOf(0, Math.min(k, sample), ways), all));
        expectNear(hypergeometricCdf(k, given, 'upper'), quotient(sumOf(Math.max(0, k + 1), sample, ways), all));
      }),
      { numRuns: 400 },
    );
  });

  test('binomial with p a multiple of 1/64', () => {
    const cases = fc.record({
      n: fc.integer({ min: 0, max: 150 }),
      eighths: fc.integer({ min: 0, max: 64 }),
      k: fc.integer({ min: -2, max: 152 }),
    });
    fc.assert(
      fc.property(cases, ({ n, eighths, k }) => {
        const ways = (i: number): bigint =>
          choose(n, i) * BigInt(eighths) ** BigInt(i) * BigInt(64 - eighths) ** BigInt(n - i);
        const all = 64n ** BigInt(n);
        const lower = quotient(sumOf(0, Math.min(k, n), ways), all);
        const upper = quotient(sumOf(Math.max(0, k + 1), n, ways), all);
        expectNear(binomialCdf(k, n, eighths / 64), lower);
        expectNear(binomialCdf(k, n, eighths / 64, 'upper'), upper);
      }),
      { numRuns: 400 },
    );
  });
});

describe('by hand and from tables', () => {
  test.each([
    ['8 cups, 4 chosen, all 4 right: 1/70 (Fisher, "The Design of Experiments", 1935)', [3, 8, 4, 4], 1 / 70],
    ['2 bad of 4, two parts drawn, both bad: 1/6', [1, 4, 2, 2], 1 / 6],
    ['the only bad part among 18 drawn of 20', [0, 20, 1, 18], 0.9],
  ] as const)('%s', (_what, [k, lot, bad, sample], upper) => {
    expectNear(hypergeometricCdf(k, { lot, bad, sample }, 'upper'), upper, 1e-14);
  });

  test('no bad part in 125 is (1 - p)^125, no fault is exp(-mean)', () => {
    expectNear(binomialCdf(0, 125, 0.0065), Math.exp(125 * Math.log1p(-0.0065)), 1e-14);
    expectNear(poissonCdf(0, 0.8), Math.exp(-0.8), 1e-14);
    expectNear(poissonCdf(0, 1e-9, 'upper'), -Math.expm1(-1e-9), 1e-14);
  });

  test('Poisson, mean 1, at most 3: 0.98101 (Abramowitz & Stegun, table 26.7, from memory)', () => {
    expect(poissonCdf(3, 1)).toBeCloseTo(0.98101, 5);
  });

  test('Poisson is the upper tail of chi-square with 2 k + 2 degrees at twice the mean (Abramowitz & Stegun, 26.4.21)', () => {
    for (const [k, mean] of [
      [0, 0.1],
      [7, 3.3],
      [1000, 1100],
    ] as const) {
      expect(poissonCdf(k, mean)).toBe(chiSquareCdf(2 * mean, 2 * k + 2, 'upper'));
    }
  });
});

describe('a count that cannot be', () => {
  test.each([
    ['below 0', binomialCdf(-1, 10, 0.3), binomialCdf(-1, 10, 0.3, 'upper'), 0],
    ['all of n', binomialCdf(10, 10, 0.3), binomialCdf(10, 10, 0.3, 'upper'), 1],
    ['beyond n', binomialCdf(11, 10, 0.3), binomialCdf(11, 10, 0.3, 'upper'), 1],
    ['from a process without bad parts', binomialCdf(0, 10, 0), binomialCdf(0, 10, 0, 'upper'), 1],
    ['from a process of bad parts only', binomialCdf(9, 10, 1), binomialCdf(9, 10, 1, 'upper'), 0],
    ['out of no parts', binomialCdf(0, 0, 0.5), binomialCdf(0, 0, 0.5, 'upper'), 1],
    ['of faults below 0', poissonCdf(-1, 3), poissonCdf(-1, 3, 'upper'), 0],
    ['of faults where none are expected', poissonCdf(0, 0), poissonCdf(0, 0, 'upper'), 1],
    [
      'fewer than the sample must hold',
      hypergeometricCdf(5, { lot: 20, bad: 8, sample: 18 }),
      hypergeometricCdf(5, { lot: 20, bad: 8, sample: 18 }, 'upper'),
      0,
    ],
    [
      'all the bad parts of the lot',
      hypergeometricCdf(8, { lot: 20, bad: 8, sample: 18 }),
      hypergeometricCdf(8, { lot: 20, bad: 8, sample: 18 }, 'upper'),
      1,
    ],
    [
      'in an empty sample',
      hypergeometricCdf(0, { lot: 20, bad: 8, sample: 0 }),
      hypergeometricCdf(0, { lot: 20, bad: 8, sample: 0 }, 'upper'),
      1,
    ],
  ])('%s has exactly nothing or everything', (_what, lower, upper, expected) => {
    expect([lower, upper]).toEqual([expected, 1 - expected]);
  });
});

describe('bad parts and drawn parts', () => {
  test('change places without changing the probability', () => {
    expectNear(
      hypergeometricCdf(3, { lot: 1_000_000, bad: 500, sample: 2000 }),
      hypergeometricCdf(3, { lot: 1_000_000, bad: 2000, sample: 500 }),
      1e-12,
    );
  });

  test('from a huge lot are binomial', () => {
    const lot = { lot: 10_000_000_000, bad: 100_000_000, sample: 80 };
    expectNear(hypergeometricCdf(2, lot), binomialCdf(2, 80, 0.01), 1e-7);
  });
});

const lot = { lot: 10, bad: 3, sample: 4 };

test.each([
  ['a part of a count', () => binomialCdf(1.5, 10, 0.1), 'not-whole', 'k'],
  ['a part of a part', () => binomialCdf(1, 10.5, 0.1), 'not-whole', 'n'],
  ['fewer than no parts', () => binomialCdf(1, -1, 0.1), 'out-of-range', 'n'],
  ['a fraction above 1', () => binomialCdf(1, 10, 1.1), 'out-of-range', 'p'],
  ['a missing fraction', () => binomialCdf(1, 10, Number.NaN), 'not-finite', 'p'],
  ['a part of a fault', () => poissonCdf(0.5, 1), 'not-whole', 'k'],
  ['fewer faults than none expected', () => poissonCdf(1, -1), 'out-of-range', 'mean'],
  ['endless faults', () => poissonCdf(1, Infinity), 'not-finite', 'mean'],
  ['a part of a bad part', () => hypergeometricCdf(0.5, lot), 'not-whole', 'k'],
  ['more bad parts than the lot has', () => hypergeometricCdf(0, { ...lot, bad: 11 }), 'beyond-lot', 'bad'],
  ['more drawn than the lot has', () => hypergeometricCdf(0, { ...lot, sample: 11 }), 'beyond-lot', 'sample'],
  ['a lot of fewer than none', () => hypergeometricCdf(0, { ...lot, lot: -1 }), 'out-of-range', 'lot'],
  ['a negative sample', () => hypergeometricCdf(0, { ...lot, sample: -1 }), 'out-of-range', 'sample'],
])('%s is refused', (_what, call, code, key) => {
  expect(call).toThrow(expect.objectContaining({ code, key }));
});
