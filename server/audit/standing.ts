import { hashOf } from '../../station/hash.ts';
import type { ProfileContent } from '../../station/profile/schema.ts';
import { HttpProblem } from '../http/problem.ts';
import { isNeighbourHold, lotDecisions } from '../records/lot-decisions.ts';
import type { KeptDecision } from '../records/lot-decisions.ts';
import type { Disposition } from '../store/entry-format.ts';
import type { LedgerReader } from '../store/reader.ts';
import { evaluationOf } from './audits.ts';
import { unfinishedAudit } from './drawing.ts';
import type { SamplingPlan } from './evaluation/contract.ts';
import { allowedBy } from './evaluation/proposal.ts';
import { partsOf, stageList } from './evidence.ts';
import { hasNoFewerConditions, isNoWeakerProfile } from './same-weight.ts';
import { auditState, phaseOf } from './state.ts';
import type { AuditState } from './state.ts';

/** A lot by its part number and code. */
export interface LotOfPart {
  readonly partNumber: Disposition['partNumber'];
  readonly lot: string;
}

/** What one audit says about its lot. Sequences are of ledger entries. */
interface Witness {
  readonly audit: string;
  readonly state: AuditState;
  /** Given up, gone through, or neither yet. */
  readonly is: 'given-up' | 'done' | 'under-way';
  readonly drawn: number;
  /** After its last test. */
  readonly lastTest: number;
  readonly plan: SamplingPlan;
  readonly profile: ProfileContent;
  readonly bad: readonly string[];
  /** Its plan refuses the lot, or a person did because of it. */
  readonly isRefused: boolean;
  /** What its plan proposes; null before it was gone through. */
  readonly proposes: 'accept' | 'hold' | 'reject' | null;
  /** Gone through, with a verdict of every part drawn in every condition. */
  readonly isWhole: boolean;
}

/** More than any lot has: none may be left out of a judgement. */
const ALL = 1_000_000;

/**
 * Refuses to let a lot go out against what is known of it; under a customer's concession nobody asks. `by` is the audit
 * on which the acceptance would rest, null where a held neighbour is let go.
 *
 * The rule, over every audit of the lot and every decision about it, in the order of the ledger:
 * 1. While an audit of the lot is under way nothing is accepted around it; nor is a neighbour let go before it is decided.
 * 2. A rejected lot goes out only by a good audit that was drawn after the rejection and gone through whole: with a verdict
 *    of every part drawn, in every condition.
 * 3. The audit itself must not refuse the lot: no more bad parts than its plan allows, its index not below k; and at least
 *    one part must have been tested in it.
 * 4. An audit that refused the lot, by its plan or by a person, speaks against it until a later one settles it: drawn after
 *    somebody decided about the lot with those results on record, whole, good, and of at least equal weight.
 *    Of equal weight is the same plan; or as many parts, or every part that is left, by a plan that allows no greater
 *    share of bad ones and asks for no smaller k; in no fewer conditions, each counted;
 *    by a profile with no fewer points and no wider limits.
 * 5. An audit that was given up was never judged by its plan, so its bad parts count as seen: they are added, each once, to
 *    those of the audit, until a rejection of the lot and a later audit as in 4 settle them.
 * 6. A lot that is held for a neighbour's sake is let go without an audit where 1, 4 and 5 (with no bad part allowed) say
 *    nothing and any rejection is answered as in 2. A hold for its own sake is not.
 *
 * That a refused lot may be presented again only after somebody answered for it is the rule for resubmitted lots of
 * ISO 2859-1 (from memory); weighing audits against each other is common practice, no source.
 *
 * @throws HttpProblem `audit-open`, `against-the-rule`
 */
export function checkAcceptance(reader: LedgerReader, of: LotOfPart, by: string | null): void {
  const decided = reader.dispositions(of.partNumber, of.lot, ALL).toReversed();
  if (by === null && lotDecisions(reader, of.partNumber, of.lot).heldFor.length === 0)
    throw against(
      'no-neighbour',
      `Lot ${of.lot} is not held as a neighbour. Without an audit of its own it can be accepted under a concession only.`,
      { partNumber: of.partNumber, lot: of.lot },
    );
  const all = witnessesOf(reader, of, decided);
  const open = all.find(({ is }) => is === 'under-way');
  if (open !== undefined) throw isOpen(of, open.audit);
  checkRejected(of, decided, by === null ? all : all.filter(({ audit }) => audit === by));
  checkBad(of, decided, all, by);
  const undecided = by === null ? unfinishedAudit(reader, of.partNumber, of.lot) : null;
  if (undecided !== null) throw isOpen(of, undecided);
}

const isOpen = ({ lot }: LotOfPart, audit: string): HttpProblem =>
  new HttpProblem(
    409,
    'audit-open',
    `An audit of lot ${lot} is not finished yet. Finish and decide it, or accept under a customer's concession.`,
    { audit, lot, why: 'accepting' },
  );

/** `why` tells the ways apart in which the rule refuses: a screen has words for each. */
const against = (why: string, detail: string, facts: Readonly<Record<string, string | number>>): HttpProblem =>
  new HttpProblem(409, 'against-the-rule', detail, { ...facts, why });

