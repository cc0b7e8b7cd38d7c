import { HttpProblem } from '../../http/problem.ts';
import type { LedgerReader } from '../../store/reader.ts';
import { comparableOf, decisionsOf, noSuchAudit, wholeAuditOf } from '../audits.ts';
import { AuditMemory } from '../memory.ts';
import { compareAudits } from './compare.ts';
import type { AuditComparison, OtherAudit } from './contract.ts';

/** What audits came to already, and what is called again and again on the way: what it throws ends the work. */
interface Working {
  readonly memory?: AuditMemory;
  readonly stop?: () => void;
}

/** Audits of a part number that are looked through. */
const MOST_AUDITS = 200;

/**
 * One audit against another, as the ledger has them now. Throws the HttpProblems `no-such-audit`, `same-audit`, and
 * `other-part-number`: sensors of two kinds have nothing to be compared by.
 */
export function comparisonOf(
  reader: LedgerReader,
  audit: string,
  other: string,
  { memory = new AuditMemory(), stop }: Working = {},
): AuditComparison {
  if (audit === other)
    throw new HttpProblem(409, 'same-audit', 'An audit is not compared with itself. Choose another one.', { audit });
  const here = wholeAuditOf(reader, audit, memory);
  stop?.();
  const there = wholeAuditOf(reader, other, memory);
  const [own, others] = [here.state.drawn.content.partNumber, there.state.drawn.content.partNumber];
  if (own !== others)
    throw new HttpProblem(
      409,
      'other-part-number',
      `One audit is of ${own}, the other of ${others}. Choose an audit of ${own}.`,
      { here: own, there: others },
    );
  stop?.();
  return compareAudits(comparableOf(reader, here), comparableOf(reader, there));
}

/**
 * The other audits of an audit's part number in which something was measured: those that were decided first, by their
 * decision, then the others by their draw; the newest first in both. Throws the HttpProblem `no-such-audit`.
 */
export function othersOf(
  reader: LedgerReader,
  audit: string,
  { memory = new AuditMemory(), stop }: Working = {},
): OtherAudit[] {
  const own = memory.brief(reader, audit);
  if (own === null) throw noSuchAudit(audit);
  const { partNumber } = own.state.drawn.content;
  const others = reader.audits.drawn({ partNumber, lot: null }, MOST_AUDITS).flatMap((drawn): OtherAudit[] => {
    if (drawn.audit === audit) return [];
    stop?.();
    const brief = memory.brief(reader, drawn.audit);
    // Nothing was measured in it.
    if (brief === null || brief.origin === null) return [];
    const { state, phase } = brief;
    const [decision = null] = decisionsOf(reader, state);
    return [
      {
        ...{ audit: drawn.audit, lot: drawn.lot, drawnAt: state.drawn.at, decision },
        phase: decision === null ? phase.undecided : phase.decided,
      },
    ];
  });
  const isDecided = ({ phase }: OtherAudit): boolean => phase === 'decided';
  const at = (each: OtherAudit): string => (isDecided(each) ? (each.decision?.at ?? '') : each.drawnAt);
  return others.sort((a, b) => Number(isDecided(b)) - Number(isDecided(a)) || at(b).localeCompare(at(a)));
}
