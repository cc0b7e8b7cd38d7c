import type { AuditReading, Cell, EvaluationInput, Finding } from './contract.ts';
import type { Change } from './drift.ts';
import type { Pair } from './line-against-lab.ts';
import { isOutside } from './outside.ts';
import { lineFinding, nestFindings } from './reading-findings.ts';
import { ambientFindings, movesOf } from './stage-findings.ts';

/** An adjusted p from which values are called normal. */
export const NORMAL_FROM = 0.05;

/** What findings are made from. */
export interface Noticed {
  readonly input: EvaluationInput;
  readonly cells: readonly Cell[];
  readonly changes: readonly Change[];
  readonly pairs: readonly Pair[];
}

/** Everything that was noticed, most urgent first: in the order of the codes in the contract. */
export function findingsOf({ input, cells, changes, pairs }: Noticed): Finding[] {
  const moves = input.stages.map(({ stage }) => movesOf(changes.filter((change) => change.stage === stage)));
  return [
    ...partsOutside(input),
    ...partsFailed(input),
    ...partsWith(input, 'none', 'part-not-judged'),
    ...moves.flatMap(({ span }) => span ?? []),
    ...moves.flatMap(({ offset }) => offset ?? []),
    ...nestFindings(pairs),
    ...ambientFindings(input, changes),
    ...lineFinding(pairs),
    ...cells.flatMap(({ stage, step, normality: { adjusted } }): Finding[] =>
      adjusted !== null && adjusted < NORMAL_FROM ? [{ code: 'not-normal', facts: { stage, step, p: adjusted } }] : [],
    ),
  ];
}

/** Each reading outside, the farthest first, by shares of what is allowed. */
function partsOutside({ readings }: EvaluationInput): Finding[] {
  const share = ({ errorKpa, allowedKpa }: AuditReading): number => Math.abs(errorKpa) / allowedKpa;
  return readings
    .filter(isOutside)
    .sort((a, b) => share(b) - share(a))
    .map(({ serial, stage, step, errorKpa, allowedKpa }) => ({
      code: 'part-outside',
      facts: { serial, stage, step, kPa: errorKpa, allowedKpa },
    }));
}

/** Parts that failed in a stage without a reading outside there, which would stand above. */
function partsFailed(input: EvaluationInput): Finding[] {
  const key = (serial: string, stage: number): string => `${stage} ${serial}`;
  const outside = new Set(input.readings.filter(isOutside).map(({ serial, stage }) => key(serial, stage)));
  return partsWith(input, 'fail', 'part-failed').filter(
    ({ facts: { serial, stage } }) => !outside.has(key(String(serial), Number(stage))),
  );
}

function partsWith({ parts, stages }: EvaluationInput, verdict: 'fail' | 'none', code: Finding['code']): Finding[] {
  return parts.flatMap(({ serial, results }) =>
    stages.flatMap(({ stage }, index): Finding[] => {
      const result = results[index];
      if (result?.verdict !== verdict) return [];
      return [{ code, facts: { serial, stage, reason: result.reason ?? 'unknown' } }];
    }),
  );
}
