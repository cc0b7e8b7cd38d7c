import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { answer } from '../../../../server/cli/calc/answer.ts';
import { capabilityTopic } from '../../../../server/cli/calc/capability.ts';
import { individualsCapability, subgroupsCapability } from '../../../../server/quality/capability/capability.ts';
import { capabilityIndices, normalReference } from '../../../../server/quality/capability/capability-indices.ts';
import { normalFractionOutside, observedOutside } from '../../../../server/quality/capability/fraction-outside.ts';

const BAND = { lsl: 3.9575, usl: 4.0925 };

describe('published worked examples', () => {
  test('NIST/SEMATECH e-Handbook 6.1.6 (from memory): limits 8 and 20, mean 16, s 2', () => {
    const { both, upper, lower, nearer } = capabilityIndices({ lsl: 8, usl: 20 }, normalReference(16, 2));
    expect(both).toBe(1);
    expect(upper).toBeCloseTo(0.6667, 4);
    expect(lower).toBeCloseTo(1.3333, 4);
    expect(nearer).toBe(upper);
  });

  test('the moving range of NIST/SEMATECH e-Handbook 6.3.2.2.1 (from memory): mean 50.81, limits 45.8159 and 55.8041', () => {
    const flow = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
    const { mean, within } = individualsCapability(flow, { lsl: 40, usl: 60 });
    const sd = within.movingRange?.sd ?? 0;
    expect(mean).toBeCloseTo(50.81, 12);
    // The handbook divides by 1.128, d2(2) rounded.
    expect(mean + (3 * sd * 2) / Math.sqrt(Math.PI) / 1.128).toBeCloseTo(55.8041, 4);
    expect(mean - (3 * sd * 2) / Math.sqrt(Math.PI) / 1.128).toBeCloseTo(45.8159, 4);
  });

  // Montgomery, "Introduction to Statistical Quality Control", table of process fallout, in ppm (from memory).
  test.each([
    [0.25, 453_255, 226_628],
    [0.5, 133_614, 66_807],
    [0.6, 71_861, 35_931],
    [0.7, 35_729, 17_865],
    [0.8, 16_395, 8198],
    [0.9, 6934, 3467],
    [1, 2700, 1350],
    [1.1, 967, 484],
    [1.2, 318, 159],
    [1.3, 96, 48],
    [1.4, 27, 14],
  ])(
    'fallout of a centered process with Cp %d: %d ppm, with one limit %d ppm (Montgomery)',
    (cp, twoSided, oneSided) => {
      const half = 3 * cp;
      const two = normalFractionOutside({ lsl: -half, usl: half }, 0, 1);
      const one = normalFractionOutside({ lsl: null, usl: half }, 0, 1);
      expect(Math.abs(1e6 * (two?.total ?? 0) - twoSided)).toBeLessThanOrEqual(0.51);
      expect(Math.abs(1e6 * (one?.total ?? 0) - oneSided)).toBeLessThanOrEqual(0.81);
      expect(one?.below).toBeNull();
    },
  );

  test('limits 3.9575 and 4.0925, mean 4.020, s 0.015: Cp 1.5, Cpk 1.3889 (by hand)', () => {
    const { both, nearer } = capabilityIndices(BAND, normalReference(4.02, 0.015));
    expect(both).toBeCloseTo(1.5, 12);
    expect(nearer).toBeCloseTo(0.0625 / 0.045, 12);
  });
});

