import { linearRegression, mean } from 'simple-statistics';
import { describe, expect, test } from 'vitest';
import type { EvaluationInput, Finding } from '../../../../server/audit/evaluation/contract.ts';
import { evaluate } from '../../../../server/audit/evaluation/evaluate.ts';
import { isOutside } from '../../../../server/audit/evaluation/outside.ts';
import { pooledTest } from '../../../../server/audit/evaluation/reading-findings.ts';
import { BACK, POINTS_KPA, STAGES, drawnAudit, givenAudit } from '../../../support/audit-population.ts';

const found = (input: EvaluationInput): readonly Finding[] => evaluate(input).findings;
const codes = (input: EvaluationInput): string[] => found(input).map(({ code }) => code);
const ofCode = (input: EvaluationInput, ...wanted: string[]): readonly Finding[] =>
  found(input).filter(({ code }) => wanted.includes(code));

test('a good lot: nothing about conditions, nests or the line in 40 audits, and a false alarm about normality in few', () => {
  const audits = Array.from({ length: 40 }, (_, seed) => evaluate(drawnAudit({ stages: [...STAGES, BACK] }, seed)));
  const alarms = audits.map(({ findings }) => findings.map(({ code }) => code));
  expect(alarms.flat().filter((code) => code !== 'not-normal')).toEqual([]);
  // One audit in 20 at most has any (Holm): seven of 40 would be 3 in 1000 (binomial).
  expect(alarms.filter((each) => each.length > 0).length).toBeLessThan(7);
  expect(audits.map(({ normality }) => normality.isNormal)).toEqual(alarms.map((each) => each.length === 0));
});

