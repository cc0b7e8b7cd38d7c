import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { positionOf, uncertaintyBudget } from '../../../../server/quality/risk/uncertainty-budget.ts';
import type { Contribution, Correlation } from '../../../../server/quality/risk/uncertainty-budget.ts';
import { refusal } from '../../../support/quality-refusal.ts';

const line = (value: number, rest: Partial<Contribution> = {}): Contribution => ({
  name: 'x',
  type: 'B',
  value,
  spread: 'normal',
  coverageFactor: 1,
  sensitivity: 1,
  df: null,
  ...rest,
});

describe('worked examples of JCGM 100:2008, numbers from memory', () => {
  test('H.1, end gauge: u_c 32 nm, 16.7 effective degrees of freedom, t99(16) = 2.92, U99 = 93 nm', () => {
    const budget = uncertaintyBudget(
      [
        line(25, { name: 'standard', df: 18 }),
        line(9.7, { name: 'difference', type: 'A', df: 25.6 }),
        line(0.58e-6, { name: 'difference of expansion', sensitivity: 5e6, df: 50 }),
        line(0.029, { name: 'difference of temperature', sensitivity: 575, df: 2 }),
        line(1.2e-6, { name: 'expansion of the standard', sensitivity: 0 }),
      ],
      [],
      0.99,
    );
    expect(budget.lines.map(({ contribution }) => Number(contribution.toFixed(1)))).toEqual([25, 9.7, 2.9, 16.7, 0]);
    expect(budget.combined.toFixed(0)).toBe('32');
    expect(Math.abs(budget.effectiveDf! - 16.7)).toBeLessThan(0.2);
    expect(budget.cautious.df).toBe(16);
    expect(budget.cautious.coverageFactor!.toFixed(2)).toBe('2.92');
    expect(budget.cautious.expandedUncertainty!.toFixed(0)).toBe('93');
  });

  test('H.1.6, three parts of the difference: 9.7 nm with 25.6 effective degrees of freedom', () => {
    const budget = uncertaintyBudget([line(5.8, { df: 24 }), line(3.9, { df: 5 }), line(6.7, { df: 8 })], [], 0.95);
    expect(budget.combined.toFixed(1)).toBe('9.7');
    expect(Math.abs(budget.effectiveDf! - 25.6)).toBeLessThan(0.5);
  });

  test('G.4.1 example, product of three: 1.03 %, 19.0 effective degrees of freedom, U95 = 2.2 %', () => {
    const budget = uncertaintyBudget(
      [line(0.25, { type: 'A', df: 9 }), line(0.57, { type: 'A', df: 4 }), line(0.82, { type: 'A', df: 14 })],
      [],
      0.95,
    );
    expect(budget.combined.toFixed(2)).toBe('1.03');
    expect(budget.effectiveDf!.toFixed(1)).toBe('19.0');
    expect(budget.expanded.coverageFactor!.toFixed(2)).toBe('2.09');
    expect(budget.expanded.expandedUncertainty!.toFixed(1)).toBe('2.2');
  });

  test('5.2.2 example, ten resistors calibrated with one standard: 1 ohm correlated, 0.32 ohm if they were not', () => {
    const ten = Array.from({ length: 10 }, (_, i) => line(0.1, { name: `R${i}` }));
    const all: Correlation[] = ten.flatMap((_, i) =>
      ten.slice(i + 1).map((_each, k) => ({ between: [i, i + 1 + k], r: 1 }) as const),
    );
    expect(uncertaintyBudget(ten, all, 0.95).combined).toBeCloseTo(1, 12);
    expect(uncertaintyBudget(ten, [], 0.95).combined.toFixed(2)).toBe('0.32');
  });

  test('H.2, resistance, reactance and impedance with three correlations: 0.071, 0.295 and 0.236 ohm', () => {
    const [v, i, phase] = [4.999, 0.019661, 1.04446];
    const z = v / i;
    const [r, x] = [z * Math.cos(phase), z * Math.sin(phase)];
    const correlations: Correlation[] = [
      { between: [0, 1], r: -0.36 },
      { between: [0, 2], r: 0.86 },
      { between: [1, 2], r: -0.65 },
    ];
    const u = (sensitivities: readonly number[]): number =>
      uncertaintyBudget(
        [0.0032, 0.0000095, 0.00075].map((value, at) => line(value, { sensitivity: sensitivities[at]! })),
        correlations,
        0.95,
      ).combined;
    expect(Math.abs(u([r / v, -r / i, -x]) - 0.071)).toBeLessThan(0.002);
    expect(Math.abs(u([x / v, -x / i, r]) - 0.295)).toBeLessThan(0.003);
    expect(Math.abs(u([z / v, -z / i, 0]) - 0.236)).toBeLessThan(0.002);
  });

  test.each([
    {
      source: '4.3.5, half of the values within a (50 %): u = 1.48 a',
      coverageFactor: 0.6745,
      spread: 'normal',
      u: 1.48,
    },
    { source: '4.3.4, 95 % within a, normal: a / 1.96', coverageFactor: 1.96, spread: 'normal', u: 0.51 },
    {
      source: '4.4.5, temperature 100 +/- 4 degC, all values equally likely: 2.3 degC for 4',
      coverageFactor: 1,
      spread: 'rectangular',
      u: 0.58,
    },
    { source: '4.4.6, the same triangular: 1.6 degC for 4', coverageFactor: 1, spread: 'triangular', u: 0.41 },
    {
      source: 'H.1.3.4, sinusoidal cycle of amplitude 0.5 degC: 0.35 degC',
      coverageFactor: 1,
      spread: 'arcsine',
      u: 0.71,
    },
  ] as const)('$source', ({ coverageFactor, spread, u }) => {
    const [only] = uncertaintyBudget([line(1, { coverageFactor, spread })], [], 0.95).lines;
    expect(only!.u.toFixed(2)).toBe(u.toFixed(2));
    expect(only!.u * only!.divisor).toBeCloseTo(1, 14);
  });

  test.each([
    { df: 1, p: 0.95, k: 12.71 },
    { df: 2, p: 0.9545, k: 4.53 },
    { df: 10, p: 0.99, k: 3.17 },
    { df: 50, p: 0.95, k: 2.01 },
    { df: null, p: 0.95, k: 1.96 },
    { df: null, p: 0.9973, k: 3 },
  ])('table G.2: t for $df degrees of freedom, p = $p, is $k', ({ df, p, k }) => {
    const { expanded } = uncertaintyBudget([line(1, { df })], [], p);
    expect(expanded.coverageFactor!.toFixed(2)).toBe(k.toFixed(2));
  });
});

