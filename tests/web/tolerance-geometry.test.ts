import { describe, expect, test } from 'vitest';
import { barGeometry } from '../../web/src/shared/tolerance-geometry.ts';

const READING = { value: 5, u: 0.25, low: 0, high: 10, guard: 1, verdict: 'pass' } as const;

describe('a two-sided bar', () => {
  test('reaches 1.2 half-tolerances: posts at a twelfth and eleven twelfths of it, the target in the middle', () => {
    const { left, right, target } = barGeometry(READING, false, 120);
    expect(left).toBeCloseTo(10, 9);
    expect(right).toBeCloseTo(110, 9);
    expect(target).toBe(60);
  });

  test('the reading lies where it lies, its whisker is the expanded uncertainty, guard bands have their true width', () => {
    const { mark, whisker, guards } = barGeometry({ ...READING, value: 7.5 }, false, 120);
    expect(mark).toBeCloseTo(85, 9);
    expect(whisker?.from).toBeCloseTo(80, 9);
    expect(whisker?.to).toBeCloseTo(90, 9);
    expect(guards.map(({ from, to }) => [from, to])).toEqual([
      [expect.closeTo(10, 9), expect.closeTo(20, 9)],
      [expect.closeTo(100, 9), expect.closeTo(110, 9)],
    ]);
  });

  test.each([
    [-0.9, null],
    [-1.1, 'low'],
    [10.9, null],
    [11.1, 'high'],
  ] as const)('a value of %d is beyond the track: %s; the row is not rescaled for it', (value, beyond) => {
    const drawn = barGeometry({ ...READING, value }, false, 120);
    expect(drawn.beyond).toBe(beyond);
    expect(drawn.left).toBeCloseTo(10, 9);
  });
});

describe('a one-sided bar', () => {
  test('begins at zero, with one guard band and no target', () => {
    const { target, guards, mark } = barGeometry({ ...READING, low: null, value: 0 }, true, 120);
    expect(target).toBeNull();
    expect(guards).toHaveLength(1);
    expect(mark).toBeCloseTo(10, 9);
  });
});

test('without a reading the frame alone is drawn', () => {
  expect(barGeometry(null, false, 120)).toMatchObject({ mark: null, whisker: null, guards: [], beyond: null });
});
