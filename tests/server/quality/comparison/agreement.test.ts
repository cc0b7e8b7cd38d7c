import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { answer } from '../../../../server/cli/calc/answer.ts';
import { agreementTopic } from '../../../../server/cli/calc/agreement.ts';
import { agreement } from '../../../../server/quality/comparison/agreement.ts';
import type { Agreement } from '../../../../server/quality/comparison/agreement.ts';
import { qualityCases } from '../../../support/quality-cases.ts';
import { refusal } from '../../../support/quality-refusal.ts';

const PEAK_FLOW = qualityCases('agreement').find(({ id }) => id === 'bland-altman-1986-pefr')!;
const { line: WRIGHT, lab: MINI } = PEAK_FLOW.input as { line: number[]; lab: number[] };

const LINE = [50.02, 80.11, 109.93, 140.07, 170.2, 199.94, 231.1];
const LAB = [50, 80.05, 109.98, 140.01, 170.03, 199.99, 230.8];

const near = (got: number | null, expected: number | null, relative = 1e-10): void => {
  if (expected === null || got === null) expect(got).toBe(expected);
  else expect(Math.abs(got - expected)).toBeLessThanOrEqual(relative * Math.max(1e-9, Math.abs(expected)));
};

describe('peak flow meters, Bland & Altman 1986, printed values from memory', () => {
  const { meanDifference, sdDifference, meanBounds, limits, concordance, n } = agreement(WRIGHT, MINI);

  test('mean difference -2.1, sd 38.8, its standard error 9.4, bounds -22.0 to 17.8', () => {
    expect(meanDifference.toFixed(1)).toBe('-2.1');
    expect(sdDifference!.toFixed(1)).toBe('38.8');
    expect((sdDifference! / Math.sqrt(n)).toFixed(1)).toBe('9.4');
    expect(meanBounds!.map((each) => each.toFixed(1))).toEqual(['-22.0', '17.8']);
  });

  test('limits -79.7 and 75.5 (the paper adds rounded numbers), standard error of a limit 16.3', () => {
    expect(Math.abs(limits!.lower.limitAt2Sd + 79.7)).toBeLessThan(0.1);
    expect(Math.abs(limits!.upper.limitAt2Sd - 75.5)).toBeLessThan(0.1);
    expect(limits!.se1986.toFixed(1)).toBe('16.3');
  });

  test('correlation 0.94', () => {
    expect(concordance.pearsonR!.toFixed(2)).toBe('0.94');
  });
});

describe('line and lab exchanged', () => {
  test('turns the bias round, exchanges the limits, inverts the Deming line, keeps the concordance', () => {
    const here = agreement(LINE, LAB);
    const there = agreement(LAB, LINE);
    near(there.meanDifference, -here.meanDifference);
    near(there.sdDifference, here.sdDifference);
    near(there.t, -here.t!);
    near(there.p, here.p);
    near(there.limits!.lower.limit, -here.limits!.upper.limit);
    near(there.limits!.upper.bounds1999[0], -here.limits!.lower.bounds1999[1]);
    near(there.deming.slope, 1 / here.deming.slope!);
    near(there.deming.intercept, -here.deming.intercept! / here.deming.slope!);
    near(there.proportionalBias.slope, -here.proportionalBias.slope!);
    near(there.concordance.ccc, here.concordance.ccc);
    near(there.concordance.fisherZSe, here.concordance.fisherZSe);
  });
});

