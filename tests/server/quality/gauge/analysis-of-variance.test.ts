import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  nested,
  oneWay,
  pooledSd,
  poolInteraction,
  twoWay,
} from '../../../../server/quality/gauge/analysis-of-variance.ts';
import type { Cells } from '../../../../server/quality/gauge/analysis-of-variance.ts';
import { MONTGOMERY_NESTED, MONTGOMERY_RUNGER } from '../../../support/gauge-data.ts';
import { qualityCases } from '../../../support/quality-cases.ts';

/** Digits that agree: -log10 of the relative error (NIST, "log relative error"). */
const digits = (got: number | null, certified: number): number =>
  got === certified ? 16 : -Math.log10(Math.abs((got ?? Number.NaN) - certified) / Math.abs(certified));

/** Simon & Lesage sets of NIST: nine groups whose first value is followed by a tenth less and a tenth more in turn. */
function simonLesage(offset: number, size: number): number[][] {
  const firsts = [4, 3, 5, 3, 5, 3, 5, 3, 5];
  return firsts.map((first) =>
    // Decimals as printed in the file: one digit behind the point, read as a double.
    Array.from({ length: size }, (_, i) => Number(`${offset}.${first + (i === 0 ? 0 : i % 2 === 1 ? -1 : 1)}`)),
  );
}

// Multiples of 1/64: sums and shifts by whole numbers are exact, so equality can be exact.
const dyadic = fc.integer({ min: -640, max: 640 }).map((each) => each / 64);
const layout = fc.tuple(fc.integer({ min: 2, max: 5 }), fc.integer({ min: 2, max: 4 }), fc.integer({ min: 2, max: 4 }));
const cells = layout.chain(([a, b, r]) => {
  const exactly = (n: number) => ({ minLength: n, maxLength: n });
  return fc.array(fc.array(fc.array(dyadic, exactly(r)), exactly(b)), exactly(a));
});
const mapped = (given: Cells, change: (value: number) => number): number[][][] =>
  given.map((row) => row.map((cell) => Array.from(cell, change)));
const close = (a: number, b: number, size: number): void =>
  expect(Math.abs(a - b)).toBeLessThanOrEqual(1e-12 * Math.max(size, Number.MIN_VALUE));