describe('estimates of the spread within', () => {
  test('by hand: two groups of 3 with sums of squares 2 and 8, ranges 2 and 4', () => {
    const found = subgroupsCapability(
      [
        [9, 10, 11],
        [18, 20, 22],
      ],
      { lsl: 0, usl: 30 },
    );
    expect(found.pooledDf).toBe(4);
    expect(found.within.pooled?.sd).toBeCloseTo(Math.sqrt(10 / 4), 14);
    // c4(5) 0.9400 and d2(3) 1.693 as in the tables of the trade (Montgomery, appendix VI, from memory).
    expect(found.within.pooledUnbiased?.sd).toBeCloseTo(Math.sqrt(10 / 4) / 0.94, 3);
    expect(found.within.meanRange?.sd).toBeCloseTo(3 / 1.693, 3);
    expect(found.within.movingRange).toBeNull();
    expect(found.mean).toBe(15);
    expect(found.overall?.sd).toBeCloseTo(Math.sqrt((2 + 8 + 150) / 5), 13);
  });

  test('subgroups of unequal size have no mean range, and pool by their degrees of freedom', () => {
    const found = subgroupsCapability([[9, 10, 11], [18, 22], [7]], { lsl: 0, usl: 30 });
    expect(found.within.meanRange).toBeNull();
    expect(found.pooledDf).toBe(3);
    expect(found.within.pooled?.sd).toBeCloseTo(Math.sqrt((2 + 8) / 3), 14);
  });

  test('subgroups of one value have no spread within, but an overall one', () => {
    const found = subgroupsCapability([[9], [10], [12]], { lsl: 0, usl: 30 });
    expect(found.within).toEqual({ pooled: null, pooledUnbiased: null, meanRange: null, movingRange: null });
    expect(found.pooledDf).toBe(0);
    expect(found.overall?.sd).toBeCloseTo(Math.sqrt(14 / 6), 14);
  });

  test('subgroups that are constant each but differ have no Cp, but a Pp', () => {
    const found = subgroupsCapability(
      [
        [9, 9],
        [10, 10],
      ],
      { lsl: 0, usl: 30 },
    );
    expect(found.within.pooled).toMatchObject({ sd: 0, fractionOutside: null, indices: { both: null, nearer: null } });
    expect(found.within.meanRange?.sd).toBe(0);
    expect(found.overall?.indices.both).toBeGreaterThan(0);
  });
});

describe('undefined is null', () => {
  const NONE = { both: null, upper: null, lower: null, nearer: null };

  test('one value', () => {
    const found = individualsCapability([4], BAND);
    expect(found).toMatchObject({ n: 1, mean: 4, overall: null, pooledDf: null });
    expect(found.within.movingRange).toBeNull();
    expect(found.observed).toEqual({ countBelow: 0, countAbove: 0, fraction: 0 });
  });

  test.each([
    ['small', 4.02],
    ['with a large offset', 1e7 + 0.1],
    ['not on the binary grid', 0.1 + 0.2],
  ])('constant values, %s: spread exactly 0, no index, no expected fraction', (_what, value) => {
    const { overall, within, mean } = individualsCapability(
      Array.from({ length: 31 }, () => value),
      { lsl: value - 1, usl: value + 1 },
    );
    expect(mean).toBe(value);
    expect(overall).toEqual({ sd: 0, indices: NONE, fractionOutside: null });
    expect(within.movingRange).toEqual({ sd: 0, indices: NONE, fractionOutside: null });
  });

  test.each([
    ['upper', { lsl: null, usl: 5 }, 'upper', 'lower', 'above', 'below'],
    ['lower', { lsl: 1, usl: null }, 'lower', 'upper', 'below', 'above'],
  ] as const)('with only the %s limit the other side is undefined', (_which, limits, has, hasNot, side, other) => {
    const { overall } = individualsCapability([2, 3, 4], limits);
    expect(overall?.indices.both).toBeNull();
    expect(overall?.indices[hasNot]).toBeNull();
    expect(overall?.indices.nearer).toBe(overall?.indices[has]);
    expect(overall?.fractionOutside?.[other]).toBeNull();
    expect(overall?.fractionOutside?.total).toBe(overall?.fractionOutside?.[side]);
  });

  test('a spread too small for an index in the numbers of the machine', () => {
    const { overall } = individualsCapability([0, 5e-324], { lsl: -1e300, usl: 1e300 });
    expect(overall?.indices).toEqual(NONE);
    expect(overall?.fractionOutside).toEqual({ below: 0, above: 0, total: 0 });
  });
});

describe('beyond a limit', () => {
  test('a value on a limit is inside', () => {
    expect(observedOutside([1, 2, 3, 3.0000000000000004], { lsl: 1, usl: 3 })).toEqual({
      countBelow: 0,
      countAbove: 1,
      fraction: 0.25,
    });
  });

  test('fractions of 1e-20 and below keep their digits (upper tail at 9.262340 is 1e-20; at 37.5 4.6e-308, standard tables)', () => {
    const near = normalFractionOutside({ lsl: -9.262340089798409, usl: 9.262340089798409 }, 0, 1);
    expect((near?.above ?? 0) / 1e-20).toBeCloseTo(1, 10);
    expect(near?.below).toBe(near?.above);
    const far = normalFractionOutside({ lsl: null, usl: 37.5 }, 0, 1);
    expect((far?.total ?? 0) / 4.605353009581954e-308).toBeCloseTo(1, 9);
  });
});

