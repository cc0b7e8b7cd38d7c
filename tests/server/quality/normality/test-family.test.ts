import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { adjustFamily } from '../../../../server/quality/normality/test-family.ts';

/** The 15 p-values of the worked example of Benjamini & Hochberg 1995, section 3.2 (from memory). */
const MYOCARDIAL = [
  ...[0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.324, 0.4262, 0.5719, 0.6528, 0.759, 1],
];

describe('a family of tests', () => {
  test('of 15 p-values four stand at 5 % false discovery, three by Holm (Benjamini & Hochberg 1995, from memory)', () => {
    const { tests, holm, benjaminiHochberg } = adjustFamily(MYOCARDIAL);
    expect(tests).toBe(15);
    expect(benjaminiHochberg.filter((p) => p !== null && p <= 0.05)).toHaveLength(4);
    expect(holm.filter((p) => p !== null && p <= 0.05)).toHaveLength(3);
  });

  test('four p-values worked by hand from the formulas of the two papers', () => {
    const { holm, benjaminiHochberg } = adjustFamily([0.01, 0.04, 0.03, 0.005]);
    [0.03, 0.06, 0.06, 0.02].forEach((p, i) => {
      expect(holm[i]).toBeCloseTo(p, 15);
    });
    [0.02, 0.04, 0.04, 0.02].forEach((p, i) => {
      expect(benjaminiHochberg[i]).toBeCloseTo(p, 15);
    });
  });

  test('undefined tests stay undefined and do not count', () => {
    const without = adjustFamily([0.01, 0.2]);
    expect(adjustFamily([null, 0.01, null, 0.2])).toEqual({
      tests: 2,
      holm: [null, without.holm[0], null, without.holm[1]],
      benjaminiHochberg: [null, without.benjaminiHochberg[0], null, without.benjaminiHochberg[1]],
    });
    expect(adjustFamily([null])).toEqual({ tests: 0, holm: [null], benjaminiHochberg: [null] });
  });

  test('nothing is ever made smaller, order is kept, one test stays as it is', () => {
    expect(adjustFamily([0.031])).toEqual({ tests: 1, holm: [0.031], benjaminiHochberg: [0.031] });
    fc.assert(
      fc.property(fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 1, maxLength: 20 }), (ps) => {
        const { holm, benjaminiHochberg } = adjustFamily(ps);
        ps.forEach((p, i) => {
          expect(benjaminiHochberg[i]).toBeGreaterThanOrEqual(p);
          expect(holm[i]).toBeGreaterThanOrEqual(benjaminiHochberg[i] ?? 0);
          expect(holm[i]).toBeLessThanOrEqual(1);
          ps.forEach((other, k) => {
            if (p < other) expect(holm[i]).toBeLessThanOrEqual(holm[k] ?? 0);
          });
        });
      }),
    );
  });

  test.each([
    { ps: [], code: 'empty' },
    { ps: [0.1, 1.2], code: 'out-of-range' },
    { ps: [-0.1], code: 'out-of-range' },
    { ps: [Number.NaN], code: 'not-finite' },
  ])('$ps is refused as $code', ({ ps, code }) => {
    expect(() => adjustFamily(ps)).toThrow(expect.objectContaining({ code }) as Error);
  });
});
