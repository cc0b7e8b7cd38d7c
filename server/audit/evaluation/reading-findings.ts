import { tCdf } from '../../quality/distributions/student-t.ts';
import { bias } from '../../quality/gauge/bias.ts';
import { leastSquares } from '../../quality/line-fit.ts';
import { mean } from '../../quality/moments.ts';
import type { Finding } from './contract.ts';
import { bySerial } from './drift.ts';
import { differenceOf } from './line-against-lab.ts';
import type { Pair } from './line-against-lab.ts';

/** Chance of a finding where line and lab, or all nests, read alike. */
const ALPHA = 0.05;

/** Least offset of a nest that is worth a word, kPa: about what a pressure reference is good to. Engineering assumption. */
const NEST_WORTH_KPA = 0.05;

/** Share of what is allowed below which line and lab are called one. Engineering assumption. */
const LINE_WORTH = 0.05;

/**
 * Nests that read off the others. The line read the same parts, so what lab - line differs by from nest to nest is the
 * nests' own: the mean of each part's points, each nest's parts against all others', shared out over the nests (Bonferroni),
 * and worth a word. A nest of one part is judged by the spread of the others' (`pooledTest`).
 */
export function nestFindings(pairs: readonly Pair[]): Finding[] {
  const parts = bySerial(pairs).flatMap((own) =>
    own.slice(0, 1).map(({ nest }) => ({ nest, kPa: -mean(own.map(differenceOf)) })),
  );
  const nests = [...new Set(parts.map(({ nest }) => nest))].sort((a, b) => a - b);
  return nests.flatMap((nest): Finding[] => {
    const kPaOf = (isOwn: boolean): number[] =>
      parts.filter((part) => (part.nest === nest) === isOwn).map(({ kPa }) => kPa);
    const tested = pooledTest(kPaOf(true), kPaOf(false));
    if (tested === null || tested.p * nests.length >= ALPHA || Math.abs(tested.off) < NEST_WORTH_KPA) return [];
    return [{ code: tested.off < 0 ? 'nest-low' : 'nest-high', facts: { nest, kPa: tested.off } }];
  });
}

/**
 * Student's t test of two samples with their pooled spread (NIST/SEMATECH e-Handbook of Statistical Methods 1.3.5.3), as the
 * test of the slope over an indicator, which is the same: mean of `own` - mean of `others`, two-sided p with n - 2 degrees of
 * freedom. For a single own value it is that of one more observation (prediction). No spread leaves no doubt: p is 0. Null
 * for an empty sample, and below three values.
 *
 * @throws QualityError `not-finite`
 */
export function pooledTest(
  own: readonly number[],
  others: readonly number[],
): { readonly off: number; readonly p: number } | null {
  if (own.length === 0 || others.length === 0) return null;
  const isOwn = [...own.map(() => 1), ...others.map(() => 0)];
  const { slope, slopeSe, df } = leastSquares(isOwn, [...own, ...others]);
  if (slope === null || slopeSe === null) return null;
  return { off: slope, p: slopeSe === 0 ? 0 : 2 * tCdf(Math.abs(slope) / slopeSe, df, 'upper') };
}

/** Whether the line reads otherwise than the lab: the mean over parts of each part's mean line - lab, by Student's t. */
export function lineFinding(pairs: readonly Pair[]): Finding[] {
  const parts = bySerial(pairs).map((own) => mean(own.map(differenceOf)));
  if (parts.length < 2) return [];
  const off = bias(parts, 0);
  const worth = LINE_WORTH * mean(pairs.map(({ allowedKpa }) => allowedKpa));
  if (Math.abs(off.bias) < worth || (off.p ?? 0) >= ALPHA) return [];
  return [{ code: 'line-off', facts: { kPa: off.bias } }];
}
