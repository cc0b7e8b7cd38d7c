import { bias } from '../../quality/gauge/bias.ts';
import { leastSquares } from '../../quality/line-fit.ts';
import { mean } from '../../quality/moments.ts';
import type { EvaluationInput, Finding } from './contract.ts';
import { bySerial } from './drift.ts';
import type { Change } from './drift.ts';

/**
 * Shares of what is allowed to a part below which a change is not worth a word: between conditions, and from ambient to
 * ambient, where nothing should move. Engineering assumptions.
 */
const WORTH_BETWEEN = 0.15;
const WORTH_BACK = 0.05;

/** One part in so many may go against the others, and they are still called alike. Engineering assumption. */
const ONE_AGAINST = 10;

/** Chance of a finding where nothing changed, for all points of a stage together. */
const ALPHA = 0.05;

/** What a stage does to all parts alike. */
export interface Moves {
  readonly span: Finding | null;
  readonly offset: Finding | null;
}

/**
 * Span and offset of one stage against the first ambient stage. Span: the least-squares slope of each part's change over the
 * pressure of its points, times the range of the points. Offset: the mean of each part's changes. A span takes that along:
 * beside one the offset is what the same line leaves where no pressure is, as a transfer function has it, and is told when
 * the points together move that way too.
 */
export function movesOf(changes: readonly Change[]): Moves {
  if (changes.length === 0) return { span: null, offset: null };
  const worth = WORTH_BETWEEN * mean(changes.map(({ allowedKpa }) => allowedKpa));
  const parts = bySerial(changes);
  const range = rangeOf(changes);
  const span = alike(
    parts.flatMap((own) => {
      const slope = lineOf(own)?.slope ?? null;
      return slope === null ? [] : [slope * range];
    }),
    worth,
  );
  const together = alike(
    parts.map((own) => mean(own.map(({ changeKpa }) => changeKpa))),
    worth,
  );
  const left = alike(
    parts.flatMap((own) => lineOf(own)?.intercept ?? []),
    worth,
  );
  const isLeft = left !== null && together !== null && Math.sign(left.kPa) === Math.sign(together.kPa);
  const offset = span === null ? together : isLeft ? left : null;
  const stage = changes[0]?.stage ?? 0;
  return {
    span: span === null ? null : { code: span.kPa < 0 ? 'span-falls' : 'span-rises', facts: { stage, ...span } },
    offset:
      offset === null ? null : { code: offset.kPa < 0 ? 'offset-falls' : 'offset-rises', facts: { stage, ...offset } },
  };
}

/** The changes of a part over pressure, kPa over kPa; null for a part that has not two points. */
function lineOf(own: readonly Change[]): ReturnType<typeof leastSquares> | null {
  if (own.length < 2) return null;
  return leastSquares(
    own.map(({ pointKpaAbs }) => pointKpaAbs),
    own.map(({ changeKpa }) => changeKpa),
  );
}

function rangeOf(changes: readonly Change[]): number {
  const pressures = changes.map(({ pointKpaAbs }) => pointKpaAbs);
  const low = pressures.reduce((least, each) => Math.min(least, each), Infinity);
  return pressures.reduce((most, each) => Math.max(most, each), low) - low;
}

/** The mean of two parts or more, when it is worth a word and nearly all have its sign: how many, of how many. */
function alike(
  values: readonly number[],
  worth: number,
): { readonly kPa: number; readonly parts: number; readonly of: number } | null {
  if (values.length < 2) return null;
  const kPa = mean(values);
  const parts = values.filter((value) => Math.sign(value) === Math.sign(kPa)).length;
  const against = values.length - parts;
  return Math.abs(kPa) >= worth && against * ONE_AGAINST <= values.length ? { kPa, parts, of: values.length } : null;
}

/**
 * Back at ambient, point by point: the mean of the same parts' changes against nothing (paired t; NIST/SEMATECH e-Handbook of
 * Statistical Methods 7.2.2, see `bias`), shared out over the points (Bonferroni), and worth a word. Changes that are all the
 * same have no doubt left in them.
 */
export function ambientFindings({ stages, points }: EvaluationInput, changes: readonly Change[]): Finding[] {
  const back = stages.filter(({ condition }) => condition === 'ambient');
  // Changes are of the line's points only: no doubt is shared out over those that nobody tests.
  const tested = points.filter(({ again }) => again === null);
  return back.flatMap(({ stage }) =>
    tested.flatMap(({ step }): Finding[] => {
      const here = changes.filter((change) => change.stage === stage && change.step === step);
      if (here.length < 2) return [];
      const worth = WORTH_BACK * mean(here.map(({ allowedKpa }) => allowedKpa));
      const moved = bias(
        here.map(({ changeKpa }) => changeKpa),
        0,
      );
      if (Math.abs(moved.bias) < worth || (moved.p ?? 0) * tested.length >= ALPHA) return [];
      return [{ code: 'ambient-changed', facts: { stage, step, kPa: moved.bias } }];
    }),
  );
}
