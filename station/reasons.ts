/**
 * Why a part is not good. `verdict` is `none` where a part and its contact cannot be told apart: nothing was judged.
 * The order is the order in which reasons explain one another: an earlier one causes later ones, so the first that
 * holds is the reason given. The words stand in the catalogue under the same code.
 */
export const REASONS = {
  'no-contact': { verdict: 'none' },
  'ground-open': { verdict: 'fail' },
  'output-at-ground': { verdict: 'fail' },
  'output-at-supply': { verdict: 'fail' },
  'current-high': { verdict: 'fail' },
  'current-low': { verdict: 'fail' },
  'other-class': { verdict: 'fail' },
  'ambient-implausible': { verdict: 'fail' },
  'gross-leak': { verdict: 'fail' },
  leak: { verdict: 'fail' },
  stuck: { verdict: 'fail' },
  slow: { verdict: 'fail' },
  'reads-high': { verdict: 'fail' },
  'reads-low': { verdict: 'fail' },
  'span-large': { verdict: 'fail' },
  'span-small': { verdict: 'fail' },
  'reads-wrong': { verdict: 'fail' },
  noisy: { verdict: 'fail' },
} as const satisfies Record<string, { verdict: 'fail' | 'none' }>;

export type ReasonCode = keyof typeof REASONS;

const ORDER = Object.keys(REASONS) as ReasonCode[];

/** Sorts reason codes by what explains what. */
export const byExplanation = (a: { code: ReasonCode }, b: { code: ReasonCode }): number =>
  ORDER.indexOf(a.code) - ORDER.indexOf(b.code);