describe('span and offset', () => {
  test('a span that falls 0.02 kPa a kelvin falls by 2.04 kPa at 102 K more, in all 13 parts', () => {
    const input = drawnAudit({ spanPerK: -0.02 }, 3);
    const spans = ofCode(input, 'span-falls', 'span-rises');
    expect(spans.map(({ code, facts }) => [code, facts['stage'], facts['parts'], facts['of']])).toEqual([
      ['span-rises', 1, 13, 13],
      ['span-falls', 3, 13, 13],
    ]);
    // 13 parts whose coefficients spread by 0.002 kPa a kelvin: standard error 0.002 x 102/sqrt 13 = 0.057 kPa.
    expect(Math.abs(Number(spans[1]?.facts['kPa']) + 2.04)).toBeLessThan(4 * 0.057);
    // The mean of all points falls by half of that, which the span explains.
    expect(ofCode(input, 'offset-falls', 'offset-rises')).toEqual([]);
  });

  test('the change over the range is that of a general library, part by part', () => {
    const input = drawnAudit({ spanPerK: -0.02 }, 3);
    const at = (serial: string, stage: number): number[] =>
      input.readings.filter((each) => each.serial === serial && each.stage === stage).map(({ errorKpa }) => errorKpa);
    const slopes = input.parts.map(({ serial }) => {
      const before = at(serial, 2);
      return linearRegression(at(serial, 3).map((kPa, p) => [POINTS_KPA[p] ?? 0, kPa - (before[p] ?? 0)])).m;
    });
    expect(Number(ofCode(input, 'span-falls')[0]?.facts['kPa'])).toBeCloseTo(80 * mean(slopes), 9);
  });

  test('an offset that moves alike at all points is no span', () => {
    const input = drawnAudit({ offsetPerK: 0.015, perKSd: 0.0005 }, 4);
    const moved = ofCode(input, 'span-falls', 'span-rises', 'offset-falls', 'offset-rises');
    expect(moved.map(({ code, facts }) => [code, facts['stage'], facts['parts']])).toEqual([
      ['offset-falls', 1, 13],
      ['offset-rises', 3, 13],
    ]);
    expect(Number(moved[1]?.facts['kPa'])).toBeCloseTo(0.015 * 102, 1);
  });

  test('both are told when the lowest point has moved as well', () => {
    const input = drawnAudit({ offsetPerK: -0.017, spanPerK: -0.02 }, 5);
    expect(codes(input).filter((code) => code !== 'not-normal')).toEqual([
      'span-rises',
      'span-falls',
      'offset-rises',
      'offset-falls',
    ]);
  });

  test('a span that turns about its middle moves no point alike, though the lowest moves the other way', () => {
    // Ambient to hot: +1 kPa at 20 kPa to -4 at 100: mean -1.5 and the lowest +1, both beyond 15 % of 4.5 kPa.
    const part = [
      [0, 0, 0, 0, 0],
      [0, 0, 0, 0, 0],
      [1, -0.25, -1.5, -2.75, -4],
    ] as const;
    const input = givenAudit([part, part.map((each) => each.map((kPa) => kPa + 0.1))]);
    expect(codes(input)).toEqual(['span-falls']);
    expect(found(input)[0]?.facts).toMatchObject({ stage: 3, parts: 2, of: 2 });
    expect(found(input)[0]?.facts['kPa']).toBeCloseTo(-5, 9);
  });

  /** Each part's change from ambient to hot at 20 and 100 kPa. */
  const moving = (changes: readonly (readonly [number, number])[]): EvaluationInput =>
    givenAudit(changes.map(([low, high], k) => [null, [0.01 * k, 0, 0, 0, 0], [0.01 * k + low, low, low, low, high]]));

  test('one part in ten may go against the others, one in nine may not', () => {
    const falls = [0, -4] as const;
    const rises = [0, 0.5] as const;
    const of = (n: number): EvaluationInput => moving([rises, ...Array.from({ length: n - 1 }, () => falls)]);
    expect(ofCode(of(10), 'span-falls')[0]?.facts).toMatchObject({ parts: 9, of: 10 });
    expect(ofCode(of(9), 'span-falls')).toEqual([]);
  });

  test('15 % of what is allowed is worth a word: 0.675 of 4.5 kPa', () => {
    const offset = (kPa: number): string[] => codes(moving([[kPa, kPa] as const, [kPa, kPa] as const]));
    expect(offset(0.676)).toEqual(['offset-rises']);
    expect(offset(0.674)).toEqual([]);
    expect(offset(-0.676)).toEqual(['offset-falls']);
  });

  test('one part is not alike with anything; a part with one point has an offset and no span', () => {
    expect(codes(moving([[-1, -4]]))).toEqual([]);
    expect(
      codes(
        givenAudit([
          [null, [0], [1]],
          [null, [0.1], [1.2]],
        ]),
      ),
    ).toEqual(['offset-rises']);
  });

  test('no ambient stage, or none read yet, and nothing changes against it', () => {
    const [cold, , hot] = STAGES;
    if (cold === undefined || hot === undefined) throw new Error('no stages');
    const apart = evaluate(
      givenAudit(
        [
          [[0], [3]],
          [[0], [3]],
        ],
        [cold, hot],
      ),
    );
    expect([apart.drifts, apart.findings]).toEqual([[], []]);
    expect(
      evaluate(
        givenAudit([
          [[0], null, [3]],
          [[0], null, [3]],
        ]),
      ).drifts,
    ).toEqual([]);
  });

  test('drifts by hand: changes of 0.2 and 0.4 kPa are 0.3 on average, sd 0.1414; one part has no sd', () => {
    const input = givenAudit([
      [null, [0.1], [0.3]],
      [null, [0.2], [0.6]],
    ]);
    const [drift, ...others] = evaluate(input).drifts;
    expect(others).toEqual([]);
    expect(drift).toMatchObject({ stage: 3, step: '20-kpa', n: 2 });
    expect(drift?.meanKpa).toBeCloseTo(0.3, 12);
    expect(drift?.sdKpa).toBeCloseTo(0.1414214, 6);
    expect(evaluate(givenAudit([[null, [0.1], [0.3]]])).drifts[0]).toMatchObject({ sdKpa: null, bounds: null });
    // t(0.975; 1) = 12.706 (tables): 0.3 +/- 12.706 x 0.1.
    expect(drift?.bounds?.lowKpa).toBeCloseTo(-0.9706, 4);
    expect(drift?.bounds?.highKpa).toBeCloseTo(1.5706, 4);
    // 4.5 kPa is allowed at hot, 1.5 at ambient.
    expect(drift?.addedKpa).toBeCloseTo(3, 12);
    expect(drift?.largest.serial).toBe('AQ1105-26B-00002');
    expect(drift?.largest.kPa).toBeCloseTo(0.4, 12);
  });

  test('the largest change is the farthest either way, and back at ambient the factor adds nothing', () => {
    const input = givenAudit(
      [
        [null, [0.1], [0.3], [0.1]],
        [null, [0.2], [-0.6], [0.5]],
      ],
      [...STAGES, BACK],
    );
    const [hot, back] = evaluate(input).drifts;
    expect(hot?.largest.kPa).toBeCloseTo(-0.8, 12);
    expect(back).toMatchObject({ stage: 4, addedKpa: 0 });
    // Back at ambient against ambient, not against hot: 0 and 0.3.
    expect(back?.meanKpa).toBeCloseTo(0.15, 12);
  });
});

