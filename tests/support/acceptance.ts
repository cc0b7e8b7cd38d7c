import normalCdf from '@stdlib/stats-base-dists-normal-cdf';

/** Probability that a Gaussian estimate of a true value lies at or below a threshold (textbook). */
export const acceptanceProbability = (threshold: number, sigma: number, trueValue: number): number =>
  normalCdf(threshold, trueValue, sigma);
