/**
 * The pieces of densities that keep their digits for any size of the parameters: Loader, "Fast and accurate computation of
 * binomial probabilities" (2000). Large logarithms never meet; what remains is a correction and a distance from the mean.
 */

/** Bernoulli numbers B(2k)/(2k (2k - 1)) of Stirling's series, DLMF 5.11.1. */
const STIRLING = [1 / 12, -1 / 360, 1 / 1260, -1 / 1680, 1 / 1188, -691 / 360_360, 1 / 156, -3617 / 122_400];
const SERIES_FROM = 10;

/**
 * What Stirling's formula leaves out: ln Gamma(a) - (a - 1/2) ln a + a - ln(2 pi)/2, for a above 0. DLMF 5.11.1, below 10
 * after shifting upwards by Gamma(a + 1) = a Gamma(a).
 */
export function stirlingError(a: number): number {
  let shifted = a;
  let sum = 0;
  for (; shifted < SERIES_FROM; shifted += 1) sum += (shifted + 0.5) * Math.log1p(1 / shifted) - 1;
  const square = 1 / (shifted * shifted);
  let series = 0;
  for (let k = STIRLING.length - 1; k >= 0; k -= 1) series = series * square + (STIRLING[k] ?? 0);
  return sum + series / shifted;
}

/** y - ln(1 + y), 0 or more, for y above -1; near zero by the series of the inverse hyperbolic tangent, DLMF 4.6.4. */
export function logExcess(y: number): number {
  if (Math.abs(y) > 0.5) return y - Math.log1p(y);
  // With r = y/(2 + y), ln(1 + y) = 2 atanh r and y = 2 r/(1 - r), so that the difference is r y - 2 (r^3/3 + r^5/5 + ...).
  const r = y / (2 + y);
  const square = r * r;
  let sum = 0;
  for (let k = 27; k >= 3; k -= 2) sum = sum * square + 1 / k;
  return r * (y - 2 * square * sum);
}

/**
 * a ln(a/m) + m - a, the deviance of a count a from its mean m, 0 or more; `more` is m - a, given apart because it
 * may be known to more digits than m.
 */
export function deviance(a: number, m: number, more: number): number {
  if (a === 0) return m;
  return Math.abs(more) < 0.5 * a ? a * logExcess(more / a) : more - a * Math.log(m / a);
}

/** m^a e^-m / Gamma(a + 1): the Poisson probability of a for whole a; a and m above 0. */
export function poissonTerm(a: number, m: number): number {
  return Math.exp(-stirlingError(a) - deviance(a, m, m - a)) / Math.sqrt(2 * Math.PI * a);
}

/**
 * x^a (1 - x)^b Gamma(a + b + 1)/(Gamma(a + 1) Gamma(b + 1)): the binomial probability of a out of a + b for whole a and b,
 * all above 0.
 *
 * @param at x and 1 - x, each with its own digits, and (a + b) x - a
 */
export function binomialTerm(a: number, b: number, at: { x: number; rest: number; more: number }): number {
  const n = a + b;
  const { x, rest, more } = at;
  const correction = stirlingError(n) - stirlingError(a) - stirlingError(b);
  const distance = deviance(a, n * x, more) + deviance(b, n * rest, -more);
  return Math.exp(correction - distance) * Math.sqrt(n / (2 * Math.PI * a * b));
}