describe('nests', () => {
  test.each([
    [5, 'nest-low', -0.3],
    [7, 'nest-high', 0.3],
  ])(
    'nest %d stands off by %s: %d kPa (13 parts in 8 nests: nest 5 has two of them, nest 7 one)',
    (nest, code, off) => {
      const nests = ofCode(drawnAudit({ nestOff: { [nest]: off } }, 6), 'nest-low', 'nest-high');
      expect(nests).toHaveLength(1);
      expect(nests[0]).toMatchObject({ code, facts: { nest } });
      expect(Number(nests[0]?.facts['kPa'])).toBeCloseTo(off, 1);
    },
  );

  test('what the parts themselves are cannot be taken for a nest: the line has seen it', () => {
    const input = drawnAudit({}, 6);
    const shift = ({ nest }: { readonly nest: number }): number => (nest === 5 ? 0.4 : 0);
    const nestOf = new Map(input.parts.map(({ serial, nest }) => [serial, nest ?? 0]));
    const parts5 = {
      ...input,
      readings: input.readings.map((each) => ({ ...each, errorKpa: each.errorKpa + shift(each) })),
      line: input.line.map((each) => ({
        ...each,
        errorKpa: each.errorKpa + shift({ nest: nestOf.get(each.serial) ?? 0 }),
      })),
    };
    expect(ofCode(parts5, 'nest-low', 'nest-high')).toEqual([]);
  });

  test('without line data none, and less than 0.05 kPa none', () => {
    expect(ofCode(drawnAudit({ nestOff: { 5: -0.3 }, line: null }, 6), 'nest-low', 'nest-high')).toEqual([]);
    const small = { nestOff: { 5: -0.04 }, noiseSd: 0.001, line: { off: 0, sd: 0.001 } };
    expect(ofCode(drawnAudit(small, 6), 'nest-low', 'nest-high')).toEqual([]);
  });

  // Student, "The probable error of a mean", Biometrika 6 (1908): hours of sleep gained by ten patients with two drugs.
  const FIRST = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0, 2];
  const SECOND = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4];
  test('two samples of ten, pooled: 1.58 apart, p 0.07919 (data of Student 1908; p as textbooks print it, from memory)', () => {
    const tested = pooledTest(FIRST, SECOND);
    expect(tested?.off).toBeCloseTo(-1.58, 9);
    expect(tested?.p).toBeCloseTo(0.07919, 5);
  });

  // The same samples as ten parts in each of two nests, kPa/10; their means differ with standard error 1.58/1.8608 = 0.849, so
  // that they are 1.88 apart with p 0.040, 0.080 for two nests, and 2.2 apart with p 0.018, 0.037 for two nests.
  test.each([
    { apart: 1.88, nests: [] },
    {
      apart: 2.2,
      nests: [
        ['nest-low', 1],
        ['nest-high', 2],
      ],
    },
  ])('one chance in twenty is shared out over the nests: $apart apart', ({ apart, nests }) => {
    const both = [...FIRST, ...SECOND.map((each) => each + apart - 1.58)].map((each) => each / 10);
    const nestOf = new Map(givenAudit(both.map(() => [])).parts.map(({ serial }, k) => [serial, k < 10 ? 1 : 2]));
    const lab = givenAudit(both.map((each) => [null, [each], null]));
    const input = {
      ...lab,
      readings: lab.readings.map((each) => ({ ...each, nest: nestOf.get(each.serial) ?? 0 })),
      line: lab.readings.map(({ serial, step }) => ({ serial, step, errorKpa: 0 })),
    };
    const standing = ofCode(input, 'nest-low', 'nest-high').map(({ code, facts }) => [code, facts['nest']]);
    expect(standing).toEqual(nests);
  });

  test('4 and 8 values with means 25 and 21 and sd 0.8185 and 4.208: p 0.0955 (example of the NAG Library manual, G07CAF)', () => {
    const around = (n: number, centre: number, sd: number): number[] =>
      Array.from({ length: n }, (_, k) => centre + (k % 2 === 0 ? 1 : -1) * sd * Math.sqrt((n - 1) / n));
    const tested = pooledTest(around(4, 25, 0.8185), around(8, 21, 4.208));
    expect(tested?.off).toBeCloseTo(4, 9);
    expect(tested?.p).toBeCloseTo(0.0955, 4);
  });

  test('by hand: one value 4 above the mean of 0, 1 and 2 is t = 4/sqrt(1 + 1/3) of 2 degrees of freedom, p 0.0742', () => {
    // P(|T| > t) with 2 degrees of freedom is 1 - t/sqrt(2 + t^2): t = 3.4641, 1 - 3.4641/3.7417.
    const tested = pooledTest([5], [0, 1, 2]);
    expect(tested?.off).toBeCloseTo(4, 12);
    expect(tested?.p).toBeCloseTo(1 - Math.sqrt(12 / 14), 9);
  });

  test('too few values have no test; no spread leaves no doubt', () => {
    expect(pooledTest([1], [2])).toBeNull();
    expect(pooledTest([], [2, 3, 4])).toBeNull();
    expect(pooledTest([1, 2, 3], [])).toBeNull();
    expect(pooledTest([1], [2, 2])).toEqual({ off: -1, p: 0 });
  });
});

