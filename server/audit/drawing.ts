import { randomUUID } from 'node:crypto';
import type { ConditionId, ProfileRevision } from '../../station/profile/schema.ts';
import { HttpProblem } from '../http/problem.ts';
import { DRAW_METHOD, drawSerials } from '../quality/sampling/random-draw.ts';
import { closedByDraw } from '../records/lot-standing.ts';
import { sha256 } from '../store/digest.ts';
import type { Actor } from '../store/record-format.ts';
import type { LedgerReader } from '../store/reader.ts';
import type { Store } from '../store/store.ts';
import { stateOfAudit } from './audits.ts';
import type { SamplingPlan } from './evaluation/contract.ts';
import { sampleSizeOf } from './evaluation/sample-size.ts';
import { lineResults, noSuchLot, passedOf } from './line-results.ts';
import { mustDrawBy, samplingPlanFor } from './plan-in-force.ts';
import { auditState, phaseOf } from './state.ts';

/**
 * The serials of a lot whose last judged line test was passed, sorted; `before` an entry of the ledger where that is asked
 * for. Throws the HttpProblem `no-such-lot`.
 */
export function passedSerials(
  reader: LedgerReader,
  partNumber: string,
  lot: string,
  before = Number.MAX_SAFE_INTEGER,
): string[] {
  const results = lineResults(reader, partNumber, lot).filter(({ sequence }) => sequence < before);
  if (results.length === 0) throw noSuchLot(partNumber, lot);
  return [...passedOf(results)].sort();
}

/**
 * The sorted list of which a draw drew places, out of the ledger: the serials that had passed by then. Null where it does
 * not hash to what the draw says, so that nobody repeats a draw from another list. Throws the HttpProblems `no-such-audit`
 * and `no-such-lot`.
 */
export function drawnFrom(reader: LedgerReader, audit: string): string[] | null {
  const { sequence, content } = stateOfAudit(reader, audit).drawn;
  const serials = passedSerials(reader, content.partNumber, content.lot, sequence);
  return hashOfLot(serials) === content.lotHash ? serials : null;
}

/** SHA-256 of the serials, one a line: what the draw was made of, for anybody who makes it again. */
export const hashOfLot = (serials: readonly string[]): string => sha256(serials.join('\n'));

/** The text that a draw is made from: nobody can have known the head of the ledger before. */
export const seedOf = (headHash: string, partNumber: string, lot: string): string => `${headHash}|${partNumber}|${lot}`;

/** What is asked of a draw. */
export interface DrawWish {
  readonly station: string;
  readonly profile: ProfileRevision;
  readonly lot: string;
  /** In the order in which they are tested; the profile's, all of them, where nothing is said. */
  readonly conditions?: readonly ConditionId[] | undefined;
  /** Ambient once more at the end, where something else came last. */
  readonly returnToAmbient: boolean;
  readonly actor: Actor;
  /** A plan for this draw alone; the part number's own where there is none. */
  readonly plan?: SamplingPlan | undefined;
  /** When it is drawn, where that is not now. */
  readonly happenedAt?: string | undefined;
}

/**
 * Draws the sample of a lot by the plan in force for its part number, without replacement, of the serials that passed, and
 * keeps the draw before any result is there; so is which conditions come, in which order. An open lot is closed with it:
 * parts made later would be outside of its sample. Returns the audit's id.
 *
 * Throws the HttpProblems `no-such-lot`, `too-few-passed`, `audit-open` (an audit of the lot is not finished), and those of
 * `mustDrawBy` and `conditionsOf`.
 */
export function drawSample(store: Store, wish: DrawWish): string {
  const { station, profile, lot, actor, plan: asked, happenedAt } = wish;
  const { partNumber } = profile.content;
  const conditions = conditionsOf(wish);
  store.checkpoint();
  const open = unfinishedAudit(store, partNumber, lot);
  if (open !== null)
    throw new HttpProblem(
      409,
      'audit-open',
      `An audit of lot ${lot} is not finished yet. Finish it or give it up first.`,
      {
        audit: open,
        lot,
      },
    );
  const serials = passedSerials(store, partNumber, lot);
  const { plan, severity } = mustDrawBy(store, partNumber, asked ?? samplingPlanFor(store, partNumber));
  const n = serials.length === 0 ? 1 : sampleSizeOf(plan, serials.length);
  if (n > serials.length)
    throw new HttpProblem(
      409,
      'too-few-passed',
      `The plan asks for ${n} parts and ${serials.length} of lot ${lot} passed. Wait for more, or change the plan.`,
      { n, passed: serials.length },
    );
  store.issueProfile(profile, actor);
  const audit = randomUUID();
  const closes = closedByDraw(store, { partNumber, lot }, { audit, actor, happenedAt });
  store.audit(({ hash }) => {
    const seed = seedOf(hash, partNumber, lot);
    return {
      audit,
      act: 'drawn',
      station,
      partNumber: profile.content.partNumber,
      lot,
      profile: profile.hash,
      plan,
      ...(severity === null ? {} : { severity }),
      method: DRAW_METHOD,
      seed,
      lotSize: serials.length,
      lotHash: hashOfLot(serials),
      serials: [...drawSerials(serials, n, seed).serials],
      conditions,
      actor,
      ...(happenedAt === undefined ? {} : { happenedAt }),
    };
  }, closes);
  store.checkpoint();
  return audit;
}

/**
 * The conditions of an audit in order: the chosen ones, or all of the profile in its order; then ambient when it is to be
 * returned to, the profile has it, and it is not last already. Each is chosen once: only a return to ambient doubles one.
 * Throws the HttpProblems `no-condition`, `unknown-condition` (the profile has none of this name), `condition-twice`.
 */
export function conditionsOf({
  profile,
  conditions,
  returnToAmbient,
}: Pick<DrawWish, 'profile' | 'conditions' | 'returnToAmbient'>): ConditionId[] {
  const { partNumber, conditions: all } = profile.content;
  const known = all.map(({ id }) => id);
  const order = [...(conditions ?? known)];
  if (order.length === 0)
    throw new HttpProblem(409, 'no-condition', 'Choose at least one condition.', { known: known.join(', ') });
  const unknown = order.find((id) => !known.includes(id));
  if (unknown !== undefined)
    throw new HttpProblem(409, 'unknown-condition', `The profile of ${partNumber} has no condition ${unknown}.`, {
      partNumber,
      condition: unknown,
      known: known.join(', '),
    });
  const twice = order.find((id, at) => order.indexOf(id) < at);
  if (twice !== undefined)
    throw new HttpProblem(409, 'condition-twice', `The condition ${twice} is chosen twice. Choose each once.`, {
      condition: twice,
    });
  const isUseful = known.includes('ambient') && order.at(-1) !== 'ambient';
  return returnToAmbient && isUseful ? [...order, 'ambient'] : order;
}

/** The audit of a lot that is neither decided nor given up; null when there is none. */
export function unfinishedAudit(reader: LedgerReader, partNumber: string, lot: string): string | null {
  const [latest] = reader.audits.drawn({ partNumber, lot }, 1);
  if (latest === undefined) return null;
  const state = auditState(reader.auditEntries(latest.audit));
  if (state === null) return null;
  const isDecided = reader.dispositions(partNumber, lot).some(({ content }) => content.audit === latest.audit);
  const phase = phaseOf(state, isDecided);
  return phase === 'decided' || phase === 'abandoned' ? null : latest.audit;
}
