import { describe, expect, test } from 'vitest';
import { gridErrors } from '../../../support/distribution-grid.ts';

/**
 * Largest relative error allowed against tests/reference/quality/distribution-grid.json (mpmath, 50 digits). Far tails of
 * 1e-300 multiply a rounding in their exponent by nearly 700, which is where the largest errors are. A quantile of
 * a t or F so far out is a power of its probability, and carries the same errors.
 */
const ALLOWED: Readonly<Record<string, number>> = {
  'normal cdf': 1e-15,
  'normal upper tail': 1e-15,
  'normal quantile': 1e-15,
  't cdf': 5e-13,
  't upper tail': 5e-13,
  't quantile': 5e-13,
  'chi-square cdf': 5e-13,
  'chi-square upper tail': 5e-13,
  'chi-square quantile': 1e-13,
  'F cdf': 5e-13,
  'F upper tail': 5e-13,
  'F quantile': 5e-13,
  'noncentral t cdf': 5e-13,
  'noncentral t upper tail': 5e-13,
  'noncentral t quantile': 5e-13,
  'noncentral t noncentrality': 1e-13,
  'binomial cdf': 5e-13,
  'binomial upper tail': 5e-13,
  'Poisson cdf': 5e-13,
  'Poisson upper tail': 5e-13,
  'hypergeometric cdf': 5e-13,
  'hypergeometric upper tail': 5e-13,
};

describe('distributions agree with values of 50 digits (mpmath 1.3.0) all over the grid', () => {
  const errors = gridErrors();

  test('every function is compared', () => {
    expect(errors.map((each) => each.function).sort()).toEqual(Object.keys(ALLOWED).sort());
  });

  test.each(errors)('$function at $points points, worst at $where', ({ function: name, error }) => {
    expect(error).toBeLessThan(ALLOWED[name]!);
  });
});
