import { mean, sampleStandardDeviation, tTestTwoSample } from 'simple-statistics';
import { describe, expect, test } from 'vitest';
import { compareMeans, compareSpreads, smallestShown } from '../../../../server/quality/comparison/two-samples.ts';
import type { Sampled } from '../../../../server/quality/comparison/two-samples.ts';
import { stream } from '../../../../station/random.ts';
import { refusal } from '../../../support/quality-refusal.ts';

const sampled = (values: readonly number[]): Sampled => ({
  n: values.length,
  mean: mean([...values]),
  sd: values.length < 2 ? null : sampleStandardDeviation([...values]),
});

// Extra hours of sleep by two drugs: Student, Biometrika 6 (1908) 1-25. Values of R 4.2.2, t.test and var.test of its data set
// `sleep` (from memory).
const SLEEP = [
  [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0, 2],
  [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4],
] as const;
// Miles per gallon of cars of two origins, AUTO83B.DAT: NIST/SEMATECH e-Handbook 1.3.5.3 (from memory).
const CARS = [
  { n: 249, mean: 20.14458, sd: 6.4147 },
  { n: 79, mean: 30.48101, sd: 6.10771 },
] as const;
// Strength of ceramics of two batches, JAHANMI2.DAT: NIST/SEMATECH e-Handbook 1.3.5.9 (from memory).
const CERAMICS = [
  { n: 240, mean: 688.9987, sd: 65.54909 },
  { n: 240, mean: 611.1559, sd: 61.85425 },
] as const;

describe('two means', () => {
  test('hours of sleep (Student 1908): t -1.8608 with 17.776 degrees of freedom, p 0.07939, -3.365 to 0.205', () => {
    const found = compareMeans(sampled(SLEEP[0]), sampled(SLEEP[1]))!;
    expect(found.t).toBeCloseTo(-1.8608, 4);
    expect(found.df).toBeCloseTo(17.776, 3);
    expect(found.p).toBeCloseTo(0.07939, 5);
    expect(found.bounds.lower).toBeCloseTo(-3.3654832, 6);
    expect(found.bounds.upper).toBeCloseTo(0.2054832, 6);
  });

  test('miles per gallon (NIST/SEMATECH e-Handbook 1.3.5.3): t -12.946 with 136.87 degrees of freedom', () => {
    const found = compareMeans(...CARS)!;
    expect(found.t).toBeCloseTo(-12.94627, 4);
    expect(found.df).toBeCloseTo(136.875, 2);
    expect(found.p).toBeLessThan(1e-20);
  });

  test('as many of each: the t of a general library, whose spreads are pooled', () => {
    const [one, two] = SLEEP;
    expect(compareMeans(sampled(one), sampled(two))?.t).toBeCloseTo(tTestTwoSample([...one], [...two]) ?? 0, 12);
  });

  test('two of each with the same spread: 2 degrees of freedom, where P(T > t) = 1/2 - t/(2 sqrt(2 + t^2)) (closed form)', () => {
    const found = compareMeans({ n: 2, mean: 3, sd: 1 }, { n: 2, mean: 0.5, sd: 1 })!;
    expect(found.df).toBeCloseTo(2, 12);
    expect(found.t).toBeCloseTo(2.5, 12);
    expect(found.p).toBeCloseTo(1 - 2.5 / Math.sqrt(2 + 2.5 ** 2), 12);
  });

  test('the other way round: the same with the other sign', () => {
    const [there, back] = [compareMeans(...CARS)!, compareMeans(CARS[1], CARS[0])!];
    expect(back.difference).toBe(-there.difference);
    expect(back.p).toBe(there.p);
    expect(back.bounds.lower).toBeCloseTo(-there.bounds.upper, 12);
  });

  test('one without spread leaves the doubt to the other; spreads of any size keep their degrees of freedom', () => {
    expect(compareMeans({ n: 5, mean: 1, sd: 0 }, { n: 8, mean: 0, sd: 1 })?.df).toBeCloseTo(7, 12);
    expect(compareMeans({ n: 5, mean: 1, sd: 1e-90 }, { n: 5, mean: 0, sd: 1e-90 })?.df).toBeCloseTo(8, 12);
  });
});