describe('back at ambient', () => {
  const stages = [...STAGES, BACK];
  test('what moved by 0.2 kPa is found at every point', () => {
    const changed = ofCode(drawnAudit({ stages, backOff: 0.2 }, 8), 'ambient-changed');
    expect(changed.map(({ facts }) => [facts['stage'], facts['step']])).toEqual(
      POINTS_KPA.map((kPa) => [4, `${kPa}-kpa`]),
    );
    for (const { facts } of changed) expect(Number(facts['kPa'])).toBeCloseTo(0.2, 1);
  });

  test('points that only audits take share in no doubt: no change of theirs is tested', () => {
    const given = givenAudit(
      [1.2, 2.4, 1.3, 1.3, 0, 1, 1.8, 0.8, 4.6, 1.4].map((kPa) => [null, [0], null, [0.1 * kPa]]),
      stages,
    );
    const [own] = given.points;
    const again = Array.from({ length: 15 }, (_, k) => ({
      ...own!,
      step: `${own!.step}:again-${k}`,
      again: { of: own!.step, supplyV: null },
    }));
    const more = { ...given, points: [...given.points, ...again] };
    expect(ofCode(more, 'ambient-changed')).toEqual(ofCode(given, 'ambient-changed'));
    expect(ofCode(more, 'ambient-changed')).toHaveLength(1);
  });

  test('less than 5 % of the allowed 1.5 kPa is not worth a word, however sure', () => {
    const changed = (backOff: number): readonly Finding[] =>
      ofCode(drawnAudit({ stages, backOff, noiseSd: 0.001 }, 8), 'ambient-changed');
    expect(changed(0.07)).toEqual([]);
    expect(changed(0.08)).toHaveLength(5);
  });

  // Paired, Student's data give t 4.0621 and p 0.002833 (from memory), which five points make 0.0142.
  test('the sleep data of Student (1908), paired and shared out over five points, are found; scattered ones are not', () => {
    const gained = [1.2, 2.4, 1.3, 1.3, 0, 1, 1.8, 0.8, 4.6, 1.4];
    const audit = (changes: readonly number[]): EvaluationInput =>
      givenAudit(
        changes.map((kPa) => [null, [0], null, [0.1 * kPa]]),
        stages,
      );
    const changed = ofCode(audit(gained), 'ambient-changed');
    expect(changed).toHaveLength(1);
    expect(changed[0]?.facts['kPa']).toBeCloseTo(0.158, 9);
    // The same mean with a wider spread: t 2.708, p 0.024, which five points make 0.12.
    const mid = mean(gained);
    expect(ofCode(audit(gained.map((kPa) => mid + 1.5 * (kPa - mid))), 'ambient-changed')).toEqual([]);
  });
});

