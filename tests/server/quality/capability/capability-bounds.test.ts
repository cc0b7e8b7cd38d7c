import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { individualsCapability, subgroupsCapability } from '../../../../server/quality/capability/capability.ts';
import {
  approximateInterval,
  approximateLowestIndex,
  chiSquareInterval,
  exactInterval,
  lowestIndex,
  overallBounds,
  pooledBounds,
} from '../../../../server/quality/capability/capability-bounds.ts';
import { noncentralTCdf } from '../../../../server/quality/distributions/noncentral-t.ts';
import { stream } from '../../../../station/random.ts';

const of = (n: number, confidence = 0.95) => ({ n, df: n - 1, confidence });

describe('published worked examples', () => {
  test('Cp 2.29 of 20 values: 1.57 to 3.01 (Montgomery, "Introduction to Statistical Quality Control", 8.3.5, from memory)', () => {
    const { lower, upper } = chiSquareInterval(2.29, of(20));
    expect(lower).toBeCloseTo(1.57, 2);
    expect(upper).toBeCloseTo(3.01, 2);
  });

  test.each([
    ['Montgomery, "Introduction to Statistical Quality Control", 8.3.5, from memory', 20, 1.33, 0.88, 1.78],
    ['Quality Digest, May 2000, "Last word"', 45, 1.15, 0.89, 1.41],
  ])('Cpk by the normal approximation (%s): n %d, %d lies in %d to %d', (_source, n, index, low, high) => {
    const { lower, upper } = approximateInterval(index, of(n));
    expect(lower).toBeCloseTo(low, 2);
    expect(upper).toBeCloseTo(high, 2);
  });

  test.each([
    [30, 1.67, 1.29568],
    [30, 1.33, 1.026],
    [125, 1.67, 1.489],
  ])('one-sided approximation by hand: n %d, %d shows %d', (n, index, shown) => {
    const z = 1.6448536269514722;
    const bound = approximateLowestIndex(index, of(n));
    expect(bound).toBeCloseTo(index - z * Math.sqrt(1 / (9 * n) + index ** 2 / (2 * (n - 1))), 12);
    expect(bound).toBeCloseTo(shown, 3);
  });

  // A one-sided tolerance factor k1 is three times the index that just shows the normal quantile of p over 3.
  // n, k1 printed, p, its normal quantile, confidence.
  test.each([
    ['Odeh & Owen tables, ISO 16269-6 (from memory)', 10, 2.911, 1.6448536269514722, 0.95],
    ['Odeh & Owen tables, ISO 16269-6 (from memory)', 10, 3.981, 2.3263478740408408, 0.95],
    ['Odeh & Owen tables, ISO 16269-6 (from memory)', 20, 2.208, 1.6448536269514722, 0.9],
    ['NIST/SEMATECH e-Handbook 7.2.6.3 (from memory)', 43, 1.874, 1.2815515655446004, 0.99],
  ])('%s: n %d, tolerance factor %d shows the quantile %d at %d', (_source, n, factor, quantile, confidence) => {
    expect(3 * lowestIndex(factor / 3, of(n, confidence))).toBeCloseTo(quantile, 3);
  });
});

describe('definitions', () => {
  test.each([
    [2, 1.84],
    [13, 2.03],
    [30, -0.6],
    [300, 8.3],
    [5000, 1.33],
  ])('n %d, index %d: each bound leaves its share of the noncentral t beyond the observed one', (n, index) => {
    const scale = 3 * Math.sqrt(n);
    const below = (bound: number) => noncentralTCdf(scale * index, n - 1, scale * bound);
    expect(below(lowestIndex(index, of(n)))).toBeCloseTo(0.95, 9);
    const { lower, upper } = exactInterval(index, of(n));
    expect(below(lower)).toBeCloseTo(0.975, 9);
    expect(below(upper)).toBeCloseTo(0.025, 9);
  });

  test('the overall bounds take n - 1, the pooled ones the degrees of freedom within; both take the number of all values', () => {
    const found = subgroupsCapability(
      [
        [1, 2, 3],
        [2, 3, 5],
        [0, 1, 1],
      ],
      { lsl: -9, usl: 12 },
    );
    const overall = overallBounds(found);
    const pooled = pooledBounds(found);
    expect(overall?.df).toBe(8);
    expect(pooled?.df).toBe(6);
    const cpu = found.within.pooled?.indices.upper ?? 0;
    expect(pooled?.upperAtLeast).toBe(lowestIndex(cpu, { n: 9, df: 6, confidence: 0.95 }));
    expect(pooledBounds(individualsCapability([1, 2, 3], { lsl: 0, usl: 9 }))).toBeNull();
  });

  test('of two limits the nearer side bounds Ppk, and with one limit that side', () => {
    const two = overallBounds(individualsCapability([1, 2, 3, 4], { lsl: -3, usl: 12 }));
    expect(two?.nearerAtLeast).toBe(two?.lowerAtLeast);
    expect(two?.nearerAtLeast).toBeLessThan(two?.upperAtLeast ?? 0);
    const one = overallBounds(individualsCapability([1, 2, 3, 4], { lsl: null, usl: 12 }));
    expect(one).toMatchObject({ both: null, lower: null, lowerAtLeast: null });
    expect(one?.nearerAtLeast).toBe(one?.upperAtLeast);
  });

  test('without a spread there is no bound', () => {
    expect(overallBounds(individualsCapability([2, 2, 2], { lsl: 0, usl: 9 }))).toBeNull();
    expect(overallBounds(individualsCapability([2], { lsl: 0, usl: 9 }))).toBeNull();
    const constantGroups = [
      [1, 1],
      [2, 2],
    ];
    expect(pooledBounds(subgroupsCapability(constantGroups, { lsl: 0, usl: 9 }))).toBeNull();
    expect(pooledBounds(subgroupsCapability([[1], [2]], { lsl: 0, usl: 9 }))).toBeNull();
  });
});

