import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { normalQuantile } from '../../../../server/quality/distributions/normal.ts';
import { RUN_RULES, runRuleFirings, runRuleSignals } from '../../../../server/quality/charts/run-rules.ts';
import type { RunRule } from '../../../../server/quality/charts/run-rules.ts';

const unit = { center: 0, sigma: 1 };
const fires = (rule: RunRule, values: readonly number[], chart = unit) => runRuleFirings(values, chart, [rule])[rule];
const repeat = (count: number, ...values: number[]): number[] =>
  Array.from({ length: count }, (_, i) => values[i % values.length] ?? 0);

const normalScores = (n: number): number[] => Array.from({ length: n }, (_, i) => normalQuantile((i + 0.5) / n));

/** Series on a coarse grid, so that points fall on lines, on the center and on their neighbours again and again. */
const coarse = fc.array(
  fc.integer({ min: -14, max: 14 }).map((quarter) => quarter / 4),
  { maxLength: 60 },
);

describe('each rule just fires, and just does not', () => {
  // Nelson, Journal of Quality Technology 16 (1984), tests 1 to 8, and the Western Electric handbook (1956): lengths of the
  // patterns; that lines and equal neighbours count against the rule is common practice, no source.
  const step = [0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6];
  const cases: readonly { rule: RunRule; values: readonly number[]; at: readonly number[]; why: string }[] = [
    { rule: 'beyond_3_sigma', values: [3.0001, -3.0001], at: [0, 1], why: 'either side' },
    { rule: 'beyond_3_sigma', values: [3, -3], at: [], why: 'on the line is not beyond' },
    { rule: 'two_of_three_beyond_2_sigma', values: [2.1, 0, 2.2], at: [2], why: 'two of the last three' },
    { rule: 'two_of_three_beyond_2_sigma', values: [2.1, 2.2, 0], at: [1], why: 'the last itself is beyond' },
    { rule: 'two_of_three_beyond_2_sigma', values: [2.1, 0, 0, 2.2], at: [], why: 'three apart' },
    { rule: 'two_of_three_beyond_2_sigma', values: [2.1, -2.2, 2], at: [], why: 'sides do not add, nor does the line' },
    { rule: 'two_of_three_window_only', values: [2.1, 2.2, 0, 0], at: [2], why: 'only complete windows' },
    { rule: 'four_of_five_beyond_1_sigma', values: [-1.1, -1.1, 0, -1.1, -1.1], at: [4], why: 'four of five' },
    { rule: 'four_of_five_beyond_1_sigma', values: repeat(4, 1.1), at: [3], why: 'a series of four is enough' },
    { rule: 'four_of_five_beyond_1_sigma', values: [1.1, 1.1, 1, 1.1, 1, 1.1], at: [], why: 'the line does not count' },
    { rule: 'four_of_five_window_only', values: [...repeat(4, 1.1), 0], at: [4], why: 'only complete windows' },
    { rule: 'eight_same_side', values: repeat(9, 0.1), at: [7, 8], why: 'fires on while the run lasts' },
    {
      rule: 'eight_same_side',
      values: [...repeat(7, -0.1), 0, ...repeat(7, -0.1)],
      at: [],
      why: 'the center breaks it',
    },
    {
      rule: 'eight_same_side',
      values: [...repeat(7, -0.1), ...repeat(7, 0.1)],
      at: [],
      why: 'the other side breaks it',
    },
    { rule: 'nine_same_side', values: repeat(10, -2), at: [8, 9], why: 'nine' },
    { rule: 'six_trend', values: step, at: [5, 6], why: 'six rising' },
    { rule: 'six_trend', values: [0, 0.1, 0.2, 0.3, 0.4, 0.4, 0.5], at: [], why: 'equal neighbours break it' },
    { rule: 'six_trend', values: [1, 2, 3, 2, 1, 0, -1, -2], at: [7], why: 'the turning point is in both trends' },
    { rule: 'seven_trend', values: step, at: [6], why: 'seven' },
    { rule: 'seven_trend', values: step.slice(0, 6), at: [], why: 'six are not seven' },
    { rule: 'fourteen_alternating', values: repeat(15, 1, -1), at: [13, 14], why: 'thirteen steps up and down' },
    { rule: 'fourteen_alternating', values: [...repeat(13, 1, -1), 1], at: [], why: 'equal neighbours break it' },
    {
      rule: 'fifteen_within_1_sigma',
      values: repeat(16, 0.9, 0, -0.9),
      at: [14, 15],
      why: 'either side and the center',
    },
    {
      rule: 'fifteen_within_1_sigma',
      values: [...repeat(14, 0), 1, ...repeat(14, 0)],
      at: [],
      why: 'the line is outside',
    },
    { rule: 'eight_beyond_1_sigma_either_side', values: repeat(9, 1.1, -1.1), at: [7, 8], why: 'both sides together' },
    {
      rule: 'eight_beyond_1_sigma_either_side',
      values: [...repeat(7, 1.1), 1],
      at: [],
      why: 'the line does not count',
    },
  ];

  test.each(cases)('$rule: $why', ({ rule, values, at }) => {
    expect(fires(rule, values)).toEqual(at);
  });
});