/** Rule 2: `those` are the audits of which one has to be newer than the last rejection. That it is good, 3 and 4 see to. */
function checkRejected({ lot }: LotOfPart, decided: readonly KeptDecision[], those: readonly Witness[]): void {
  const rejected = decided.findLast(({ content }) => content.decision === 'reject');
  if (rejected === undefined) return;
  if (those.some((each) => each.isWhole && each.drawn > rejected.sequence)) return;
  throw against(
    'rejected',
    `Lot ${lot} was rejected. Draw a new sample and have it tested first, or accept under a customer's concession.`,
    { lot, rejected: rejected.sequence },
  );
}

/** Rules 3 to 5. */
function checkBad(
  { lot }: LotOfPart,
  decided: readonly KeptDecision[],
  all: readonly Witness[],
  by: string | null,
): void {
  const own = all.find(({ audit }) => audit === by);
  const bad = own?.bad.length ?? 0;
  if (own?.state.loads.length === 0)
    throw against('untested', 'No part of this sample was tested: it says nothing about the lot. Draw a new one.', {
      lot,
    });
  if (own?.isRefused === true && own.proposes !== 'reject')
    throw against(
      'failed',
      `Parts of the sample failed (${bad} bad): hold the lot, reject it, or accept it under a customer's concession.`,
      { bad },
    );
  if (own?.isRefused === true)
    throw against(
      'refused',
      `The plan refuses this lot (${bad} bad). It can be accepted under a customer's concession only.`,
      { bad },
    );
  const unsettled = all.filter((each) => each !== own && !all.some((later) => isSettledBy(each, later, decided)));
  const refused = unsettled.find(({ is, isRefused }) => is === 'done' && isRefused);
  if (refused !== undefined)
    throw against(
      'refused-before',
      `Another audit refused lot ${lot} (${refused.bad.length} bad), and no later one of equal weight has settled it. Draw at least as many parts anew, or accept under a customer's concession.`,
      { bad: refused.bad.length, audit: refused.audit, lot },
    );
  const givenUp = unsettled.filter(({ is }) => is === 'given-up').flatMap((each) => each.bad);
  const seen = new Set([...(own?.bad ?? []), ...givenUp]).size;
  if (seen > (own === undefined ? 0 : allowedBy(own.plan)))
    throw against(
      'given-up',
      `An audit of lot ${lot} that was given up had found bad parts, and they count (${seen} bad). Reject the lot and draw anew, or accept under a customer's concession.`,
      { bad: seen, lot },
    );
}

function isSettledBy(earlier: Witness, later: Witness, decided: readonly KeptDecision[]): boolean {
  const answer = decided.find(
    ({ sequence, content }) =>
      sequence > earlier.lastTest &&
      !isNeighbourHold(content) &&
      (earlier.is !== 'given-up' || content.decision === 'reject'),
  );
  if (answer === undefined || later.drawn < answer.sequence) return false;
  return later.isWhole && !later.isRefused && weighsAsMuch(later, earlier);
}

function weighsAsMuch(one: Witness, other: Witness): boolean {
  const [own, its] = [one.state.drawn.content, other.state.drawn.content];
  const [parts, itsParts] = [own.serials.length, its.serials.length];
  const isLarge = parts >= itsParts || parts === own.lotSize;
  const allowsNoMore = allowedBy(one.plan) * itsParts <= allowedBy(other.plan) * parts;
  const isByIndexToo = other.plan.kind !== 'variables' || (one.plan.kind === 'variables' && one.plan.k >= other.plan.k);
  const isAsStrict = hashOf(one.plan) === hashOf(other.plan) || (isLarge && allowsNoMore && isByIndexToo);
  return (
    isAsStrict && hasNoFewerConditions(own.conditions, its.conditions) && isNoWeakerProfile(one.profile, other.profile)
  );
}

/** Every audit of the lot, the oldest first. */
function witnessesOf(reader: LedgerReader, of: LotOfPart, decided: readonly KeptDecision[]): Witness[] {
  return reader.audits
    .drawn(of, ALL)
    .toReversed()
    .flatMap(({ audit }) => {
      const state = auditState(reader.auditEntries(audit));
      return state === null ? [] : [witnessOf(reader, state, decided)];
    });
}

function witnessOf(reader: LedgerReader, state: AuditState, decided: readonly KeptDecision[]): Witness {
  const { audit, drawn, cycles, sample } = state;
  const { plan, profile } = drawn.content;
  const phase = phaseOf(state, true);
  const is = phase === 'abandoned' ? 'given-up' : phase === 'decided' ? 'done' : 'under-way';
  const parts = partsOf(state, stageList(state, reader.document('profile', profile)));
  const bad = parts.flatMap(({ serial, results }) =>
    results.some((result) => result?.verdict === 'fail') ? [serial] : [],
  );
  const isByPerson = decided.some(({ content }) => content.audit === audit && content.decision === 'reject');
  const proposes = is === 'done' ? evaluationOf(reader, state).proposal.decision : null;
  const isByPlan = is === 'done' && (bad.length > allowedBy(plan) || proposes === 'reject');
  const isWhole =
    is === 'done' &&
    parts.length === sample.size &&
    parts.every(({ results }) => results.every((result) => result !== null && result.verdict !== 'none'));
  return {
    ...{ audit, state, is, plan, profile: reader.document('profile', profile), bad, isWhole, proposes },
    drawn: drawn.sequence,
    lastTest: cycles.at(-1)?.sequence ?? drawn.sequence,
    isRefused: isByPlan || isByPerson,
  };
}