describe('properties', () => {
  const pairs = fc.array(
    fc.tuple(fc.double({ min: -100, max: 100, noNaN: true }), fc.double({ min: -5, max: 5, noNaN: true })),
    { minLength: 4, maxLength: 30 },
  );
  const spread = (values: number[]): boolean => new Set(values.map((each) => each.toFixed(2))).size > 2;

  test('the order of the pairs changes nothing but rounding', () => {
    fc.assert(
      fc.property(pairs, (given) => {
        fc.pre(spread(given.map(([x]) => x)) && spread(given.map(([, d]) => d)));
        const of = (rows: [number, number][]): Agreement =>
          agreement(
            rows.map(([x, d]) => x + d),
            rows.map(([x]) => x),
          );
        const [here, there] = [of(given), of([...given].reverse())];
        near(there.meanDifference, here.meanDifference, 1e-6);
        near(there.limits!.upper.limit, here.limits!.upper.limit, 1e-6);
        near(there.concordance.ccc, here.concordance.ccc, 1e-6);
      }),
    );
  });

  test('another unit scales bias, limits and intercept, and leaves slopes, t, p and concordance', () => {
    const here = agreement(LINE, LAB);
    const there = agreement(
      LINE.map((each) => each * 1000),
      LAB.map((each) => each * 1000),
    );
    near(there.meanDifference, here.meanDifference * 1000);
    near(there.limits!.lower.bounds1986[0], here.limits!.lower.bounds1986[0] * 1000);
    near(there.deming.intercept, here.deming.intercept! * 1000, 1e-8);
    near(there.deming.slope, here.deming.slope);
    near(there.deming.slopeSe, here.deming.slopeSe);
    near(there.p, here.p);
    near(there.concordance.ccc, here.concordance.ccc);
  });

  test('another zero leaves everything but the intercept', () => {
    const here = agreement(LINE, LAB);
    const there = agreement(
      LINE.map((each) => each + 1024),
      LAB.map((each) => each + 1024),
    );
    near(there.meanDifference, here.meanDifference, 1e-9);
    near(there.sdDifference, here.sdDifference, 1e-9);
    near(there.proportionalBias.slope, here.proportionalBias.slope, 1e-8);
    near(there.deming.slope, here.deming.slope, 1e-9);
    near(there.deming.slopeSe, here.deming.slopeSe, 1e-8);
    near(there.deming.intercept, here.deming.intercept! - 1024 * (here.deming.slope! - 1), 1e-7);
    near(there.concordance.ccc, here.concordance.ccc, 1e-9);
  });

  test.each([-0.4, 0.05, 0.3])(
    'turning all points by %d rad turns the Deming line by it: it minimises distances',
    (angle) => {
      const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
      const here = agreement(WRIGHT, MINI);
      const there = agreement(
        WRIGHT.map((y, i) => MINI[i]! * sin + y * cos),
        WRIGHT.map((y, i) => MINI[i]! * cos - y * sin),
      );
      near(Math.atan(there.deming.slope!) - Math.atan(here.deming.slope!), angle, 1e-9);
    },
  );

  test('the jackknife is what its definition says: pseudo-values of leaving out each pair', () => {
    const n = WRIGHT.length;
    const whole = agreement(WRIGHT, MINI).deming;
    const without = (values: number[], i: number): number[] => values.filter((_, at) => at !== i);
    const parts = WRIGHT.map((_, i) => agreement(without(WRIGHT, i), without(MINI, i)).deming);
    for (const [name, se] of [
      ['slope', 'slopeSe'],
      ['intercept', 'interceptSe'],
    ] as const) {
      const pseudo = parts.map((each) => n * whole[name]! - (n - 1) * each[name]!);
      const mean = pseudo.reduce((sum, each) => sum + each, 0) / n;
      const variance = pseudo.reduce((sum, each) => sum + (each - mean) ** 2, 0) / (n - 1);
      near(whole[se], Math.sqrt(variance / n), 1e-9);
    }
  });

  test('one pair that carries nearly all the spread is left out without loss of digits', () => {
    const [x, d] = [
      [1, 2, 3, 4, 1e8],
      [0.5, -0.25, 0.25, -0.5, 0.125],
    ];
    const { deming } = agreement(
      x.map((each, i) => each + d[i]!),
      x,
    );
    const inner = agreement([1.5, 1.75, 3.25, 3.5], [1, 2, 3, 4]).deming;
    // Leaving out any other pair leaves the slope where it is (to 1e-8), so all the spread comes from the far one:
    // the standard error is (n - 1) / n of what it moves.
    near(deming.slopeSe, (4 / 5) * Math.abs(deming.slope! - inner.slope!), 1e-6);
  });

  test('more pairs of the same kind narrow every bound', () => {
    const repeated = (times: number): Agreement =>
      agreement(Array.from({ length: times }, () => LINE).flat(), Array.from({ length: times }, () => LAB).flat());
    const width = ([low, high]: readonly [number, number]): number => high - low;
    const [few, many] = [repeated(1), repeated(5)];
    expect(width(many.meanBounds!)).toBeLessThan(width(few.meanBounds!));
    expect(width(many.limits!.lower.bounds1999)).toBeLessThan(width(few.limits!.lower.bounds1999));
    expect(width(many.deming.slopeBounds!)).toBeLessThan(width(few.deming.slopeBounds!));
    expect(width(many.concordance.bounds!)).toBeLessThan(width(few.concordance.bounds!));
  });

  test('the concordance is precision times accuracy, never beyond the correlation (Lin 1989)', () => {
    fc.assert(
      fc.property(pairs, (given) => {
        fc.pre(spread(given.map(([x]) => x)) && spread(given.map(([x, d]) => x + d)));
        const { ccc, pearsonR, biasCorrection, bounds } = agreement(
          given.map(([x, d]) => x + d),
          given.map(([x]) => x),
        ).concordance;
        expect(ccc).toBeCloseTo(pearsonR! * biasCorrection!, 10);
        expect(Math.abs(ccc!)).toBeLessThanOrEqual(Math.abs(pearsonR!) + 1e-12);
        if (bounds !== null) {
          expect(bounds[0]).toBeLessThanOrEqual(ccc! + 1e-12);
          expect(bounds[1]).toBeGreaterThanOrEqual(ccc! - 1e-12);
        }
      }),
    );
  });

  test('a huge common offset with a tiny spread keeps its digits', () => {
    const [line, lab] = [
      [0, 1, 3, 4, 7],
      [0, 2, 2, 5, 6],
    ];
    const plain = agreement(line, lab);
    const far = agreement(
      line.map((each) => 2 ** 52 + each),
      lab.map((each) => 2 ** 52 + each),
    );
    near(far.sdDifference, plain.sdDifference);
    near(far.proportionalBias.slope, plain.proportionalBias.slope);
    near(far.proportionalBias.p, plain.proportionalBias.p);
    near(far.deming.slope, plain.deming.slope);
    near(far.deming.slopeSe, plain.deming.slopeSe);
    near(far.concordance.ccc, plain.concordance.ccc);
    near(far.concordance.fisherZSe, plain.concordance.fisherZSe);
  });
});

