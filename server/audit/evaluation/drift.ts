import { bias } from '../../quality/gauge/bias.ts';
import { mean } from '../../quality/moments.ts';
import type { Drift, EvaluationInput } from './contract.ts';

/** One part's error at one point in a stage less its error there in the first ambient stage. */
export interface Change {
  readonly serial: string;
  readonly stage: number;
  readonly step: string;
  readonly pointKpaAbs: number;
  readonly changeKpa: number;
  /** What is allowed to both sides in the later stage, and that less what was allowed in the ambient one. */
  readonly allowedKpa: number;
  readonly addedKpa: number;
}

/** The first ambient stage; null when the audit has none, or has not read anything in it. */
export function ambientStage({ stages, readings }: EvaluationInput): number | null {
  const ambient = stages.find(({ condition }) => condition === 'ambient');
  if (ambient === undefined || !readings.some(({ stage }) => stage === ambient.stage)) return null;
  return ambient.stage;
}

/**
 * How each part's errors changed from the first ambient stage to every other, at the line's points, in the order of readings.
 * Points that only audits take stay out: a pressure that is read twice would weigh twice.
 */
export function changesOf(input: EvaluationInput): Change[] {
  const ambient = ambientStage(input);
  if (ambient === null) return [];
  const before = new Map(
    input.readings.filter(({ stage }) => stage === ambient).map((reading) => [placeKey(reading), reading]),
  );
  const own = new Set(input.points.filter(({ again }) => again === null).map(({ step }) => step));
  return input.readings.flatMap((reading) => {
    const { serial, stage, step, pointKpaAbs, allowedKpa, errorKpa } = reading;
    const then = before.get(placeKey(reading));
    if (stage === ambient || then === undefined || !own.has(step)) return [];
    const [changeKpa, addedKpa] = [errorKpa - then.errorKpa, allowedKpa - then.allowedKpa];
    return [{ serial, stage, step, pointKpaAbs, changeKpa, allowedKpa, addedKpa }];
  });
}

/** One part at one point; a step's id holds no blank. */
export const placeKey = ({ serial, step }: { readonly serial: string; readonly step: string }): string =>
  `${step} ${serial}`;

/**
 * Mean and spread of the changes, in the order of stages, then of points. Bounds of the mean by Student's t of the changes,
 * each part against itself (see `bias`).
 */
export function driftsOf(input: EvaluationInput, changes: readonly Change[]): Drift[] {
  return input.stages.flatMap(({ stage }) =>
    input.points.flatMap(({ step }) => {
      const here = changes.filter((change) => change.stage === stage && change.step === step);
      const [first, ...others] = here;
      if (first === undefined) return [];
      const found = bias(
        here.map(({ changeKpa }) => changeKpa),
        0,
      );
      const { bounds } = found;
      const most = others.reduce((far, each) => (size(each) > size(far) ? each : far), first);
      return [
        {
          ...{ stage, step, n: found.n, meanKpa: found.bias, sdKpa: found.sd },
          bounds: bounds === null ? null : { lowKpa: bounds.lower, highKpa: bounds.upper },
          largest: { serial: most.serial, kPa: most.changeKpa },
          addedKpa: mean(here.map(({ addedKpa }) => addedKpa)),
        },
      ];
    }),
  );
}

const size = ({ changeKpa }: Change): number => Math.abs(changeKpa);

/** Values by part, parts in the order in which they first appear. */
export function bySerial<T extends { readonly serial: string }>(values: readonly T[]): T[][] {
  const parts = new Map<string, T[]>();
  for (const value of values) {
    const own = parts.get(value.serial);
    if (own === undefined) parts.set(value.serial, [value]);
    else own.push(value);
  }
  return [...parts.values()];
}