describe('uncertainty budget', () => {
  const contribution = fc.record({
    value: fc.double({ min: 0.001, max: 10, noNaN: true }),
    sensitivity: fc.double({ min: 0.1, max: 5, noNaN: true }),
    df: fc.option(fc.integer({ min: 1, max: 60 })),
  });
  const budgets = fc
    .array(contribution, { minLength: 1, maxLength: 8 })
    .map((all) => all.map(({ value, ...rest }) => line(value, rest)));

  test('effective degrees of freedom lie between the fewest of a part and the sum of all (G.4.1)', () => {
    fc.assert(
      fc.property(budgets, (lines) => {
        const { effectiveDf, coverageFrom } = uncertaintyBudget(lines, [], 0.95);
        const dfs = lines.map(({ df }) => df ?? Infinity);
        if (effectiveDf === null) expect([coverageFrom, Math.min(...dfs)]).toEqual(['normal', Infinity]);
        else {
          expect(effectiveDf).toBeGreaterThanOrEqual(Math.min(...dfs) * (1 - 1e-12));
          expect(effectiveDf).toBeLessThanOrEqual(dfs.reduce((sum, df) => sum + df, 0) * (1 + 1e-12));
        }
      }),
    );
  });

  test('shares add up to 100 %, order changes nothing, another unit scales all', () => {
    fc.assert(
      fc.property(budgets, (lines) => {
        const budget = uncertaintyBudget(lines, [], 0.95);
        expect(budget.lines.reduce((sum, { sharePercent }) => sum + sharePercent!, 0)).toBeCloseTo(100, 9);
        expect(uncertaintyBudget([...lines].reverse(), [], 0.95).combined).toBeCloseTo(budget.combined, 10);
        const scaled = uncertaintyBudget(
          lines.map((each) => ({ ...each, sensitivity: each.sensitivity * 1000 })),
          [],
          0.95,
        );
        expect(scaled.combined / budget.combined).toBeCloseTo(1000, 9);
        expect((scaled.effectiveDf ?? 1) / (budget.effectiveDf ?? 1)).toBeCloseTo(1, 12);
      }),
    );
  });

  test('with correlations shares still add up to 100 %, and one may be negative', () => {
    const { lines, combined } = uncertaintyBudget(
      [line(3, { name: 'a' }), line(1, { name: 'b', sensitivity: -1 })],
      [{ between: [1, 0], r: 0.9 }],
      0.95,
    );
    expect(combined ** 2).toBeCloseTo(9 + 1 - 2 * 0.9 * 3, 12);
    expect(lines[0]!.sharePercent! + lines[1]!.sharePercent!).toBeCloseTo(100, 12);
    expect(lines[1]!.sharePercent).toBeLessThan(0);
    expect(lines[1]!.contribution).toBe(-1);
  });

  test('truncated degrees of freedom never make the expanded uncertainty smaller', () => {
    const { expanded, cautious, effectiveDf } = uncertaintyBudget([line(1, { df: 3 }), line(1, { df: 4 })], [], 0.95);
    expect(effectiveDf).toBeCloseTo(4 / (1 / 3 + 1 / 4), 12);
    expect(cautious.df).toBe(6);
    expect(cautious.expandedUncertainty).toBeGreaterThan(expanded.expandedUncertainty!);
  });

  test.each([1, 3, 7, 19, 49])('%d degrees of freedom of a single part stay that, truncated too', (df) => {
    expect(uncertaintyBudget([line(0.3, { df })], [], 0.95).cautious.df).toBe(df);
  });

  test('correlated parts of finite degrees of freedom leave the effective ones, and so k, undefined', () => {
    const correlated = uncertaintyBudget([line(1, { df: 5 }), line(1)], [{ between: [0, 1], r: 0.5 }], 0.95);
    expect(correlated).toMatchObject({ coverageFrom: null, effectiveDf: null });
    expect(correlated.expanded).toEqual({ coverageFactor: null, expandedUncertainty: null });
    expect(correlated.cautious).toEqual({ df: null, coverageFactor: null, expandedUncertainty: null });
    const infinite = uncertaintyBudget([line(1), line(1)], [{ between: [0, 1], r: 0.5 }], 0.95);
    expect(infinite.coverageFrom).toBe('normal');
    expect(infinite.combined).toBeCloseTo(Math.sqrt(3), 14);
    expect(uncertaintyBudget([line(1, { df: 5 }), line(1)], [{ between: [0, 1], r: 0 }], 0.95).coverageFrom).toBe('t');
  });

  test('below one effective degree of freedom there is no truncated factor', () => {
    const { cautious, expanded } = uncertaintyBudget([line(1, { df: 0.5 })], [], 0.95);
    expect(expanded.coverageFactor).toBeGreaterThan(12.7);
    expect(cautious).toEqual({ df: null, coverageFactor: null, expandedUncertainty: null });
  });

  test('no uncertainty at all: zero, and no shares', () => {
    const budget = uncertaintyBudget([line(0, { df: 3 }), line(5, { sensitivity: 0 })], [], 0.95);
    expect(budget.combined).toBe(0);
    expect(budget.lines.map(({ sharePercent }) => sharePercent)).toEqual([null, null]);
    expect(budget.expanded.expandedUncertainty).toBe(0);
    expect(uncertaintyBudget([line(2), line(2)], [{ between: [0, 1], r: -1 }], 0.95).combined).toBe(0);
  });

  test('sizes far apart neither overflow nor vanish', () => {
    expect(uncertaintyBudget([line(3e99), line(4e99)], [], 0.95).combined).toBeCloseTo(5e99, -90);
    expect(uncertaintyBudget([line(3e-200), line(4e-200)], [], 0.95).combined / 5e-200).toBeCloseTo(1, 12);
  });

  const two = [line(1, { name: 'a' }), line(1, { name: 'b' }), line(1, { name: 'c' })];
  const correlated =
    (...correlations: Correlation[]) =>
    () =>
      uncertaintyBudget(two, correlations, 0.95);
  test.each([
    { what: 'no contribution', code: 'empty', key: 'contributions', run: () => uncertaintyBudget([], [], 0.95) },
    {
      what: 'a NaN value',
      code: 'not-finite',
      key: 'contributions[0].value',
      run: () => uncertaintyBudget([line(Number.NaN)], [], 0.95),
    },
    {
      what: 'a negative value',
      code: 'out-of-range',
      key: 'contributions[0].value',
      run: () => uncertaintyBudget([line(-1)], [], 0.95),
    },
    {
      what: 'an infinite sensitivity',
      code: 'not-finite',
      key: 'contributions[0].sensitivity',
      run: () => uncertaintyBudget([line(1, { sensitivity: Infinity })], [], 0.95),
    },
    {
      what: 'a coverage factor of 0',
      code: 'out-of-range',
      key: 'contributions[0].coverage_factor',
      run: () => uncertaintyBudget([line(1, { coverageFactor: 0 })], [], 0.95),
    },
    {
      what: 'zero degrees of freedom',
      code: 'out-of-range',
      key: 'contributions[1].df',
      run: () => uncertaintyBudget([line(1), line(1, { df: 0 })], [], 0.95),
    },
    {
      what: 'a coverage of 1',
      code: 'out-of-range',
      key: 'coverage_probability',
      run: () => uncertaintyBudget(two, [], 1),
    },
    {
      what: 'a correlation above 1',
      code: 'out-of-range',
      key: 'correlations[0].r',
      run: correlated({ between: [0, 1], r: 1.1 }),
    },
    {
      what: 'a contribution correlated with itself',
      code: 'out-of-range',
      key: 'correlations[0].between',
      run: correlated({ between: [1, 1], r: 0.5 }),
    },
    {
      what: 'a pair named twice',
      code: 'out-of-range',
      key: 'correlations[1].between',
      run: correlated({ between: [0, 1], r: 0.5 }, { between: [1, 0], r: 0.5 }),
    },
    {
      what: 'a position beyond the list',
      code: 'out-of-range',
      key: 'correlations[0].between',
      run: correlated({ between: [0, 3], r: 0.5 }),
    },
    {
      what: 'correlations that contradict each other',
      code: 'out-of-range',
      key: 'correlations',
      run: correlated({ between: [0, 1], r: 1 }, { between: [1, 2], r: 1 }, { between: [0, 2], r: -1 }),
    },
    {
      what: 'slightly contradicting ones',
      code: 'out-of-range',
      key: 'correlations',
      run: correlated({ between: [0, 1], r: 0.9 }, { between: [1, 2], r: 0.9 }, { between: [0, 2], r: 0.6 }),
    },
    { what: 'an unknown name', code: 'out-of-range', key: 'first', run: () => positionOf('d', two, 'first') },
    {
      what: 'a name of two contributions',
      code: 'out-of-range',
      key: 'first',
      run: () => positionOf('a', [...two, ...two], 'first'),
    },
  ])('refuses $what', ({ code, key, run }) => {
    expect(refusal(run)).toEqual({ code, key });
  });

  test('correlations that just fit are taken', () => {
    // cos of 25.84 degrees twice makes cos of 51.68 degrees: 2 * 0.81 - 1 = 0.62.
    expect(() =>
      correlated({ between: [0, 1], r: 0.9 }, { between: [1, 2], r: 0.9 }, { between: [0, 2], r: 0.62 })(),
    ).not.toThrow();
    expect(positionOf('b', two, 'first')).toBe(1);
  });
});