describe('one-way analysis of variance', () => {
  test.each(
    qualityCases('gauge')
      .filter(({ input, expected }) => input['kind'] === 'oneway' && 'certified_F' in (expected as object))
      .map((given) => [given.id, given] as const),
  )('%s reaches the certified values of NIST as far as the offset leaves digits in a double', (_id, given) => {
    const certified = given.expected as Record<string, number>;
    const groups = given.input['groups'] as number[][];
    const got = oneWay(groups);
    // Digits that the printed decimals keep when they become doubles: spread over unit in the last place of the values.
    const wanted = Math.min(13, 15.5 - Math.log10(Math.max(...groups.flat()) / (got.residualSd ?? 0)));
    for (const [value, name] of [
      [got.between.ss, 'between_ss'],
      [got.between.ms, 'between_ms'],
      [got.within.ss, 'within_ss'],
      [got.within.ms, 'within_ms'],
      [got.f, 'F'],
      [got.rSquared, 'r_squared'],
      [got.residualSd, 'residual_sd'],
    ] as const) {
      expect(digits(value, certified[`certified_${name}`] ?? Number.NaN), name).toBeGreaterThanOrEqual(wanted - 1);
    }
    expect([got.between.df, got.within.df]).toEqual([
      certified['certified_between_df'],
      certified['certified_within_df'],
    ]);
  });

  // NIST Statistical Reference Datasets, analysis of variance, Simon & Lesage (1989): construction and certified values
  // from memory; those of 21 values a group agree with the reference set.
  test.each([
    { name: 'SmLs01', offset: 1, size: 21, between: 1.68, within: 1.8, f: 21, least: 12.5 },
    { name: 'SmLs02', offset: 1, size: 201, between: 16.08, within: 18, f: 201, least: 12.5 },
    { name: 'SmLs03', offset: 1, size: 2001, between: 160.08, within: 180, f: 2001, least: 12 },
    { name: 'SmLs04', offset: 1e6, size: 21, between: 1.68, within: 1.8, f: 21, least: 9.5 },
    { name: 'SmLs05', offset: 1e6, size: 201, between: 16.08, within: 18, f: 201, least: 9.5 },
    { name: 'SmLs06', offset: 1e6, size: 2001, between: 160.08, within: 180, f: 2001, least: 9.5 },
    { name: 'SmLs07', offset: 1e12, size: 21, between: 1.68, within: 1.8, f: 21, least: 3.9 },
    { name: 'SmLs08', offset: 1e12, size: 201, between: 16.08, within: 18, f: 201, least: 3.9 },
    { name: 'SmLs09', offset: 1e12, size: 2001, between: 160.08, within: 180, f: 2001, least: 3.9 },
  ])(
    '$name of NIST, nine groups of $size at $offset, to $least digits',
    ({ offset, size, between, within, f, least }) => {
      const got = oneWay(simonLesage(offset, size));
      expect(digits(got.between.ss, between)).toBeGreaterThanOrEqual(least);
      expect(digits(got.within.ss, within)).toBeGreaterThanOrEqual(least);
      expect(digits(got.f, f)).toBeGreaterThanOrEqual(least);
    },
  );

  test('an offset of 1e12 takes no digit from tenths that a double holds exactly', () => {
    const shifted = (offset: number) =>
      oneWay(simonLesage(1, 201).map((g) => g.map((v) => Math.round(v * 8) / 8 + offset)));
    expect(shifted(1e12).between).toEqual(shifted(0).between);
    expect(shifted(1e12).within).toEqual(shifted(0).within);
  });

  test('three levels of the NIST/SEMATECH e-Handbook 7.4.3.3 (from memory): squares, F and p as printed', () => {
    const got = oneWay([
      [6.9, 5.4, 5.8, 4.6, 4.0],
      [8.3, 6.8, 7.8, 9.2, 6.5],
      [8.0, 10.5, 8.1, 6.9, 9.3],
    ]);
    expect(got.between.ss).toBeCloseTo(27.897, 3);
    expect(got.within.ss).toBeCloseTo(17.452, 3);
    expect([got.between.df, got.within.df]).toEqual([2, 12]);
    expect(got.f).toBeCloseTo(9.59, 2);
    // 0.003248222600859306: SciPy 1.17.1, f_oneway.
    expect(got.p).toBeCloseTo(0.003248222600859306, 14);
  });

  test('equal values have no squares; F, p and the explained share are undefined', () => {
    const got = oneWay([
      [0.1, 0.1, 0.1],
      [0.1, 0.1],
    ]);
    expect(got).toMatchObject({ between: { ss: 0 }, within: { ss: 0, ms: 0 }, f: null, p: null, rSquared: null });
    expect(got.residualSd).toBe(0);
  });

  test('groups that differ without spread inside: F undefined, all explained', () => {
    expect(
      oneWay([
        [1, 1],
        [2, 2],
      ]),
    ).toMatchObject({ within: { ss: 0 }, f: null, p: null, rSquared: 1 });
  });

  test('groups of one value have no mean square within', () => {
    expect(oneWay([[1], [2], [4]])).toMatchObject({ within: { ss: 0, df: 0, ms: null }, f: null, residualSd: null });
  });

  test.each([
    { what: 'no group', groups: [], code: 'empty', key: 'groups' },
    { what: 'one group', groups: [[1, 2]], code: 'too-few', key: 'groups' },
    { what: 'an empty group', groups: [[1, 2], []], code: 'empty', key: 'groups[1]' },
    {
      what: 'NaN',
      groups: [
        [1, 2],
        [3, Number.NaN],
      ],
      code: 'not-finite',
      key: 'groups[1][1]',
    },
    {
      what: 'an infinite value',
      groups: [[1, Number.POSITIVE_INFINITY], [3]],
      code: 'not-finite',
      key: 'groups[0][1]',
    },
    {
      what: 'squares beyond a double',
      groups: [
        [1e200, 1],
        [3, 4],
      ],
      code: 'out-of-range',
      key: 'groups',
    },
  ])('$what is refused', ({ groups, code, key }) => {
    expect(() => oneWay(groups)).toThrow(expect.objectContaining({ code, key }));
  });
});

