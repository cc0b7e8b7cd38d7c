import { observedNeeded } from '../../quality/capability/provable.ts';
import { characteristicsOf } from './characteristics.ts';
import { cellsOf, placesOf, weakestOf } from './cells.ts';
import type { Cell, Evaluation, EvaluationInput } from './contract.ts';
import { changesOf, driftsOf } from './drift.ts';
import { NORMAL_FROM, findingsOf } from './findings.ts';
import { lineAgainstLabOf, pairsOf } from './line-against-lab.ts';
import { badOf, notJudgedOf, proposalOf } from './proposal.ts';
import { missesOfJudged } from './judged-size.ts';
import { missesOf } from './sample-size.ts';

/**
 * Everything that follows from what an audit measured; what each figure is, is said in the contract. Pure: the same input,
 * the same evaluation. Errors and bands kPa, temperatures °C.
 *
 * @throws QualityError when a reading is no finite number, or a plan by attributes asks for more parts than the lot has
 */
export function evaluate(input: EvaluationInput): Evaluation {
  const { parts, plan, lotSize, wantedPpk } = input;
  const places = placesOf(input);
  const cells = cellsOf(places);
  const weakest = weakestOf(cells);
  const changes = changesOf(input);
  const pairs = pairsOf(input);
  const proposal = proposalOf(input, places, { cells, weakest });
  return {
    cells,
    weakest: weakest === null ? null : { stage: weakest.stage, step: weakest.step },
    normality: normalityOf(cells),
    drifts: driftsOf(input, changes),
    lineAgainstLab: lineAgainstLabOf(input, pairs),
    characteristics: characteristicsOf(input),
    findings: findingsOf({ input, cells, changes, pairs }),
    proposal,
    bad: badOf(parts),
    notJudged: notJudgedOf(parts),
    ppkToProve: weakest === null || weakest.n < 2 ? null : observedNeeded(weakest.n, wantedPpk).exact,
    misses: missesOf(plan, lotSize),
    missesJudged: proposal.decision === null ? null : missesOfJudged(input),
  };
}

function normalityOf(cells: readonly Cell[]): Evaluation['normality'] {
  const adjusted = cells.flatMap(({ normality }) => (normality.adjusted === null ? [] : [normality.adjusted]));
  if (adjusted.length === 0) return { tests: 0, smallest: null, isNormal: null };
  const smallest = Math.min(...adjusted);
  return { tests: adjusted.length, smallest, isNormal: smallest >= NORMAL_FROM };
}
