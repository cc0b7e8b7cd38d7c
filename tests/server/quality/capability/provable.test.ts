import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { answer } from '../../../../server/cli/calc/answer.ts';
import { provableTopic } from '../../../../server/cli/calc/provable.ts';
import {
  LARGEST_SAMPLE,
  largestProvable,
  observedNeeded,
  sizeNeeded,
} from '../../../../server/quality/capability/provable.ts';
import { provableSentence } from '../../../../server/quality/capability/provable-sentence.ts';

describe('what has to be observed', () => {
  test('13 values and 1.33: 2.03 by the normal approximation of Bissell (1990); 2.05 by the exact bound, rounded up', () => {
    const { exact, approximate } = observedNeeded(13, 1.33);
    expect(approximate).toBeCloseTo(2.0275, 4);
    // Quantile of the noncentral t computed outside the project (SciPy 1.17.1).
    expect(exact).toBeCloseTo(2.0427192433537935, 10);
  });

  // A one-sided tolerance factor is three times the index that just shows the normal quantile over 3.
  test.each([
    ['Odeh & Owen tables, ISO 16269-6 (from memory)', 10, 1.6448536269514722, 0.95, 2.911],
    ['Odeh & Owen tables, ISO 16269-6 (from memory)', 10, 2.3263478740408408, 0.95, 3.981],
    ['Odeh & Owen tables, ISO 16269-6 (from memory)', 20, 1.6448536269514722, 0.9, 2.208],
    ['NIST/SEMATECH e-Handbook 7.2.6.3 (from memory)', 43, 1.2815515655446004, 0.99, 1.874],
  ])('%s: n %d, quantile %d at %d needs the tolerance factor %d', (_source, n, quantile, confidence, factor) => {
    expect(3 * (observedNeeded(n, quantile / 3, confidence).exact ?? 0)).toBeCloseTo(factor, 3);
  });

  test('what is needed is exactly what proves: its bound is the wanted index', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 4, max: 400 }),
        fc.double({ min: 0.1, max: 5, noNaN: true }),
        fc.double({ min: 0.6, max: 0.95, noNaN: true }),
        (n, wanted, confidence) => {
          const needed = observedNeeded(n, wanted, confidence);
          expect(largestProvable(n, needed.exact ?? 0, confidence).exact).toBeCloseTo(wanted, 8);
          expect(largestProvable(n, needed.approximate ?? 0, confidence).approximate).toBeCloseTo(wanted, 10);
        },
      ),
      { numRuns: 30 },
    );
  });

  test('fewer values need a higher index', () => {
    const exact = [2, 5, 10, 13, 30, 100, 1000].map((n) => observedNeeded(n, 1.33).exact ?? 0);
    expect(exact).toEqual([...exact].sort((a, b) => b - a));
  });

  test.each([6, 7, 13, 30, 125, 1000])(
    'of %d values the approximation asks for a little less than the exact bound',
    (n) => {
      const { exact, approximate } = observedNeeded(n, 1.33);
      expect(approximate).toBeLessThan(exact ?? 0);
      expect((exact ?? 0) - (approximate ?? 0)).toBeLessThan(0.022);
    },
  );

  test('for 2 values the approximation has no answer, the exact bound has', () => {
    expect(observedNeeded(2, 1.33).approximate).toBeNull();
    expect(observedNeeded(2, 1.33).exact).toBeGreaterThan(20);
    expect(observedNeeded(3, 1.33).approximate).toBeGreaterThan(3);
  });
});

describe('how many values it takes', () => {
  test.each([
    [1.67, 1.33, 0.95],
    [2.03, 1.33, 0.95],
    [1.5, 1.33, 0.9],
    [30, 1.33, 0.95],
  ])('at the answer an observed %d shows %d at %d, one value less does not', (observed, wanted, confidence) => {
    const { exact, approximate } = sizeNeeded(observed, wanted, confidence);
    for (const [method, n] of [
      ['exact', exact],
      ['approximate', approximate],
    ] as const) {
      expect(observedNeeded(n ?? 0, wanted, confidence)[method]).toBeLessThanOrEqual(observed);
      if (n !== 2) {
        const before = observedNeeded((n ?? 0) - 1, wanted, confidence)[method];
        expect(before ?? Number.POSITIVE_INFINITY).toBeGreaterThan(observed);
      }
    }
  });

  test('an observed index that is not above the wanted one proves it with no number of values', () => {
    expect(sizeNeeded(1.33, 1.33)).toEqual({ exact: null, approximate: null });
    expect(sizeNeeded(-1, 1.33)).toEqual({ exact: null, approximate: null });
  });

  test('one that is barely above would need more than are searched', () => {
    expect(sizeNeeded(1.3301, 1.33)).toEqual({ exact: null, approximate: null });
    expect(observedNeeded(LARGEST_SAMPLE, 1.33).approximate).toBeGreaterThan(1.3301);
  });
});