describe('the line', () => {
  test('reads 0.11 kPa more than the lab', () => {
    const input = drawnAudit({ line: { off: 0.11, sd: 0.05 } }, 9);
    const off = ofCode(input, 'line-off');
    expect(off).toHaveLength(1);
    expect(Number(off[0]?.facts['kPa'])).toBeCloseTo(0.11, 1);
    const { lineAgainstLab } = evaluate(input);
    expect(lineAgainstLab).toMatchObject({ parts: 13 });
    expect(lineAgainstLab?.biasKpa).toBeCloseTo(Number(off[0]?.facts['kPa']), 9);
    expect(lineAgainstLab?.steps.map(({ n }) => n)).toEqual([13, 13, 13, 13, 13]);
    expect(lineAgainstLab?.pairs).toHaveLength(65);
  });

  test('less than 5 % of the allowed 1.5 kPa is one with the lab; so is one part', () => {
    expect(ofCode(drawnAudit({ line: { off: 0.06, sd: 0.001 } }, 9), 'line-off')).toEqual([]);
    expect(ofCode(drawnAudit({ parts: 1, line: { off: 1, sd: 0.001 } }, 9), 'line-off')).toEqual([]);
  });

  test('two parts 0 and 0.4 kPa apart are no sure sign of anything: t 1, p 0.5', () => {
    const lab = givenAudit([
      [null, [0], null],
      [null, [0], null],
    ]);
    const line = lab.readings.map(({ serial, step }, k) => ({ serial, step, errorKpa: 0.4 * k }));
    expect(codes({ ...lab, line })).toEqual([]);
    expect(evaluate({ ...lab, line }).lineAgainstLab?.biasKpa).toBeCloseTo(0.2, 12);
  });

  // 17 subjects by two meters; printed: mean difference -2.1, sd 38.8 l/min, limits at 2 sd -79.7 and 75.5.
  test('flows of 17 subjects: bias -2.1, limits at 1.96 sd -78.1 and 73.9 (Bland & Altman, The Lancet 1986; data from memory)', () => {
    const one = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427];
    const other = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451];
    const lab = givenAudit(other.map((each) => [null, [each / 1000], null]));
    const line = lab.readings.map(({ serial, step }, k) => ({ serial, step, errorKpa: (one[k] ?? 0) / 1000 }));
    const found17 = evaluate({ ...lab, line }).lineAgainstLab;
    expect(1000 * (found17?.biasKpa ?? 0)).toBeCloseTo(-2.1, 1);
    // 38.8 is rounded by 0.05, and the limits with it by 0.1.
    expect(Math.abs(1000 * (found17?.lowKpa ?? 0) + 78.1)).toBeLessThan(0.2);
    expect(Math.abs(1000 * (found17?.highKpa ?? 0) - 73.9)).toBeLessThan(0.2);
  });

  test('only the same serials at the same points at ambient pair up; one pair has no limits', () => {
    const lab = givenAudit([[[5], [0.1], [5]]]);
    const line = [
      { serial: 'AQ1105-26B-00001', step: '20-kpa', errorKpa: 0.3 },
      { serial: 'AQ1105-26B-00001', step: '40-kpa', errorKpa: 9 },
      { serial: 'AQ1105-26B-00002', step: '20-kpa', errorKpa: 9 },
    ];
    const paired = evaluate({ ...lab, line }).lineAgainstLab;
    expect(paired).toMatchObject({ parts: 1, lowKpa: null, highKpa: null, steps: [{ step: '20-kpa', n: 1 }] });
    expect(paired?.biasKpa).toBeCloseTo(0.2, 12);
    expect(paired?.pairs).toHaveLength(1);
  });
});