describe('where something is undefined', () => {
  const noDeming = {
    slope: null,
    intercept: null,
    slopeSe: null,
    interceptSe: null,
    slopeBounds: null,
    interceptBounds: null,
  };
  const noConcordance = {
    ccc: null,
    cccNMinus1: null,
    pearsonR: null,
    biasCorrection: null,
    fisherZSe: null,
    bounds: null,
  };

  test('identical pairs: exact zeros, slope exactly 1, concordance exactly 1 without bounds', () => {
    const same = agreement(LAB, LAB);
    expect(same).toMatchObject({ meanDifference: 0, sdDifference: 0, meanBounds: [0, 0], t: null, p: null });
    expect(same.limits).toMatchObject({ se1986: 0, se1999: 0, lower: { limit: 0, bounds1999: [0, 0] } });
    expect(same.proportionalBias).toEqual({ slope: 0, se: 0, t: null, p: null });
    expect(same.deming).toEqual({
      ...{ slope: 1, intercept: 0, slopeSe: 0, interceptSe: 0 },
      ...{ slopeBounds: [1, 1], interceptBounds: [0, 0] },
    });
    expect(same.concordance).toEqual({
      ccc: 1,
      cccNMinus1: 1,
      pearsonR: 1,
      biasCorrection: 1,
      fisherZSe: null,
      bounds: null,
    });
  });

  test('differences exactly proportional to the reading: slope 2/3 without scatter, t undefined', () => {
    const twice = agreement([2, 4, 6, 8], [1, 2, 3, 4]);
    expect(twice.proportionalBias).toEqual({ slope: 2 / 3, se: 0, t: null, p: null });
    expect(twice.deming.slope).toBeCloseTo(2, 14);
    expect(twice.concordance.pearsonR).toBe(1);
  });

  test('constant columns have no line and no correlation; equal ones no concordance either', () => {
    expect(agreement([5, 5, 5], [5, 5, 5])).toMatchObject({ deming: noDeming, concordance: noConcordance });
    expect(agreement([6, 6, 6], [5, 5, 5])).toMatchObject({
      meanDifference: 1,
      t: null,
      concordance: { ccc: 0, pearsonR: null },
    });
    for (const [line, lab] of [
      [
        [4, 5, 6.5],
        [5, 5, 5],
      ],
      [
        [5, 5, 5],
        [4, 5, 6.5],
      ],
    ] as const) {
      expect(agreement(line, lab)).toMatchObject({
        deming: noDeming,
        concordance: { ccc: 0, pearsonR: null, bounds: null },
      });
    }
    expect(agreement([5, 5, 5], [5, 5, 5]).proportionalBias).toEqual({ slope: null, se: null, t: null, p: null });
  });

  test('columns that do not vary together have no Deming line', () => {
    expect(agreement([1, -1, -1, 1], [1, 2, 3, 4])).toMatchObject({
      deming: noDeming,
      concordance: { ccc: 0, pearsonR: 0 },
    });
  });

  test('one pair has a difference and nothing else', () => {
    const one = agreement([1.5], [1]);
    expect(one).toMatchObject({
      n: 1,
      meanDifference: 0.5,
      sdDifference: null,
      meanBounds: null,
      t: null,
      limits: null,
    });
    expect(one).toMatchObject({ deming: noDeming, concordance: noConcordance, proportionalBias: { slope: null } });
  });

  test('two pairs have lines without errors, three have errors', () => {
    const two = agreement([1.1, 2.3], [1, 2]);
    expect(two.deming).toMatchObject({ slopeSe: null, slopeBounds: null });
    expect(two.deming.slope).toBeCloseTo(1.2, 12);
    expect(two.proportionalBias).toMatchObject({ se: null, t: null, p: null });
    expect(two.concordance).toMatchObject({ fisherZSe: null, bounds: null });
    const three = agreement([1.1, 2.3, 2.9], [1, 2, 3]);
    expect(three.deming.slopeSe).toBeGreaterThan(0);
    expect(three.concordance.fisherZSe).toBeGreaterThan(0);
    expect(three.proportionalBias.p).toBeGreaterThan(0);
  });

  test.each([
    { what: 'no pair', code: 'empty', key: 'lab', run: () => agreement([], []) },
    { what: 'a missing reading', code: 'unequal-sizes', key: 'line', run: () => agreement([1, 2], [1, 2, 3]) },
    { what: 'NaN', code: 'not-finite', key: 'line[1]', run: () => agreement([1, Number.NaN], [1, 2]) },
    { what: 'an infinite reading', code: 'not-finite', key: 'lab[0]', run: () => agreement([1, 2], [-Infinity, 2]) },
    { what: 'sizes beyond squares', code: 'out-of-range', key: 'lab[1]', run: () => agreement([1, 2], [1, 1e200]) },
  ])('refuses $what', ({ code, key, run }) => {
    expect(refusal(run)).toEqual({ code, key });
  });
});