describe('two-way crossed analysis of variance', () => {
  test('20 parts, 3 operators, 2 trials of Montgomery & Runger 1993 (from memory), with and without interaction', () => {
    const got = twoWay(MONTGOMERY_RUNGER);
    expect(got.row.ss).toBeCloseTo(1185.425, 3);
    expect(got.column.ss).toBeCloseTo(2.617, 3);
    expect(got.interaction.ss).toBeCloseTo(27.05, 3);
    expect(got.residual.ss).toBeCloseTo(59.5, 3);
    expect(got.total.ss).toBeCloseTo(1274.592, 3);
    expect([got.row.df, got.column.df, got.interaction.df, got.residual.df, got.total.df]).toEqual([
      19, 2, 38, 60, 119,
    ]);
    expect(got.row.f).toBeCloseTo(87.65, 2);
    expect(got.column.f).toBeCloseTo(1.84, 2);
    expect(got.interaction.f).toBeCloseTo(0.72, 2);
    expect(got.interaction.p).toBeCloseTo(0.861, 3);
    const pooled = poolInteraction(got);
    expect(pooled.residual).toMatchObject({ df: 98 });
    expect(pooled.residual.ss).toBeCloseTo(86.55, 2);
    expect(pooled.row.f).toBeCloseTo(70.64, 2);
    expect(pooled.column.f).toBeCloseTo(1.48, 2);
    expect(pooled.column.p).toBeCloseTo(0.232, 3);
  });

  test('the sums of squares add up to the total, which is formed on its own', () => {
    fc.assert(
      fc.property(cells, (given) => {
        const { row, column, interaction, residual, total } = twoWay(given);
        close(row.ss + column.ss + interaction.ss + residual.ss, total.ss, total.ss);
        expect(row.df + column.df + interaction.df + residual.df).toBe(total.df);
      }),
    );
  });

  test('a shift changes the mean alone', () => {
    fc.assert(
      fc.property(cells, fc.integer({ min: -1e9, max: 1e9 }), (given, shift) => {
        const before = twoWay(given);
        const after = twoWay(mapped(given, (value) => value + shift));
        expect({ ...after, grandMean: 0 }).toEqual({ ...before, grandMean: 0 });
        expect(after.grandMean).toBeCloseTo(before.grandMean + shift, 5);
      }),
    );
  });

  test('a change of unit squares in the sums and leaves F and p', () => {
    fc.assert(
      fc.property(cells, fc.integer({ min: -30, max: 30 }), (given, exponent) => {
        const before = twoWay(given);
        const after = twoWay(mapped(given, (value) => value * 2 ** exponent));
        for (const line of ['row', 'column', 'interaction'] as const) {
          expect(after[line].ss).toBe(before[line].ss * 4 ** exponent);
          expect([after[line].f, after[line].p]).toEqual([before[line].f, before[line].p]);
        }
        expect(after.residual.ss).toBe(before.residual.ss * 4 ** exponent);
      }),
    );
  });

  test('rows, columns and trials in another order change nothing; rows for columns change places', () => {
    fc.assert(
      fc.property(cells, (given) => {
        const before = twoWay(given);
        const turned = twoWay(given.toReversed().map((row) => row.toReversed().map((cell) => cell.toReversed())));
        const columns = given[0]?.length ?? 0;
        const across = twoWay(Array.from({ length: columns }, (_, j) => given.map((row) => row[j] ?? [])));
        for (const [other, row, column] of [
          [turned, turned.row, turned.column],
          [across, across.column, across.row],
        ] as const) {
          close(row.ss, before.row.ss, before.total.ss);
          close(column.ss, before.column.ss, before.total.ss);
          close(other.interaction.ss, before.interaction.ss, before.total.ss);
          close(other.residual.ss, before.residual.ss, before.total.ss);
        }
      }),
    );
  });

  test('additive data have an interaction of exactly zero, equal trials a residual of exactly zero', () => {
    const effects = fc.tuple(
      fc.array(dyadic, { minLength: 2, maxLength: 7 }),
      fc.array(dyadic, { minLength: 2, maxLength: 7 }),
    );
    fc.assert(
      fc.property(effects, ([rows, columns]) => {
        const got = twoWay(rows.map((a) => columns.map((b) => [a + b, a + b, a + b])));
        expect(got.interaction).toMatchObject({ ss: 0, f: null, p: null });
        expect(got.residual.ss).toBe(0);
        expect([got.row.f, got.column.f]).toEqual([null, null]);
      }),
    );
  });

  test.each(twoStageErrors())('$what is refused', ({ given, code, key }) => {
    expect(() => twoWay(given)).toThrow(expect.objectContaining({ code, key }));
  });
});