const sample = fc.array(fc.double({ min: -5, max: 5, noNaN: true }), { minLength: 3, maxLength: 40 }).filter((x) => {
  return Math.max(...x) - Math.min(...x) > 1e-3;
});

describe('properties', () => {
  test('shift and scale of values and limits together change no index', () => {
    // On a grid of 1/1024 the shifted and scaled values are exact, so that nothing but the computation is compared.
    const grid = sample.map((x) => x.map((value) => Math.round(value * 1024) / 1024));
    fc.assert(
      fc.property(
        grid,
        fc.integer({ min: -20, max: 20 }),
        fc.integer({ min: -1e6, max: 1e6 }),
        (x, exponent, shift) => {
          const to = (value: number) => (value + shift) * 2 ** exponent;
          const a = individualsCapability(x, { lsl: -6, usl: 7 });
          const b = individualsCapability(x.map(to), { lsl: to(-6), usl: to(7) });
          const size = 1e-11 * (1 + Math.abs(a.overall?.indices.both ?? 0));
          const same = (p: number | null | undefined, q: number | null | undefined) => {
            expect(p === null).toBe(q === null);
            expect(Math.abs((p ?? 0) - (q ?? 0))).toBeLessThanOrEqual(size);
          };
          same(b.overall?.indices.nearer, a.overall?.indices.nearer);
          same(b.overall?.indices.both, a.overall?.indices.both);
          same(b.within.movingRange?.indices.nearer, a.within.movingRange?.indices.nearer);
        },
      ),
    );
  });

  test('mirrored values and limits swap upper and lower', () => {
    fc.assert(
      fc.property(sample, (x) => {
        const a = individualsCapability(x, { lsl: -6, usl: 7 });
        const b = individualsCapability(
          x.map((value) => -value),
          { lsl: -7, usl: 6 },
        );
        expect(b.overall?.indices.upper).toBeCloseTo(a.overall?.indices.lower ?? 0, 9);
        expect(b.overall?.indices.lower).toBeCloseTo(a.overall?.indices.upper ?? 0, 9);
        expect(b.overall?.fractionOutside?.below).toBeCloseTo(a.overall?.fractionOutside?.above ?? 0, 12);
        expect(b.observed.countAbove).toBe(a.observed.countBelow);
      }),
    );
  });

  test('the order of the rows changes nothing overall, to the last digit; but it does change the moving range', () => {
    fc.assert(
      fc.property(sample, (x) => {
        const a = individualsCapability(x, { lsl: -6, usl: 7 });
        const sorted = individualsCapability(
          [...x].sort((p, q) => p - q),
          { lsl: -6, usl: 7 },
        );
        expect(sorted.overall).toEqual(a.overall);
        expect(sorted.mean).toBe(a.mean);
        // Of all orders the ascending one has the smallest sum of moves.
        expect(sorted.within.movingRange?.sd).toBeLessThanOrEqual((a.within.movingRange?.sd ?? 0) * (1 + 1e-12));
      }),
    );
    const limits = { lsl: 0, usl: 9 };
    const zigzag = individualsCapability([1, 5, 1, 5], limits);
    const steps = individualsCapability([1, 1, 5, 5], limits);
    expect(zigzag.within.movingRange?.sd).toBeCloseTo(3 * (steps.within.movingRange?.sd ?? 0), 12);
  });

  test('Cpk is at most Cp, and their means of CPU and CPL are Cp', () => {
    fc.assert(
      fc.property(sample, (x) => {
        const { both, upper, lower, nearer } = individualsCapability(x, { lsl: -6, usl: 7 }).overall?.indices ?? {};
        expect(nearer).toBeLessThanOrEqual((both ?? 0) * (1 + 1e-12));
        expect(((upper ?? 0) + (lower ?? 0)) / 2).toBeCloseTo(both ?? 0, 9);
      }),
    );
  });

  test('one subgroup of all values has the overall spread as its pooled one', () => {
    fc.assert(
      fc.property(sample, (x) => {
        const { within, overall } = subgroupsCapability([x], { lsl: -6, usl: 7 });
        expect(within.pooled?.sd).toBeCloseTo(overall?.sd ?? 0, 12);
      }),
    );
  });

  test('a spread of 1e-170 is no zero, and one of 1e170 no infinity', () => {
    const small = individualsCapability([1e-170, 2e-170, 4e-170], { lsl: 0, usl: 1e-169 });
    const large = subgroupsCapability([[1e170, 2e170, 4e170]], { lsl: 0, usl: 1e171 });
    const plain = individualsCapability([1, 2, 4], { lsl: 0, usl: 10 });
    expect(small.overall?.indices.nearer).toBeCloseTo(plain.overall?.indices.nearer ?? 0, 12);
    expect(large.within.pooled?.indices.nearer).toBeCloseTo(plain.overall?.indices.nearer ?? 0, 12);
  });
});

