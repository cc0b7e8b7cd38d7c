import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { chiSquareQuantile } from '../../../../server/quality/distributions/chi-square.ts';
import { fQuantile } from '../../../../server/quality/distributions/f.ts';
import { meanSquareBounds } from '../../../../server/quality/gauge/mean-square-bounds.ts';

const positive = fc.double({ min: 1e-3, max: 1e3, noNaN: true });
const degrees = fc.integer({ min: 1, max: 200 });

describe('bounds of combinations of mean squares', () => {
  test('pooled mean square of Montgomery & Runger 1993: numbers computed from the formulas with SciPy 1.17.1', () => {
    const bounds = meanSquareBounds([
      { ms: 1185.425 / 19, df: 19 },
      { ms: 2.6166666666666667 / 2, df: 2 },
      { ms: 86.55 / 98, df: 98 },
    ]);
    const rows = [
      { of: [0, 0, 1], lower: 0.6799857858403806, upper: 1.193777633775288 },
      { of: [0, 1 / 40, -1 / 40], lower: -0.014793765820467982, upper: 1.2692361763576603 },
      { of: [0, 1 / 40, 39 / 40], lower: 0.6942649348824057, upper: 2.1889012999493955 },
      { of: [1 / 6, 0, -1 / 6], lower: 5.865225952621788, upper: 22.033816877484107 },
      { of: [1 / 6, 1 / 40, 97 / 120], lower: 6.757365857136316, upper: 22.99907084790592 },
    ];
    for (const { of, lower, upper } of rows) {
      expect(bounds.combination(of).lower).toBeCloseTo(lower, 11);
      expect(bounds.combination(of).upper).toBeCloseTo(upper, 11);
    }
    const share = bounds.share([0, 1 / 40, 39 / 40], [1 / 6, 1 / 40, 97 / 120]);
    expect(share?.lower).toBeCloseTo(0.037531850499569815, 11);
    expect(share?.upper).toBeCloseTo(0.1874458320280959, 11);
  });

  test('two terms plus and one minus: numbers computed from the formulas with SciPy 1.17.1', () => {
    // Reproducibility of Montgomery & Runger 1993 with interaction.
    const bounds = meanSquareBounds([
      { ms: 2.6166666666666667 / 2, df: 2 },
      { ms: 27.05 / 38, df: 38 },
      { ms: 59.5 / 60, df: 60 },
    ]);
    const { lower, upper } = bounds.combination([1 / 40, 19 / 40, -1 / 2]);
    expect(lower).toBeCloseTo(-0.3933546437442227, 11);
    expect(upper).toBeCloseTo(1.1409078446371705, 11);
  });

  test('a single mean square has the exact chi-square interval', () => {
    fc.assert(
      fc.property(positive, degrees, fc.double({ min: 0.5, max: 0.999, noNaN: true }), (ms, df, confidence) => {
        const tail = (1 - confidence) / 2;
        const { lower, upper } = meanSquareBounds([{ ms, df }], confidence).combination([1]);
        const exactly = (bound: number, exact: number): void => expect(bound / exact).toBeCloseTo(1, 10);
        exactly(lower, (ms * df) / chiSquareQuantile(tail, df, 'upper'));
        exactly(upper, (ms * df) / chiSquareQuantile(tail, df, 'lower'));
      }),
    );
  });

  test('a difference excludes zero exactly when the F test does (Ting et al. 1990, by construction of the bound)', () => {
    fc.assert(
      fc.property(positive, degrees, degrees, (ms, df1, df2) => {
        const critical = fQuantile(0.025, df1, df2, 'upper');
        const lower = (ratio: number): number =>
          meanSquareBounds([
            { ms: ms * ratio, df: df1 },
            { ms, df: df2 },
          ]).combination([1, -1]).lower;
        expect(lower(critical * 1.0001)).toBeGreaterThan(0);
        expect(lower(critical * 0.9999)).toBeLessThan(0);
      }),
    );
  });

  test('a difference whose second term vanishes has the exact chi-square interval of the first', () => {
    const alone = meanSquareBounds([{ ms: 3, df: 7 }]).combination([1]);
    const both = meanSquareBounds([
      { ms: 3, df: 7 },
      { ms: 0, df: 5 },
    ]).combination([1, -1]);
    expect(both.lower).toBeCloseTo(alone.lower, 14);
    expect(both.upper).toBeCloseTo(alone.upper, 12);
  });

  test('more degrees of freedom and less confidence narrow an interval', () => {
    const given = (factor: number, confidence: number) => {
      const meanSquares = [
        { ms: 9, df: 5 * factor },
        { ms: 2, df: 2 * factor },
        { ms: 1, df: 20 * factor },
      ];
      return meanSquareBounds(meanSquares, confidence);
    };
    for (const of of [
      [1, 1, 1],
      [1, -1, 0],
      [1, 1, -1],
      [1, -1, 1],
    ]) {
      const width = (factor: number, confidence: number): number => {
        const { lower, upper } = given(factor, confidence).combination(of);
        return upper - lower;
      };
      expect(width(4, 0.95)).toBeLessThan(width(1, 0.95));
      expect(width(1, 0.8)).toBeLessThan(width(1, 0.95));
    }
  });

  test('the unit carries over, however small or large', () => {
    const given = [
      { ms: 5, df: 9 },
      { ms: 2, df: 2 },
    ];
    const base = meanSquareBounds(given);
    for (const unit of [2 ** -600, 2 ** 600]) {
      const other = meanSquareBounds(given.map(({ ms, df }) => ({ ms: ms * unit, df })));
      const { lower, upper } = base.combination([1, -1]);
      expect(other.combination([1, -1])).toEqual({ lower: lower * unit, upper: upper * unit });
      expect(other.share([0, 1], [1, 1])).toEqual(base.share([0, 1], [1, 1]));
    }
  });

  test('a part of a whole has a share from 0 to 1, and the rest the remainder', () => {
    fc.assert(
      fc.property(positive, positive, degrees, degrees, (a, b, df1, df2) => {
        const bounds = meanSquareBounds([
          { ms: a, df: df1 },
          { ms: b, df: df2 },
        ]);
        const first = bounds.share([1, 0], [1, 1]);
        const second = bounds.share([0, 1], [1, 1]);
        expect(first?.lower).toBeGreaterThanOrEqual(0);
        expect(first?.upper).toBeLessThanOrEqual(1);
        expect((first?.lower ?? 0) + (second?.upper ?? 0)).toBeCloseTo(1, 9);
        expect((first?.upper ?? 0) + (second?.lower ?? 0)).toBeCloseTo(1, 9);
      }),
    );
  });

  test('the share of one of two mean squares is the exact F interval of their ratio', () => {
    const bounds = meanSquareBounds([
      { ms: 5, df: 9 },
      { ms: 2, df: 14 },
    ]);
    const share = bounds.share([1, 0], [1, 1]);
    const ratio = (f: number): number => 5 / 2 / f;
    const [low, high] = [ratio(fQuantile(0.025, 9, 14, 'upper')), ratio(fQuantile(0.025, 9, 14, 'lower'))];
    expect(share?.lower).toBeCloseTo(low / (1 + low), 10);
    expect(share?.upper).toBeCloseTo(high / (1 + high), 10);
  });

  test('mean squares of zero give bounds of zero and no share', () => {
    const bounds = meanSquareBounds([
      { ms: 0, df: 3 },
      { ms: 0, df: 5 },
    ]);
    const { lower, upper } = bounds.combination([1, -1]);
    expect(Math.abs(lower)).toBe(0);
    expect(Math.abs(upper)).toBe(0);
    expect(bounds.share([1, 0], [1, 1])).toBeNull();
  });

  test.each([0, 1, -0.1, Number.NaN])('a confidence of %d is refused', (confidence) => {
    expect(() => meanSquareBounds([{ ms: 1, df: 1 }], confidence)).toThrow(
      expect.objectContaining({ key: 'confidence' }),
    );
  });
});
