import { checkWhole } from '../checks.ts';
import { QualityError } from '../errors.ts';

/**
 * Switching rules of ISO 2859-1:1999, clause 9.3, for single sampling plans: normal to tightened (9.3.1), tightened to
 * normal (9.3.2), the switching score (9.3.3.2) and discontinuation (9.4). The numbers of the rules stand in public
 * summaries of the standard; the text of 9.3.3.2 is from memory.
 *
 * Reduced inspection is shown as a possibility and never entered: its table is not to be had here.
 */
const LOTS_LOOKED_BACK = 5;
const REFUSALS_TO_TIGHTEN = 2;
const ACCEPTANCES_TO_NORMAL = 5;
const REFUSALS_TO_DISCONTINUE = 5;
const SCORE_FOR_REDUCED = 30;

/** Where a series of lots stands. Plain data: it may be stored between lots. */
export interface SwitchingState {
  readonly severity: 'normal' | 'tightened' | 'discontinued';
  /** Whether each of the last lots under this severity was accepted, at most five, the latest last. */
  readonly recent: readonly boolean[];
  /** Lots not accepted since tightened inspection began. */
  readonly refusedOnTightened: number;
  /** Switching score of normal inspection; 0 outside it. */
  readonly score: number;
  /** Whether reduced inspection could be asked for. */
  readonly reducedEligible: boolean;
}

/** Result of one lot. */
export interface LotResult {
  /** Bad parts in the sample. */
  readonly bad: number;
  /** Acceptance number of the plan used. */
  readonly acceptance: number;
  /**
   * Acceptance number of the same sample with the AQL one step tighter; needed for a lot accepted under normal inspection
   * with an acceptance number of 2 or more, else it may be null.
   */
  readonly acceptanceTighter: number | null;
  /** Whether the lot came for the first time; a lot presented again counts for nothing here. */
  readonly original: boolean;
}

/** How a caller names the numbers of a lot, for errors. */
const LOT_KEYS = { bad: 'bad', acceptance: 'acceptance', acceptanceTighter: 'acceptanceTighter' };

/** Why a series stands where it does: a code and what belongs to it, to be put in words. */
export interface SwitchingReason {
  readonly code:
    | 'discontinued'
    | 'presented-again'
    | 'to-tightened'
    | 'score'
    | 'reduced-possible'
    | 'score-lost'
    | 'score-lost-tighter'
    | 'to-discontinued'
    | 'to-normal'
    | 'tightened-accepted'
    | 'tightened-refused';
  readonly facts: Readonly<Record<string, number | 'accepted' | 'refused'>>;
}

/** What a lot did to the series. */
export interface SwitchingStep {
  readonly state: SwitchingState;
  /** Whether the lot was accepted; null when it was not to be judged by sampling. */
  readonly accepted: boolean | null;
  /** Why the series stands where it does now. */
  readonly explanation: SwitchingReason;
}

/** The start of a series: normal inspection, score 0. */
export const SWITCHING_START: SwitchingState = begin('normal');

/**
 * Takes the result of the next lot into the series.
 *
 * @throws QualityError `not-whole`, `not-finite`, `out-of-range` (a tighter acceptance number not below the other),
 *   `empty` (none given where the score wants one)
 */
export function nextSwitching(state: SwitchingState, lot: LotResult, keys = LOT_KEYS): SwitchingStep {
  checkWhole(lot.bad, keys.bad, 0);
  checkWhole(lot.acceptance, keys.acceptance, 0);
  if (state.severity === 'discontinued')
    return { state, accepted: null, explanation: { code: 'discontinued', facts: {} } };
  const accepted = lot.bad <= lot.acceptance;
  if (!lot.original)
    return { state, accepted, explanation: { code: 'presented-again', facts: { verdict: verdictOf(accepted) } } };
  const recent = [...state.recent, accepted].slice(-LOTS_LOOKED_BACK);
  return state.severity === 'normal'
    ? afterNormal(state, lot, pointsOf(lot, keys), recent)
    : afterTightened(state, accepted, recent);
}

