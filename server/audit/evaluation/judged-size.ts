import { acceptance, acceptanceInLot, lotPoints } from '../../quality/sampling/operating-characteristic.ts';
import { variablesQualityAt } from '../../quality/sampling/variables-plan.ts';
import type { AuditPart, EvaluationInput, MissesJudged } from './contract.ts';
import { fewestBadOf, sampleSizeOf } from './sample-size.ts';

/** Share bad of which a process audit speaks, as `auditMisses` does. */
const PROCESS_SHARE = 0.1;
/** A lot is stopped nine times in ten. */
const CONSUMERS_RISK = 0.1;

/** Parts with a pass or a fail in every stage. */
const isJudged = ({ results }: AuditPart): boolean =>
  results.every((result) => result !== null && result.verdict !== 'none');

/**
 * What a sample lets through of which not every part could be judged: the plan's own rule with the parts that were, against
 * the lot that the whole sample would refuse nine times in ten. Null when all were judged.
 *
 * @throws QualityError `beyond-lot` for a plan by attributes that asks for more parts than the lot has
 */
export function missesOfJudged({ plan, parts, lotSize }: EvaluationInput): MissesJudged | null {
  const of = sampleSizeOf(plan, lotSize);
  const judged = parts.filter(isJudged).length;
  if (judged >= of) return null;
  const facts = { judged, of };
  // A spread takes two parts.
  if (judged < (plan.kind === 'variables' ? 2 : 1)) return { code: 'judged-none', facts };
  switch (plan.kind) {
    case 'zero-acceptance':
    case 'attributes': {
      const c = plan.kind === 'attributes' ? plan.c : 0;
      const bad =
        plan.kind === 'attributes'
          ? (lotPoints({ n: of, c }, lotSize).fewestRefused ?? lotSize)
          : fewestBadOf(plan, lotSize);
      const missed = c >= judged ? 1 : acceptanceInLot({ n: judged, c }, lotSize, bad);
      return { code: 'judged-fewer', facts: { ...facts, c, lot: lotSize, bad, missed } };
    }
    case 'variables': {
      const share = variablesQualityAt({ n: judged, k: plan.k }, CONSUMERS_RISK);
      return { code: 'judged-fewer-variables', facts: { ...facts, share } };
    }
    case 'fixed': {
      const missed = acceptance({ n: judged, c: 0 }, PROCESS_SHARE, 'binomial');
      return { code: 'judged-fewer-process', facts: { ...facts, share: PROCESS_SHARE, missed } };
    }
  }
}