describe('values on a line, as they are written', () => {
  test.each([
    { center: 10, sigma: 0.1, on: 10.3 },
    { center: 10, sigma: 0.2, on: 9.4 },
    { center: 0, sigma: 0.7, on: 2.1 },
    { center: 0.1, sigma: 0.2, on: 0.7 },
    { center: 1e7, sigma: 0.001, on: 10000000.003 },
    { center: 1e-300, sigma: 1e-301, on: 1.3e-300 },
  ])('$on is on the 3 sigma limit of $center with sigma $sigma', ({ center, sigma, on }) => {
    const outward = on > center ? 1 : -1;
    const further = on + outward * Math.abs(on) * 1e-14;
    expect(fires('beyond_3_sigma', [on, further], { center, sigma })).toEqual([1]);
  });

  test('every decimal at whole sigmas from the center is on its line', () => {
    const decimals = fc.record({
      center: fc.integer({ min: -100_000, max: 100_000 }),
      sigma: fc.integer({ min: 1, max: 9999 }),
      places: fc.integer({ min: 0, max: 8 }),
      side: fc.constantFrom(-1, 1),
    });
    fc.assert(
      fc.property(decimals, ({ center, sigma, places, side }) => {
        const at = (whole: number): number => Number(`${whole}e-${places}`);
        const chart = { center: at(center), sigma: at(sigma) };
        expect(fires('beyond_3_sigma', [at(center + side * 3 * sigma)], chart)).toEqual([]);
        expect(fires('beyond_3_sigma', [at(center + side * (3 * sigma + 1))], chart)).toEqual([0]);
        const onOne = Array.from({ length: 15 }, () => at(center + side * sigma));
        expect(fires('fifteen_within_1_sigma', onOne, chart)).toEqual([]);
        expect(fires('eight_beyond_1_sigma_either_side', onOne, chart)).toEqual([]);
      }),
    );
  });
});