describe('the answer in plain words', () => {
  const sentence = (line: number[], lab: number[], unit = 'kPa'): string => {
    const answered = answer(agreementTopic, { line, lab, unit });
    if ('problem' in answered) throw new Error(answered.problem.detail);
    return (answered.result as { sentence: string }).sentence;
  };

  test.each([
    {
      what: 'no bias',
      line: [50.02, 80.11, 109.93, 140.07],
      lab: [50, 80.05, 109.98, 140.01],
      words:
        'Line reads 0.023 kPa higher than lab on average (95 % −0.060 to 0.105): no bias is shown at n = 4; 95 of 100 differences lie within −0.079 to 0.124 kPa.',
    },
    { what: 'identical pairs', line: [1, 2], lab: [1, 2], words: 'Line and lab read the same in each of 2 pairs.' },
    {
      what: 'a constant shift',
      line: [1, 2],
      lab: [1.5, 2.5],
      words: 'Line reads 0.5 kPa lower than lab in each of 2 pairs.',
    },
    {
      what: 'one pair',
      line: [1],
      lab: [1.5],
      words: 'Line reads 0.5 kPa lower than lab in the only pair; one pair shows no spread.',
    },
  ])('$what', ({ line, lab, words }) => {
    expect(sentence(line, lab)).toBe(words);
  });

  test('a bias and a trend are said; without a unit none is', () => {
    expect(sentence([2, 4, 6, 8], [1, 2, 3, 4], '')).toBe(
      'Line reads 2.5 higher than lab on average (95 % 0.4 to 4.6): a bias is shown at n = 4; 95 of 100 differences lie within 0.0 to 5.0. ' +
        'The difference goes with the reading: it rises by 66.67 for each 100 more.',
    );
  });

  test('a mean that rounds to nothing is no direction', () => {
    expect(sentence([1.0001, 2, 3], [0, 3, 3])).toMatch(/^Line and lab read the same on average \(95 % /);
  });
});