describe('refused', () => {
  test.each([
    ['no values', [], BAND, 'empty', 'values'],
    ['NaN', [4, Number.NaN], BAND, 'not-finite', 'values[1]'],
    ['an infinite value', [Number.POSITIVE_INFINITY, 4], BAND, 'not-finite', 'values[0]'],
    ['a range beyond the largest number', [-1.7e308, 1.7e308], BAND, 'out-of-range', 'values'],
    ['crossed limits', [4, 5], { lsl: 2, usl: 1 }, 'crossed-limits', 'lsl'],
    ['equal limits', [4, 5], { lsl: 2, usl: 2 }, 'crossed-limits', 'lsl'],
    ['no limit', [4, 5], { lsl: null, usl: null }, 'no-limit', 'lsl'],
    ['an infinite limit', [4, 5], { lsl: 0, usl: Number.POSITIVE_INFINITY }, 'not-finite', 'usl'],
  ])('%s', (_what, values, limits, code, key) => {
    expect(() => individualsCapability(values, limits)).toThrow(expect.objectContaining({ code, key }) as Error);
  });

  test.each([
    ['no subgroups', [], 'empty', 'subgroups'],
    ['an empty subgroup', [[1, 2], []], 'empty', 'subgroups[1]'],
    [
      'NaN in a subgroup',
      [
        [1, 2],
        [3, Number.NaN],
      ],
      'not-finite',
      'subgroups[1][1]',
    ],
  ])('%s', (_what, subgroups, code, key) => {
    expect(() => subgroupsCapability(subgroups, BAND)).toThrow(expect.objectContaining({ code, key }) as Error);
  });
});

describe('asked as a topic', () => {
  interface Answer {
    readonly nonnormal: { claimable: boolean; reason: string | null };
    readonly lognormal_mle: object | null;
    readonly percentile_method: { tails_reached: boolean } | null;
    readonly ci: Record<string, unknown> | null;
  }
  const ask = (input: object): Answer => {
    const answered = answer(capabilityTopic, input);
    if ('problem' in answered) throw new Error(answered.problem.detail);
    return answered.result as Answer;
  };

  test.each([
    { n: 99, claimable: false },
    { n: 100, claimable: true },
  ])('a skewed capability of $n values may be claimed: $claimable', ({ n, claimable }) => {
    const found = ask({ values: Array.from({ length: n }, (_, i) => 1 + (i % 10)), lsl: null, usl: 20 });
    expect(found.nonnormal.claimable).toBe(claimable);
    expect(found.nonnormal.reason === null).toBe(claimable);
    expect(found.percentile_method === null).toBe(!claimable);
    expect(found.lognormal_mle).not.toBeNull();
  });

  test('one value and constant values have no bounds', () => {
    expect(ask({ values: [4], ...BAND }).ci).toBeNull();
    expect(ask({ values: [4, 4], ...BAND }).ci).toBeNull();
    expect(ask({ subgroups: [[4], [5]], ...BAND }).ci).toMatchObject({ df_pooled: 0, Cp_pooled: null });
  });

  test.each([
    ['both kinds of values', { values: [1, 2], subgroups: [[1, 2]], ...BAND }, 'invalid', 'values'],
    ['neither', { ...BAND }, 'invalid', 'values'],
    ['no limits', { values: [1, 2] }, 'no-limit', 'lsl'],
    ['a confidence of 95', { values: [1, 2], ...BAND, confidence: 95 }, 'invalid', 'confidence'],
  ])('%s is refused', (_what, input, code, key) => {
    expect(answer(capabilityTopic, input)).toMatchObject({ problem: { code, key } });
  });
});