describe('in words', () => {
  const ask = (question: { n?: number; observed?: number; wanted?: number; confidence?: number }) =>
    provableSentence({ wanted: 1.33, n: null, observed: null, confidence: 0.95, ...question });

  test.each([
    [
      { n: 13 },
      'At n = 13 an observed Ppk of 2.05 (exact; 2.03 by the normal approximation) is needed to show 1.33 with 95 % confidence.',
    ],
    [{ n: 2 }, 'At n = 2 an observed Ppk of 21.21 (exact) is needed to show 1.33 with 95 % confidence.'],
    [
      { n: 30, observed: 1.67 },
      'At n = 30 an observed Ppk of 1.72 (exact, and by the normal approximation) is needed to show 1.33 with 95 % confidence. ' +
        'The observed 1.67 shows 1.29 (exact, and by the normal approximation). ' +
        'An observed Ppk of 1.67 shows 1.33 from n = 38 (exact; 37 by the normal approximation) on.',
    ],
    [
      { observed: 1.33, confidence: 0.9 },
      'No number of values shows 1.33 with 90 % confidence by an observed Ppk of 1.33.',
    ],
    [
      { observed: 1.3301 },
      'More than 1000000 values with an observed Ppk of 1.3301 are needed to show 1.33 with 95 % confidence.',
    ],
  ])('%o', (question, sentence) => {
    expect(ask(question)).toBe(sentence);
  });

  test('needed is rounded up, shown is rounded down', () => {
    const needed = observedNeeded(50, 1.33);
    const shown = largestProvable(50, 1.5);
    const text = ask({ n: 50, observed: 1.5 });
    const numbers = [...text.matchAll(/\d+\.\d\d(?!\d)/g)].map(([each]) => Number(each));
    expect(numbers.some((each) => each >= (needed.exact ?? 0) && each < (needed.exact ?? 0) + 0.01)).toBe(true);
    expect(numbers.some((each) => each <= (shown.exact ?? 0) && each > (shown.exact ?? 0) - 0.01)).toBe(true);
  });
});

describe('refused', () => {
  test.each([
    ['one value', () => observedNeeded(1, 1.33), 'out-of-range', 'n'],
    ['part of a value', () => observedNeeded(2.5, 1.33), 'not-whole', 'n'],
    ['an index of 0', () => observedNeeded(10, 0), 'out-of-range', 'wanted'],
    ['an index that is no number', () => observedNeeded(10, Number.NaN), 'not-finite', 'wanted'],
    ['confidence 1', () => observedNeeded(10, 1.33, 1), 'out-of-range', 'confidence'],
    ['confidence 0.5', () => observedNeeded(10, 1.33, 0.5), 'out-of-range', 'confidence'],
    ['an infinite observation', () => largestProvable(10, Number.POSITIVE_INFINITY), 'not-finite', 'observed'],
    ['NaN observed', () => sizeNeeded(Number.NaN, 1.33), 'not-finite', 'observed'],
    ['a wanted index below 0', () => sizeNeeded(1.5, -1), 'out-of-range', 'wanted'],
  ])('%s', (_what, compute, code, key) => {
    expect(compute).toThrow(expect.objectContaining({ code, key }) as Error);
  });
});

describe('asked as a topic', () => {
  test('its example gives the sentence and both figures', () => {
    expect(answer(provableTopic, provableTopic.calculations[0]?.example)).toMatchObject({
      result: { shows: null, shown: null, n_needed: null, sentence: expect.stringContaining('2.03') as string },
    });
  });

  test('with an observed index it says whether it is enough', () => {
    expect(answer(provableTopic, { index: 1.33, n: 13, observed: 2.035 })).toMatchObject({
      result: { shown: { exact: false, normal_approx: true } },
    });
    expect(answer(provableTopic, { index: 1.33, n: 13, observed: 2.05 })).toMatchObject({
      result: { shown: { exact: true, normal_approx: true } },
    });
  });

  test.each([
    ['neither size nor observation', { index: 1.33 }, 'empty', 'n'],
    ['no index', { n: 13 }, 'invalid', 'index'],
    ['one value', { index: 1.33, n: 1 }, 'invalid', 'n'],
    ['a confidence of 50 %', { index: 1.33, n: 10, confidence: 0.5 }, 'invalid', 'confidence'],
  ])('%s is refused', (_what, input, code, key) => {
    expect(answer(provableTopic, input)).toMatchObject({ problem: { code, key } });
  });
});