describe('properties of all rules', () => {
  test('a shift and a change of unit move nothing', () => {
    // Quarters, times a power of two, plus a whole number: exact in binary.
    fc.assert(
      fc.property(
        coarse,
        fc.integer({ min: -1000, max: 1000 }),
        fc.constantFrom(0.125, 0.5, 4, 1024),
        (values, shift, scale) => {
          const moved = values.map((value) => shift + scale * value);
          expect(runRuleSignals(moved, { center: shift, sigma: scale })).toEqual(runRuleSignals(values, unit));
        },
      ),
    );
  });

  test('mirrored data fire at the same points', () => {
    fc.assert(
      fc.property(coarse, (values) => {
        const mirrored = values.map((value) => -value);
        expect(runRuleSignals(mirrored, unit)).toEqual(runRuleSignals(values, unit));
      }),
    );
  });

  test('what comes later changes nothing before it', () => {
    fc.assert(
      fc.property(coarse, coarse, (before, after) => {
        const all = runRuleSignals([...before, ...after], unit);
        expect(all.filter(({ index }) => index < before.length)).toEqual(runRuleSignals(before, unit));
      }),
    );
  });

  test('the points of a signal make it fire alone', () => {
    fc.assert(
      fc.property(coarse, (values) => {
        for (const { index, rule, points } of runRuleSignals(values, unit)) {
          const [first = 0] = points;
          const last = points.at(-1) ?? 0;
          expect(last).toBeLessThanOrEqual(index);
          // Everything else in the window is put on the center line.
          const window = values.slice(first, index + 1).map((value, i) => (points.includes(first + i) ? value : 0));
          // A window-only rule wants the window to be complete.
          const lead = rule.endsWith('window_only') ? [0, 0, 0, 0] : [];
          expect(fires(rule, [...lead, ...window])).toContain(lead.length + window.length - 1);
        }
      }),
    );
  });

  test('signals are those of the index lists, in time order', () => {
    fc.assert(
      fc.property(coarse, (values) => {
        const signals = runRuleSignals(values, unit);
        const lists = runRuleFirings(values, unit);
        for (const rule of RUN_RULES) {
          expect(signals.filter((each) => each.rule === rule).map(({ index }) => index)).toEqual(lists[rule]);
        }
        const indices = signals.map(({ index }) => index);
        expect(indices).toEqual(indices.toSorted((one, other) => one - other));
      }),
    );
  });

  test('a longer pattern fires only where the shorter does', () => {
    fc.assert(
      fc.property(coarse, (values) => {
        const lists = runRuleFirings(values, unit);
        expect(lists.eight_same_side).toEqual(expect.arrayContaining([...(lists.nine_same_side ?? [])]));
        expect(lists.six_trend).toEqual(expect.arrayContaining([...(lists.seven_trend ?? [])]));
      }),
    );
  });

  test('a rule that is switched off gives no list, the others stay as they are', () => {
    const values = repeat(20, 2.5);
    const some = runRuleFirings(values, unit, ['nine_same_side', 'beyond_3_sigma']);
    expect(Object.keys(some)).toEqual(['beyond_3_sigma', 'nine_same_side']);
    expect(some.nine_same_side).toEqual(runRuleFirings(values, unit).nine_same_side);
    expect(runRuleSignals(values, unit, [])).toEqual([]);
  });
});

describe('how often a process in control is accused', () => {
  test('by a point beyond 3 sigma: 0.0027 of the points (Western Electric handbook; Nelson 1984)', () => {
    // Normal scores at the midpoints of equal shares: the process itself, without chance. 0.0027 of 20000 points are 54.
    const tail = fires('beyond_3_sigma', normalScores(20_000)) ?? [];
    expect(tail).toHaveLength(54);
  });
});

describe('inputs', () => {
  test('no values give empty lists', () => {
    expect(Object.values(runRuleFirings([], unit))).toEqual(RUN_RULES.map(() => []));
    expect(runRuleSignals([], unit)).toEqual([]);
  });

  test('a typed array is as good as a list', () => {
    expect(fires('beyond_3_sigma', Array.from(Float64Array.of(4, 0)))).toEqual([0]);
    expect(runRuleFirings(Float64Array.of(4, 0), unit).beyond_3_sigma).toEqual([0]);
  });

  test('numbers at the end of the range are judged without overflow', () => {
    const { MAX_VALUE } = Number;
    const chart = { center: -MAX_VALUE, sigma: MAX_VALUE };
    expect(fires('beyond_3_sigma', [MAX_VALUE, -MAX_VALUE], chart)).toEqual([]);
    expect(fires('beyond_3_sigma', [MAX_VALUE], { center: -MAX_VALUE, sigma: 1 })).toEqual([0]);
    expect(
      fires(
        'six_trend',
        repeat(6, 0).map((_, i) => MAX_VALUE * (i / 2.5 - 1)),
      ),
    ).toEqual([5]);
  });

  test.each([
    { values: [0, Number.NaN], center: 0, sigma: 1, code: 'not-finite', key: 'values[1]' },
    { values: [Number.POSITIVE_INFINITY], center: 0, sigma: 1, code: 'not-finite', key: 'values[0]' },
    { values: [0], center: Number.NaN, sigma: 1, code: 'not-finite', key: 'center' },
    { values: [0], center: 0, sigma: 0, code: 'out-of-range', key: 'sigma' },
    { values: [0], center: 0, sigma: -1, code: 'out-of-range', key: 'sigma' },
    { values: [0], center: 0, sigma: Number.NaN, code: 'not-finite', key: 'sigma' },
  ])('$values about $center with sigma $sigma is refused as $code of $key', ({ values, center, sigma, code, key }) => {
    for (const run of [runRuleFirings, runRuleSignals]) {
      expect(() => run(values, { center, sigma })).toThrow(
        expect.objectContaining({ name: 'QualityError', code, key }),
      );
    }
  });
});
