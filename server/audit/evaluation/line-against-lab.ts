import { agreement } from '../../quality/comparison/agreement.ts';
import { mean } from '../../quality/moments.ts';
import type { EvaluationInput, LineAgainstLab } from './contract.ts';
import { ambientStage, placeKey } from './drift.ts';

/** What line and lab read of one part at one point, and the nest in which the lab read it. */
export interface Pair {
  readonly serial: string;
  readonly nest: number;
  readonly step: string;
  readonly pointKpaAbs: number;
  readonly lineKpa: number;
  readonly labKpa: number;
  readonly allowedKpa: number;
}

/** The line's readings with the lab's of the first ambient stage, serial by serial and point by point. */
export function pairsOf(input: EvaluationInput): Pair[] {
  const ambient = ambientStage(input);
  const line = new Map(input.line.map((reading) => [placeKey(reading), reading.errorKpa]));
  return input.readings.flatMap((reading) => {
    const { serial, nest, stage, step, pointKpaAbs, allowedKpa, errorKpa } = reading;
    const lineKpa = line.get(placeKey(reading));
    if (stage !== ambient || lineKpa === undefined) return [];
    return [{ serial, nest, step, pointKpaAbs, lineKpa, labKpa: errorKpa, allowedKpa }];
  });
}

/**
 * Bias and limits of agreement of line and lab (Bland & Altman, The Lancet 327 (1986) 307-310; see `agreement`) over all
 * pairs. Points of one part are not independent, so the limits are those of single readings and no bound of them is given.
 * Null without a pair.
 */
export function lineAgainstLabOf({ points }: EvaluationInput, pairs: readonly Pair[]): LineAgainstLab | null {
  if (pairs.length === 0) return null;
  const found = agreement(
    pairs.map(({ lineKpa }) => lineKpa),
    pairs.map(({ labKpa }) => labKpa),
  );
  return {
    parts: new Set(pairs.map(({ serial }) => serial)).size,
    biasKpa: found.meanDifference,
    lowKpa: found.limits?.lower.limit ?? null,
    highKpa: found.limits?.upper.limit ?? null,
    steps: points.flatMap(({ step }) => {
      const here = pairs.filter((pair) => pair.step === step).map(differenceOf);
      return here.length === 0 ? [] : [{ step, n: here.length, biasKpa: mean(here) }];
    }),
    pairs: pairs.map((pair) => {
      const { serial, step, pointKpaAbs } = pair;
      return { serial, step, pointKpaAbs, differenceKpa: differenceOf(pair) };
    }),
  };
}

/** Line - lab, kPa. */
export const differenceOf = ({ lineKpa, labKpa }: Pair): number => lineKpa - labKpa;
