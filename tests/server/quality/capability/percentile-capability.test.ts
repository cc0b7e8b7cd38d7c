import { describe, expect, test } from 'vitest';
import { nonNormalClaim, percentileCapability } from '../../../../server/quality/capability/percentile-capability.ts';

const upTo = (n: number): number[] => Array.from({ length: n }, (_, i) => i + 1);

describe('percentiles of the values', () => {
  test('of 1 to 1000 by definition 8 of Hyndman & Fan (1996): value number (n + 1/3) p + 1/3', () => {
    const found = percentileCapability(upTo(1000), { lsl: -500, usl: 2000 });
    const low = (1000 + 1 / 3) * 0.00135 + 1 / 3;
    expect(found.x00135).toBeCloseTo(low, 10);
    expect(found.x50).toBeCloseTo(500.5, 10);
    expect(found.x99865).toBeCloseTo(1001 - low, 10);
    expect(found.indices.both).toBeCloseTo(2500 / (1001 - 2 * low), 10);
    expect(found.indices.upper).toBeCloseTo(1499.5 / (500.5 - low), 10);
    expect(found.indices.lower).toBeCloseTo(1000.5 / (500.5 - low), 10);
    expect(found.indices.nearer).toBe(found.indices.lower);
    expect(found.tailsReached).toBe(true);
  });

  test.each([
    [100, false],
    [493, false],
    [494, true],
  ])('of %d values the tails are reached: %s; else the outermost values stand for them', (n, reached) => {
    const found = percentileCapability(upTo(n), { lsl: null, usl: 2 * n });
    expect(found.tailsReached).toBe(reached);
    expect(found.x00135 === 1).toBe(!reached);
    expect(found.x99865 === n).toBe(!reached);
    expect(found.indices).toMatchObject({ both: null, lower: null });
  });

  test('neither the order of the rows nor a mirror matters', () => {
    const values = upTo(600).map((x) => Math.sqrt(x));
    const a = percentileCapability(values, { lsl: 0, usl: 40 });
    const turned = percentileCapability([...values].reverse(), { lsl: 0, usl: 40 });
    const mirrored = percentileCapability(
      values.map((x) => -x),
      { lsl: -40, usl: 0 },
    );
    expect(turned).toEqual(a);
    expect(mirrored.indices.upper).toBeCloseTo(a.indices.lower ?? 0, 10);
    expect(mirrored.indices.lower).toBeCloseTo(a.indices.upper ?? 0, 10);
  });

  test('equal values, and equal percentiles on one side, have no index there', () => {
    const equal = percentileCapability(
      upTo(120).map(() => 7),
      { lsl: 0, usl: 9 },
    );
    expect(equal.indices).toEqual({ both: null, upper: null, lower: null, nearer: null });
    const bounded = percentileCapability(
      upTo(120).map((x) => (x < 100 ? 0 : x)),
      { lsl: -1, usl: 200 },
    );
    expect(bounded.indices.lower).toBeNull();
    expect(bounded.indices.nearer).toBe(bounded.indices.upper);
  });
});

describe('how many values it takes (100, common practice, no source)', () => {
  test('99 values are refused, 100 are not', () => {
    expect(() => percentileCapability(upTo(99), { lsl: 0, usl: 200 })).toThrow(
      expect.objectContaining({ code: 'too-few', key: 'values' }) as Error,
    );
    expect(percentileCapability(upTo(100), { lsl: 0, usl: 200 }).n).toBe(100);
  });

  test('a fit of fewer may be computed but not claimed', () => {
    expect(nonNormalClaim(100)).toEqual({ claimable: true, reason: null });
    expect(nonNormalClaim(80).claimable).toBe(false);
    expect(nonNormalClaim(80).reason).toContain('80 values');
    expect(() => nonNormalClaim(0)).toThrow(expect.objectContaining({ code: 'out-of-range', key: 'n' }) as Error);
  });

  test.each([
    ['no values', [], { lsl: 0, usl: 1 }, 'empty', 'values'],
    ['NaN', [...upTo(100), Number.NaN], { lsl: 0, usl: 1 }, 'not-finite', 'values[100]'],
    ['crossed limits', upTo(100), { lsl: 1, usl: 0 }, 'crossed-limits', 'lsl'],
    ['no limit', upTo(100), { lsl: null, usl: null }, 'no-limit', 'lsl'],
  ])('%s is refused', (_what, values, limits, code, key) => {
    expect(() => percentileCapability(values, limits)).toThrow(expect.objectContaining({ code, key }) as Error);
  });
});
