import { describe, expect, test } from 'vitest';
import { chiSquareCdf } from '../../../../server/quality/distributions/chi-square.ts';
import { hypergeometricCdf } from '../../../../server/quality/distributions/hypergeometric.ts';
import { noncentralTCdf } from '../../../../server/quality/distributions/noncentral-t.ts';
import { tQuantile } from '../../../../server/quality/distributions/student-t.ts';
import { variablesDecision } from '../../../../server/quality/sampling/variables-plan.ts';

describe('far from where anybody works, an answer is right or refused, never NaN', () => {
  test('noncentral t over a wide grid: both tails are probabilities that add up', () => {
    for (const df of [0.5, 1, 10, 1e4, 1e8])
      for (const ncp of [-1e6, -1000, -3, 0, 40, 1e5, 1e12, 1e50])
        for (const x of [-1e200, -1e6, -10, -0.1, 1e-30, 0.1, 10, 1e5, 1e12, 1e300]) {
          const [lower, upper] = [noncentralTCdf(x, df, ncp), noncentralTCdf(x, df, ncp, 'upper')];
          expect(lower >= 0 && upper >= 0, `${x} ${df} ${ncp}: ${lower} ${upper}`).toBe(true);
          expect(lower + upper).toBeCloseTo(1, 12);
        }
  });

  test.each([
    // 20-digit products of (lot - bad - i)/(lot - i), computed with mpmath.
    { lot: 100_000_000, bad: 10_000_000, sample: 10, expected: 0.34867840522628 },
  ])('no bad part among $sample of a lot of $lot: the product of its ratios', ({ lot, bad, sample, expected }) => {
    const p = hypergeometricCdf(0, { lot, bad, sample });
    let product = 1;
    for (let i = 0; i < sample; i += 1) product *= (lot - bad - i) / (lot - i);
    expect(Math.abs(p / product - 1)).toBeLessThan(1e-13);
    expect(p).toBeCloseTo(expected, 7);
  });

  test.each([
    { what: 'too few degrees of freedom', run: () => chiSquareCdf(1, 1e-9), key: 'df' },
    { what: 'too many', run: () => chiSquareCdf(1, 1e11), key: 'df' },
    { what: 'a quantile beyond the numbers', run: () => tQuantile(1e-300, 0.01), key: 'p' },
    { what: 'a noncentrality beyond the numbers', run: () => noncentralTCdf(1, 5, 1e200), key: 'ncp' },
  ])('$what: refused', ({ run, key }) => {
    expect(run).toThrow(expect.objectContaining({ code: 'out-of-range', key }) as Error);
  });

  test('a margin that is met exactly in decimals is met: 10.6 is 2 sd above 9.7, 10, 10.3', () => {
    expect(variablesDecision([9.7, 10, 10.3], null, 10.6, 2).accept).toBe(true);
    expect(variablesDecision([9.7, 10, 10.3], null, 10.599, 2).accept).toBe(false);
  });
});
