import { describe, expect, test } from 'vitest';
import { probabilityPlot } from '../../../../server/quality/normality/probability-plot.ts';
import type { PlottingPosition } from '../../../../server/quality/normality/probability-plot.ts';

const positions: readonly PlottingPosition[] = ['median-rank', 'blom', 'filliben'];

describe('normal probability plot', () => {
  test.each([
    { position: 'median-rank' as const, i: 1, n: 10, expected: 0.7 / 10.4, source: 'Benard & Bos-Levenbach 1953' },
    { position: 'blom' as const, i: 3, n: 10, expected: 2.625 / 10.25, source: 'Blom 1958' },
    { position: 'filliben' as const, i: 10, n: 10, expected: 0.5 ** 0.1, source: 'Filliben 1975' },
    { position: 'filliben' as const, i: 1, n: 10, expected: 1 - 0.5 ** 0.1, source: 'Filliben 1975' },
    { position: 'filliben' as const, i: 4, n: 10, expected: 3.6825 / 10.365, source: 'Filliben 1975' },
  ])('value $i of $n stands at $expected ($position, $source)', ({ position, i, n, expected }) => {
    const { points } = probabilityPlot(
      Array.from({ length: n }, (_, k) => k),
      position,
    );
    expect(points[i - 1]?.probability).toBeCloseTo(expected, 13);
  });

  test.each(positions)('%s: scores mirror, and values on them give back mean and sd', (position) => {
    const { points } = probabilityPlot([5, 1, 4, 2, 3, 6], position);
    points.forEach(({ score }, i) => {
      expect(score).toBe(-(points[5 - i]?.score ?? 0) + 0);
    });
    const made = probabilityPlot(
      points.map(({ score }) => 100 + 0.5 * score),
      position,
    );
    expect(made.intercept).toBeCloseTo(100, 10);
    expect(made.slope).toBeCloseTo(0.5, 10);
    expect(made.correlation).toBeCloseTo(1, 12);
  });

  test('values come in ascending order whatever theirs was', () => {
    expect(probabilityPlot([3, 1, 2]).points.map(({ value }) => value)).toEqual([1, 2, 3]);
  });

  test('one value has a point and no line, equal values have no correlation', () => {
    expect(probabilityPlot([7])).toMatchObject({ points: [{ value: 7, probability: 0.5, score: 0 }], slope: null });
    expect(probabilityPlot([7, 7, 7])).toMatchObject({ intercept: 7, slope: 0, correlation: null });
  });

  test('nothing, and what is not finite, is refused', () => {
    expect(() => probabilityPlot([])).toThrow(expect.objectContaining({ code: 'empty' }) as Error);
    expect(() => probabilityPlot([Number.NaN])).toThrow(expect.objectContaining({ code: 'not-finite' }) as Error);
  });
});