/** Takes up inspection again after action on the cause of a discontinuation: tightened, with a new count (9.4). */
export function resumeSwitching(state: SwitchingState): SwitchingState {
  return state.severity === 'discontinued' ? begin('tightened') : state;
}

const verdictOf = (accepted: boolean): 'accepted' | 'refused' => (accepted ? 'accepted' : 'refused');

function afterNormal(state: SwitchingState, lot: LotResult, points: number, recent: readonly boolean[]): SwitchingStep {
  const accepted = lot.bad <= lot.acceptance;
  const verdict = verdictOf(accepted);
  if (recent.filter((each) => !each).length >= REFUSALS_TO_TIGHTEN) {
    const facts = { verdict, lots: recent.length };
    return { state: begin('tightened'), accepted, explanation: { code: 'to-tightened', facts } };
  }
  const score = points === 0 ? 0 : state.score + points;
  const reducedEligible = score >= SCORE_FOR_REDUCED;
  return {
    state: { ...state, recent, score, reducedEligible },
    accepted,
    explanation: points === 0 ? scoreLost(lot, accepted) : scored(score, reducedEligible),
  };
}

const scored = (score: number, reducedEligible: boolean): SwitchingReason => ({
  code: reducedEligible ? 'reduced-possible' : 'score',
  facts: { verdict: 'accepted', score },
});

/** An accepted lot loses the score where the AQL one step tighter would not have let it pass. */
const scoreLost = ({ bad, acceptanceTighter }: LotResult, accepted: boolean): SwitchingReason =>
  accepted
    ? { code: 'score-lost-tighter', facts: { verdict: 'accepted', bad, allowed: acceptanceTighter ?? 0 } }
    : { code: 'score-lost', facts: { verdict: 'refused' } };

function afterTightened(state: SwitchingState, accepted: boolean, recent: readonly boolean[]): SwitchingStep {
  const verdict = verdictOf(accepted);
  const refusedOnTightened = state.refusedOnTightened + (accepted ? 0 : 1);
  if (refusedOnTightened >= REFUSALS_TO_DISCONTINUE) {
    const explanation = { code: 'to-discontinued', facts: { verdict } } as const;
    return { state: { ...begin('discontinued'), refusedOnTightened }, accepted, explanation };
  }
  if (recent.length === ACCEPTANCES_TO_NORMAL && recent.every(Boolean)) {
    return { state: begin('normal'), accepted, explanation: { code: 'to-normal', facts: { verdict } } };
  }
  const row = recent.length - 1 - recent.lastIndexOf(false);
  const explanation: SwitchingReason = accepted
    ? { code: 'tightened-accepted', facts: { verdict, row, of: ACCEPTANCES_TO_NORMAL } }
    : {
        code: 'tightened-refused',
        facts: { verdict, refused: refusedOnTightened, of: REFUSALS_TO_DISCONTINUE },
      };
  return { state: { ...state, recent, refusedOnTightened }, accepted, explanation };
}

/**
 * Points of a lot for the switching score of a single sampling plan; 0 resets it. Acceptance number 2 or more: 3 if the
 * lot would also have been accepted with the AQL one step tighter. Acceptance number 0 or 1: 2 if accepted. (9.3.3.2, from
 * memory.)
 */
function pointsOf({ bad, acceptance, acceptanceTighter }: LotResult, keys: typeof LOT_KEYS): number {
  if (bad > acceptance) return 0;
  if (acceptance < 2) return 2;
  if (acceptanceTighter === null) {
    const message = `${keys.acceptanceTighter} is missing; with acceptance number ${acceptance} the score wants the one of the AQL one step tighter`;
    throw new QualityError('empty', keys.acceptanceTighter, message);
  }
  checkWhole(acceptanceTighter, keys.acceptanceTighter, 0, acceptance - 1);
  return bad <= acceptanceTighter ? 3 : 0;
}

function begin(severity: SwitchingState['severity']): SwitchingState {
  return { severity, recent: [], refusedOnTightened: 0, score: 0, reducedEligible: false };
}