describe('nested analysis of variance', () => {
  test('batches within suppliers of Montgomery, Design and Analysis of Experiments (from memory)', () => {
    const got = nested(MONTGOMERY_NESTED);
    expect(got.outer.ss).toBeCloseTo(15.06, 2);
    expect(got.inner.ss).toBeCloseTo(69.92, 2);
    expect(got.residual.ss).toBeCloseTo(63.33, 2);
    expect(got.total.ss).toBeCloseTo(148.31, 2);
    expect([got.outer.df, got.inner.df, got.residual.df, got.total.df]).toEqual([2, 9, 24, 35]);
    expect([got.outer.ms, got.inner.ms, got.residual.ms].map((each) => each.toFixed(2))).toEqual([
      '7.53',
      '7.77',
      '2.64',
    ]);
    expect(got.outer.f).toBeCloseTo(0.97, 2);
    expect(got.outer.p).toBeCloseTo(0.416, 3);
    expect(got.inner.f).toBeCloseTo(2.94, 2);
    expect(got.inner.p).toBeCloseTo(0.017, 3);
  });

  test('operators within machines of the NIST/SEMATECH e-Handbook 3.2.3.3 (from memory)', () => {
    const thousandths = [
      [
        [125, 127, 125, 126, 128],
        [124, 128, 127, 126, 129],
      ],
      [
        [118, 122, 120, 124, 119],
        [116, 125, 119, 125, 120],
      ],
      [
        [123, 125, 125, 124, 126],
        [122, 121, 124, 126, 125],
      ],
      [
        [126, 128, 126, 127, 129],
        [126, 129, 125, 130, 124],
      ],
      [
        [118, 129, 127, 120, 121],
        [125, 123, 114, 124, 117],
      ],
    ];
    const got = nested(mapped(thousandths, (each) => each / 1000));
    expect(got.outer.ss).toBeCloseTo(3.03e-4, 6);
    expect(got.inner.ss).toBeCloseTo(1.86e-5, 7);
    expect(got.residual.ss).toBeCloseTo(3.46e-4, 6);
    expect([got.outer.df, got.inner.df, got.residual.df]).toEqual([4, 5, 40]);
    expect(got.outer.f).toBeCloseTo(20.38, 1);
    expect(got.inner.f).toBeCloseTo(0.428, 2);
  });

  test('outer and residual squares are those of the crossed analysis, the inner ones its column and interaction', () => {
    fc.assert(
      fc.property(cells, (given) => {
        const stages = nested(given);
        const crossed = twoWay(given);
        close(stages.outer.ss, crossed.row.ss, crossed.total.ss);
        close(stages.inner.ss, crossed.column.ss + crossed.interaction.ss, crossed.total.ss);
        expect(stages.residual).toEqual(crossed.residual);
        expect(stages.inner.df).toBe(crossed.column.df + crossed.interaction.df);
      }),
    );
  });

  test.each(twoStageErrors())('$what is refused', ({ given, code, key }) => {
    expect(() => nested(given)).toThrow(expect.objectContaining({ code, key }));
  });
});