describe('properties', () => {
  test('a larger sample leaves less doubt', () => {
    const sizes = [2, 3, 5, 10, 30, 100, 1000];
    const lows = sizes.map((n) => lowestIndex(1.5, of(n)));
    const widths = sizes.map((n) => exactInterval(1.5, of(n))).map(({ lower, upper }) => upper - lower);
    const chi = sizes.map((n) => chiSquareInterval(1.5, of(n))).map(({ lower, upper }) => upper - lower);
    expect(lows).toEqual([...lows].sort((a, b) => a - b));
    expect(widths).toEqual([...widths].sort((a, b) => b - a));
    expect(chi).toEqual([...chi].sort((a, b) => b - a));
    expect(lows.at(-1)).toBeLessThan(1.5);
    expect(lows.at(-1)).toBeGreaterThan(1.44);
  });

  test('every bound lies on its side of the index, the one-sided one inside the two-sided', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -2, max: 10, noNaN: true }),
        fc.integer({ min: 2, max: 200 }),
        fc.double({ min: 0.8, max: 0.999, noNaN: true }),
        (index, n, confidence) => {
          const { lower, upper } = exactInterval(index, of(n, confidence));
          const low = lowestIndex(index, of(n, confidence));
          expect(lower).toBeLessThan(low);
          expect(low).toBeLessThan(upper);
          expect(upper).toBeGreaterThan(index - 1e-9);
        },
      ),
      { numRuns: 30 },
    );
  });

  test('mirrored, an index has the mirrored interval', () => {
    const { lower, upper } = exactInterval(1.2, of(20));
    const mirrored = exactInterval(-1.2, of(20));
    expect(mirrored.lower).toBeCloseTo(-upper, 10);
    expect(mirrored.upper).toBeCloseTo(-lower, 10);
  });

  test('500 drawn samples of 8: the bound of one side holds in 95 % of them, that of the nearer side in no fewer', () => {
    const draw = stream(20_241, 'capability bounds', 0);
    const truth = 1;
    let oneSide = 0;
    let nearerSide = 0;
    for (let i = 0; i < 500; i += 1) {
      const values = Array.from({ length: 8 }, () => draw.normal());
      const { indices } = individualsCapability(values, { lsl: -3 * truth, usl: 3 * truth }).overall!;
      if (lowestIndex(indices.upper!, of(8)) <= truth) oneSide += 1;
      if (lowestIndex(indices.nearer!, of(8)) <= truth) nearerSide += 1;
    }
    // Binomial with 500 draws: 475, four standard deviations are 19.5.
    expect(Math.abs(oneSide - 475)).toBeLessThan(19.5);
    expect(nearerSide).toBeGreaterThanOrEqual(oneSide);
  });
});

describe('refused', () => {
  const found = individualsCapability([1, 2, 3], { lsl: 0, usl: 9 });
  test.each([
    ['confidence 0', () => overallBounds(found, 0), 'out-of-range', 'confidence'],
    ['confidence 1', () => overallBounds(found, 1), 'out-of-range', 'confidence'],
    ['confidence NaN', () => overallBounds(found, Number.NaN), 'not-finite', 'confidence'],
    ['an index that is no number', () => lowestIndex(Number.NaN, of(5)), 'not-finite', 'index'],
    ['part of a value', () => exactInterval(1, { n: 2.5, df: 2, confidence: 0.9 }), 'not-whole', 'n'],
    ['no degree of freedom', () => chiSquareInterval(1, of(1)), 'out-of-range', 'df'],
    ['no value', () => approximateInterval(1, { n: 0, df: 2, confidence: 0.9 }), 'out-of-range', 'n'],
  ])('%s', (_what, compute, code, key) => {
    expect(compute).toThrow(expect.objectContaining({ code, key }) as Error);
  });
});
