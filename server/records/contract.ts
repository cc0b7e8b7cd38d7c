import { z } from 'zod';
import type { Quantity } from '../../station/cycle/judge.ts';
import type { Verdict, Why } from '../../station/cycle/result.ts';
import type { Fault } from '../../station/faults.ts';
import type { ConditionId, CycleKind, DecisionRule } from '../../station/profile/schema.ts';
import type { ExpectedPhase, Frame, Taken } from '../line/contract.ts';

/** What is asked of the records. Sequences number the ledger's entries; nests count from 1. */
export const PageQuery = z.object({
  limit: z.coerce.number().int().min(1).max(200).default(50).meta({ description: 'at most so many cycles' }),
  before: z.coerce.number().int().min(1).optional().meta({ description: 'only cycles before this entry' }),
});

export const SerialParams = z.object({ serial: z.string().min(1).max(100) });
export const CycleParams = z.object({ cycle: z.string().min(1).max(100) });

/** One cycle in a list. Nests count from 1. */
export interface CycleLine {
  readonly sequence: number;
  readonly cycle: string;
  readonly station: string;
  readonly origin: 'real' | 'simulated';
  readonly kind: CycleKind;
  readonly condition: ConditionId;
  readonly partNumber: string;
  readonly lot: string;
  /** The audit that it belongs to; null where it belongs to none. */
  readonly audit: string | null;
  readonly closedAt: string;
  readonly operator: string;
  readonly nests: readonly {
    readonly nest: number;
    readonly serial: string;
    readonly verdict: Verdict;
    readonly why: Why | null;
  }[];
  readonly faults: readonly Fault[];
}

export interface CyclePage {
  readonly cycles: readonly CycleLine[];
  /** Ask with this as `before` for older ones; null at the end. */
  readonly next: number | null;
}

/** Everything that is kept of a serial, the newest first. */
export interface SerialLife {
  readonly serial: string;
  readonly cycles: readonly CycleLine[];
  /** The lots that it was tested under, and what was decided about each last; null where nobody has. */
  readonly lots: readonly {
    readonly partNumber: string;
    readonly lot: string;
    readonly decision: 'accept' | 'hold' | 'reject' | null;
  }[];
}

/** One reading with its limits and the sum behind its judgement. */
export interface JudgedReading {
  readonly nest: number;
  readonly step: string;
  readonly quantity: Quantity;
  /** Of an output at a pressure point; null at ambient and for anything else. */
  readonly pointKpaAbs: number | null;
  readonly value: number;
  readonly u: number;
  readonly unit: string;
  readonly low: number | null;
  readonly high: number | null;
  readonly guard: number;
  readonly margin: number;
  readonly verdict: 'pass' | 'fail';
  readonly inGuardBand: boolean;
  readonly arithmetic: readonly { readonly term: string; readonly value: number; readonly unit: string }[];
}

/** A record in full. */
export interface RecordView {
  readonly line: CycleLine;
  readonly title: string;
  readonly pressureClass: string;
  readonly profileRevision: number;
  /** The print that the profile was made from. */
  readonly document: { readonly title: string; readonly revision: string };
  readonly rigIssue: number;
  /** How the station's uncertainty entered the judgements. */
  readonly rule: DecisionRule;
  readonly readings: readonly JudgedReading[];
  /** The phases that ran, with the time each took and the pressure it went to. */
  readonly phases: readonly ExpectedPhase[];
  readonly vented: boolean | null;
  readonly circumstances: {
    readonly openedAt: string;
    readonly closedAt: string;
    readonly program: string;
    readonly operator: string;
    readonly barometerKpaAbs: number | null;
    readonly roomC: number | null;
    /** How to repeat a simulated cycle; null on a real rig. */
    readonly seed: number | null;
  };
  readonly proof: 'stated' | 'pin' | 'token';
  readonly hashes: {
    readonly plan: string;
    readonly profile: string;
    readonly rig: string;
    readonly measurement: string;
    readonly trace: string | null;
    readonly entry: string;
    readonly before: string;
  };
  /** What was recomputed just now from the stored bytes. */
  readonly verified: {
    /** Content and entry hash to what is stored; a record that does not is no record, but the problem `damaged`. */
    readonly entry: true;
    /** The entry follows the one before it. */
    readonly chain: boolean;
    /** The trace's bytes hash to what the record names; null when it names none. */
    readonly trace: boolean | null;
  };
  /** The test as it ran, at most 600 instants; none when no trace was kept or it is damaged. */
  readonly frames: readonly Frame[];
  /** Where the readings were taken, on the test as it ran. */
  readonly taken: readonly Taken[];
}

/** How a lot stands. `open` takes parts at the line; a decision comes before whether it was closed. */
export type LotState = 'open' | 'closed' | 'accepted' | 'on-hold' | 'rejected';

/** When a lot was closed and by whom; `isByDraw`: with the draw of its sample. */
export interface LotClosing {
  readonly at: string;
  readonly by: string;
  readonly reason: string | null;
  readonly isByDraw: boolean;
}

/** Why the line does not test for a lot. Facts `lot`, and `serial` of a part that belongs to a held or rejected one. */
export const LOT_REFUSALS = ['lot-closed', 'lot-accepted', 'lot-on-hold', 'lot-rejected', 'of-held-lot'] as const;