describe('pooled standard deviation', () => {
  test('level-1 repeatability of the NIST/SEMATECH e-Handbook 2.4.4.4: sum and degrees of freedom as printed', () => {
    const given = qualityCases('gauge').find(({ id }) => id === 'nist-244-repeatability');
    const expected = given?.expected as Record<string, number>;
    const got = pooledSd(given?.input['sums_of_squares'] as number[], given?.input['df'] as number[]);
    expect(got.ss).toBeCloseTo(expected['published_sum_ss'] ?? 0, 5);
    expect(got.df).toBe(expected['published_df']);
  });

  test('equals the residual standard deviation of the one-way analysis', () => {
    const groups = [
      [1, 2, 4],
      [3, 5],
    ];
    expect(pooledSd([14 / 3, 2], [2, 1]).sd).toBeCloseTo(oneWay(groups).residualSd ?? 0, 14);
  });

  test('without degrees of freedom it is undefined', () => {
    expect(pooledSd([0, 0], [0, 0])).toEqual({ ss: 0, df: 0, sd: null });
  });

  test.each([
    { what: 'nothing', ss: [], df: [], code: 'empty', key: 'sumsOfSquares' },
    { what: 'unequal lengths', ss: [1, 2], df: [3], code: 'unequal-sizes', key: 'df' },
    { what: 'a negative sum of squares', ss: [1, -2], df: [3, 3], code: 'out-of-range', key: 'sumsOfSquares[1]' },
    { what: 'negative degrees of freedom', ss: [1, 2], df: [3, -3], code: 'out-of-range', key: 'df[1]' },
    { what: 'NaN', ss: [Number.NaN], df: [3], code: 'not-finite', key: 'sumsOfSquares[0]' },
  ])('$what is refused', ({ ss, df, code, key }) => {
    expect(() => pooledSd(ss, df)).toThrow(expect.objectContaining({ code, key }));
  });
});

function twoStageErrors(): { what: string; given: number[][][]; code: string; key: string }[] {
  const pair = [
    [1, 2],
    [3, 5],
  ];
  return [
    { what: 'nothing', given: [], code: 'empty', key: 'cells' },
    { what: 'an empty row', given: [[], []], code: 'empty', key: 'cells[0]' },
    { what: 'an empty cell', given: [[[], []], pair], code: 'empty', key: 'cells[0][0]' },
    { what: 'one row', given: [pair], code: 'too-few', key: 'cells' },
    { what: 'one column', given: [[[1, 2]], [[3, 4]]], code: 'too-few', key: 'cells[0]' },
    {
      what: 'one trial',
      given: [
        [[1], [2]],
        [[3], [5]],
      ],
      code: 'too-few',
      key: 'cells[0][0]',
    },
    { what: 'a row with a column less', given: [pair, [[1, 2]]], code: 'unequal-sizes', key: 'cells[1]' },
    {
      what: 'a cell with a trial more',
      given: [
        pair,
        [
          [1, 2],
          [3, 4, 5],
        ],
      ],
      code: 'unequal-sizes',
      key: 'cells[1][1]',
    },
    {
      what: 'NaN',
      given: [
        pair,
        [
          [1, 2],
          [3, Number.NaN],
        ],
      ],
      code: 'not-finite',
      key: 'cells[1][1][1]',
    },
    {
      what: 'an infinite reading',
      given: [
        pair,
        [
          [1, 2],
          [3, -1 / 0],
        ],
      ],
      code: 'not-finite',
      key: 'cells[1][1][1]',
    },
    {
      what: 'squares beyond a double',
      given: [
        pair,
        [
          [1, 2],
          [3, 1e180],
        ],
      ],
      code: 'out-of-range',
      key: 'cells',
    },
  ];
}
