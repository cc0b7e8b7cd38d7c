import type { ProfileContent } from '../../station/profile/schema.ts';
import type { LedgerReader } from '../store/reader.ts';
import type { AuditPhase } from './contract.ts';
import type { Cell, Evaluation, EvaluationInput } from './evaluation/contract.ts';
import { evaluate } from './evaluation/evaluate.ts';
import { evidenceOf } from './evidence.ts';
import { auditState, phaseOf } from './state.ts';
import type { AuditState } from './state.ts';

/** An audit with everything that its own entries say. */
export interface WholeAudit {
  readonly state: AuditState;
  readonly profile: ProfileContent;
  readonly input: EvaluationInput;
  readonly evaluation: Evaluation;
}

/** What a list or a trend shows of an audit, as far as its own entries say it. */
export interface AuditOutcome {
  readonly state: Pick<AuditState, 'audit' | 'drawn'>;
  readonly parts: number;
  readonly phase: { readonly undecided: AuditPhase; readonly decided: AuditPhase };
  /** Simulated when any of its cycles was; null before its first. */
  readonly origin: 'real' | 'simulated' | null;
  /** The cell with the smallest Ppk; null before any reading. */
  readonly weakest: Pick<Cell, 'stage' | 'step' | 'ppk' | 'atLeast'> | null;
}

/** What the acts and cycles of an audit say by themselves, before anything is worked out from its readings. */
export type AuditBrief = Omit<AuditOutcome, 'weakest'>;

/** Records of several hundred kB each; outcomes of a few hundred bytes. */
const MOST = { whole: 4, outcomes: 2000 } as const;

/**
 * What audits came to, so that nobody works it out twice. Kept by an audit's last entry, for it follows from these alone:
 * the audit's acts and cycles, the profile that the draw names by its hash, and of each drawn serial the last passed line
 * test before the draw, all of which stay as they are. Whatever else a page shows (decisions, neighbours, the rig of a
 * station, other audits of a trend) is asked of the ledger each time. For one ledger.
 */
export class AuditMemory {
  readonly #whole = new Map<string, { readonly last: number; readonly value: WholeAudit }>();
  readonly #briefs = new Map<string, { readonly last: number; readonly value: AuditBrief }>();
  readonly #outcomes = new Map<string, { readonly last: number; readonly value: AuditOutcome }>();

  /** Null for an audit that is not known. */
  whole(reader: LedgerReader, audit: string): WholeAudit | null {
    const last = reader.audits.lastSequenceOf(audit);
    const known = this.#whole.get(audit);
    if (last === null || known?.last === last) return known?.value ?? null;
    const state = auditState(reader.auditEntries(audit));
    if (state === null) return null;
    const value = wholeOf(reader, state);
    keep(this.#whole, audit, { last, value }, MOST.whole);
    return value;
  }

  /** Without working anything out from readings. Null for an audit that is not known. */
  brief(reader: LedgerReader, audit: string): AuditBrief | null {
    const last = reader.audits.lastSequenceOf(audit);
    const known = [this.#outcomes.get(audit), this.#briefs.get(audit)].find((each) => each?.last === last);
    if (last === null || known !== undefined) return known?.value ?? null;
    const state = auditState(reader.auditEntries(audit));
    if (state === null) return null;
    const value = briefOf(state);
    keep(this.#briefs, audit, { last, value }, MOST.outcomes);
    return value;
  }

  /** Null for an audit that is not known. */
  outcome(reader: LedgerReader, audit: string): AuditOutcome | null {
    const last = reader.audits.lastSequenceOf(audit);
    const known = this.#outcomes.get(audit);
    if (last === null || known?.last === last) return known?.value ?? null;
    const whole = this.whole(reader, audit);
    if (whole === null) return null;
    const value = outcomeOf(whole);
    keep(this.#outcomes, audit, { last, value }, MOST.outcomes);
    return value;
  }
}

/** What follows from what an audit has measured so far. */
export function wholeOf(reader: LedgerReader, state: AuditState): WholeAudit {
  const profile = reader.document('profile', state.drawn.content.profile);
  const input = evidenceOf(reader, state, profile);
  return { state, profile, input, evaluation: evaluate(input) };
}

export function outcomeOf({ state, evaluation: { cells, weakest } }: WholeAudit): AuditOutcome {
  return {
    ...briefOf(state),
    weakest: cells.find(({ stage, step }) => stage === weakest?.stage && step === weakest.step) ?? null,
  };
}

function briefOf(state: AuditState): AuditBrief {
  const { audit, drawn, sample, cycles } = state;
  const isSimulated = cycles.some(({ record }) => record.circumstances.origin === 'simulated');
  return {
    state: { audit, drawn },
    parts: sample.size,
    phase: { undecided: phaseOf(state, false), decided: phaseOf(state, true) },
    origin: cycles.length === 0 ? null : isSimulated ? 'simulated' : 'real',
  };
}

/** The latest is kept longest; the oldest goes when there are too many. */
function keep<T>(all: Map<string, T>, key: string, value: T, most: number): void {
  all.delete(key);
  all.set(key, value);
  for (const oldest of all.keys()) {
    if (all.size <= most) return;
    all.delete(oldest);
  }
}
