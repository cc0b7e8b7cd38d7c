import { HttpProblem } from '../../http/problem.ts';
import type { LedgerReader } from '../../store/reader.ts';
import { comparableOf, decisionsOf, stateOfAudit } from '../audits.ts';
import { phaseOf } from '../state.ts';
import { compareAudits } from './compare.ts';
import type { AuditComparison, OtherAudit } from './contract.ts';

/** Audits of a part number that are looked through. */
const MOST_AUDITS = 200;

/**
 * One audit against another, as the ledger has them now. Throws the HttpProblems `no-such-audit`, `same-audit`, and
 * `other-part-number`: sensors of two kinds have nothing to be compared by.
 */
export function comparisonOf(reader: LedgerReader, audit: string, other: string): AuditComparison {
  if (audit === other)
    throw new HttpProblem(409, 'same-audit', 'An audit is not compared with itself. Choose another one.', { audit });
  const [here, there] = [stateOfAudit(reader, audit), stateOfAudit(reader, other)];
  const [own, others] = [here.drawn.content.partNumber, there.drawn.content.partNumber];
  if (own !== others)
    throw new HttpProblem(
      409,
      'other-part-number',
      `One audit is of ${own}, the other of ${others}. Choose an audit of ${own}.`,
      { here: own, there: others },
    );
  return compareAudits(comparableOf(reader, here), comparableOf(reader, there));
}

/**
 * The other audits of an audit's part number in which something was measured: those that were decided first, by their
 * decision, then the others by their draw; the newest first in both. Throws the HttpProblem `no-such-audit`.
 */
export function othersOf(reader: LedgerReader, audit: string): OtherAudit[] {
  const { partNumber } = stateOfAudit(reader, audit).drawn.content;
  const others = reader.audits.drawn({ partNumber, lot: null }, MOST_AUDITS).flatMap((drawn): OtherAudit[] => {
    if (drawn.audit === audit) return [];
    const state = stateOfAudit(reader, drawn.audit);
    if (state.cycles.length === 0) return [];
    const [decision = null] = decisionsOf(reader, state);
    const phase = phaseOf(state, decision !== null);
    return [{ audit: drawn.audit, lot: drawn.lot, drawnAt: state.drawn.at, phase, decision }];
  });
  const isDecided = ({ phase }: OtherAudit): boolean => phase === 'decided';
  const at = (each: OtherAudit): string => (isDecided(each) ? (each.decision?.at ?? '') : each.drawnAt);
  return others.sort((a, b) => Number(isDecided(b)) - Number(isDecided(a)) || at(b).localeCompare(at(a)));
}