describe('two spreads', () => {
  test('strength of ceramics (NIST/SEMATECH e-Handbook 1.3.5.9): F 1.123037, within 0.7756 and 1.2894', () => {
    const found = compareSpreads(...CERAMICS)!;
    expect(found.f).toBeCloseTo(1.123037, 5);
    expect((found.ratio / found.bounds.upper) ** 2).toBeCloseTo(0.7756, 4);
    expect((found.ratio / found.bounds.lower) ** 2).toBeCloseTo(1.2894, 4);
    expect(found.p).toBeGreaterThan(0.05);
  });

  test('hours of sleep (R, var.test): F 0.79834, p 0.7427, 0.198297 to 3.214123', () => {
    const found = compareSpreads(sampled(SLEEP[0]), sampled(SLEEP[1]))!;
    expect(found.f).toBeCloseTo(0.79834, 5);
    expect(found.p).toBeCloseTo(0.7427, 4);
    expect(found.bounds.lower ** 2).toBeCloseTo(0.198297, 6);
    expect(found.bounds.upper ** 2).toBeCloseTo(3.214123, 6);
  });

  test('three of each: 2 and 2 degrees of freedom, where P(F > f) = 1/(1 + f) (closed form)', () => {
    const found = compareSpreads({ n: 3, mean: 0, sd: 3 }, { n: 3, mean: 0, sd: 1 })!;
    expect(found.p).toBeCloseTo(2 / 10, 12);
    // The quantile is (1 - p)/p.
    expect(found.bounds.lower).toBeCloseTo(3 / Math.sqrt(39), 10);
    expect(found.bounds.upper).toBeCloseTo(3 * Math.sqrt(39), 10);
  });
});

describe('what can be shown', () => {
  test('a difference of 0.75 with s 2.25 takes 190.0991 of each for 90 % (University of Virginia Library, "PASS in R", t tests)', () => {
    // Sizes are whole: 190 show a little less, 191 a little more.
    const [at190, at191] = [190, 191].map((n) => smallestShown(of(n, 2.25), of(n, 2.25))!);
    expect(at190).toBeGreaterThan(0.75);
    expect(at191).toBeLessThan(0.75);
    expect(at190! + (at191! - at190!) * 0.0991).toBeCloseTo(0.75, 5);
  });

  test('20 of each show a difference of 1 with s 1 with probability 0.8689528 (R 4.2.2, example of power.t.test; from memory)', () => {
    expect(smallestShown(of(20, 1), of(20, 1), 0.05, 0.8689528)).toBeCloseTo(1, 5);
  });

  test('a shift of that size is found nine times in ten, in simulated samples with other spreads and sizes', () => {
    const [first, second] = [of(13, 0.3), of(9, 0.5)];
    const alpha = 0.05 / 30;
    const shift = smallestShown(first, second, alpha)!;
    const random = stream(20261126, 'two-samples', 0);
    const draw = ({ n, sd }: Sampled, centre: number): Sampled =>
      sampled(Array.from({ length: n }, () => centre + (sd ?? 0) * random.normal()));
    const rounds = 4000;
    let found = 0;
    for (let round = 0; round < rounds; round += 1)
      if ((compareMeans(draw(first, shift), draw(second, 0))?.p ?? 1) < alpha) found += 1;
    // Four standard errors, and one hundredth for degrees of freedom that change from sample to sample.
    expect(Math.abs(found / rounds - 0.9)).toBeLessThan(4 * Math.sqrt((0.9 * 0.1) / rounds) + 0.01);
  });

  test('two of each, and sizes that are far apart, have an answer too', () => {
    expect(smallestShown(of(2, 1), of(2, 1), 0.001)).toBeGreaterThan(10);
    expect(smallestShown(of(2, 1), of(100_000, 1), 0.05, 0.999)).toBeGreaterThan(1);
  });
});

const of = (n: number, sd: number): Sampled => ({ n, mean: 0, sd });

test('undefined is null: one value, no spread', () => {
  const [one, still, some] = [{ n: 1, mean: 3, sd: null }, of(4, 0), of(4, 1)];
  for (const [first, second] of [
    [one, some],
    [some, one],
    [still, still],
  ] as const) {
    expect(compareMeans(first, second)).toBeNull();
    expect(compareSpreads(first, second)).toBeNull();
    expect(smallestShown(first, second)).toBeNull();
  }
  expect(compareSpreads(still, some)).toBeNull();
  expect(compareSpreads(some, still)).toBeNull();
});

test.each([
  ['no parts', () => compareMeans(of(0, 1), of(3, 1)), 'out-of-range', 'first.n'],
  ['half a part', () => compareSpreads(of(3, 1), of(2.5, 1)), 'not-whole', 'second.n'],
  ['a mean that is none', () => compareMeans({ n: 3, mean: Number.NaN, sd: 1 }, of(3, 1)), 'not-finite', 'first.mean'],
  ['a spread below zero', () => compareSpreads(of(3, 1), of(3, -1)), 'out-of-range', 'second.sd'],
  ['a confidence of 1', () => compareMeans(of(3, 1), of(3, 1), 1), 'out-of-range', 'confidence'],
  ['a power below one half', () => smallestShown(of(3, 1), of(3, 1), 0.05, 0.4), 'out-of-range', 'power'],
] as const)('%s is refused', (_what, run, code, key) => {
  expect(refusal(run)).toEqual({ code, key });
});