describe('parts', () => {
  const outside = givenAudit([
    [[0.1], [0.1], [-4.6]],
    [[0.2], [1.8], [0.1]],
    [[0.3], [0.1], [0.2]],
  ]);

  test('readings outside, the farthest by its share first: 1.8 of 1.5 before -4.6 of 4.5', () => {
    expect(found(outside).slice(0, 2)).toEqual([
      {
        code: 'part-outside',
        facts: { serial: 'AQ1105-26B-00002', stage: 2, step: '20-kpa', kPa: 1.8, allowedKpa: 1.5 },
      },
      {
        code: 'part-outside',
        facts: { serial: 'AQ1105-26B-00001', stage: 3, step: '20-kpa', kPa: -4.6, allowedKpa: 4.5 },
      },
    ]);
    expect(codes(outside)).not.toContain('part-failed');
  });

  test('a failure for something else, and no verdict, are told with their reasons, in that order', () => {
    const input = {
      ...outside,
      parts: outside.parts.map((part, k) => ({
        ...part,
        results: part.results.map((result, s) => {
          if (k === 2 && s === 0) return { verdict: 'none' as const, reason: null };
          return k === 2 && s === 2 ? { verdict: 'fail' as const, reason: 'slow' } : result;
        }),
      })),
    };
    expect(found(input).slice(2, 4)).toEqual([
      { code: 'part-failed', facts: { serial: 'AQ1105-26B-00003', stage: 3, reason: 'slow' } },
      { code: 'part-not-judged', facts: { serial: 'AQ1105-26B-00003', stage: 1, reason: 'unknown' } },
    ]);
    expect(evaluate(input)).toMatchObject({ bad: 3, notJudged: 1 });
  });

  test('an error on its very limit is not outside', () => {
    expect(codes(givenAudit([[null, [1.5], null]]))).toEqual([]);
    expect(codes(givenAudit([[null, [1.5 * (1 + 1e-12)], null]]))).not.toContain('part-outside');
    expect(codes(givenAudit([[null, [1.5 * (1 + 1e-6)], null]]))).toContain('part-outside');
  });
});

test('everything at once comes most urgent first', () => {
  const input = drawnAudit(
    {
      stages: [...STAGES, BACK],
      offset: { mean: 1.6, sd: 0.1 },
      spanPerK: -0.02,
      offsetPerK: -0.02,
      nestOff: { 5: -0.4 },
      backOff: 0.2,
      line: { off: 0.2, sd: 0.01 },
    },
    11,
  );
  const order = ['part-outside', 'span', 'offset', 'nest', 'ambient-changed', 'line-off', 'not-normal'];
  const ranks = codes(input).map((code) => order.findIndex((each) => code.startsWith(each)));
  expect(ranks).toEqual(ranks.toSorted((a, b) => a - b));
  expect([...new Set(ranks)].slice(0, 6)).toEqual([0, 1, 2, 3, 4, 5]);
});

test('a reading on its very limit is outside nowhere: findings and bold print ask the same', () => {
  // 0.1 + 0.2 is a last digit above 0.3.
  expect(0.1 + 0.2).toBeGreaterThan(0.3);
  for (const sign of [1, -1]) expect(isOutside({ errorKpa: sign * (0.1 + 0.2), allowedKpa: 0.3 })).toBe(false);
  expect(isOutside({ errorKpa: -0.3001, allowedKpa: 0.3 })).toBe(true);
});
