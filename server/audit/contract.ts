import { z } from 'zod';
import { ConditionId, PartNumber } from '../../station/profile/schema.ts';
import type { DecisionRule } from '../../station/profile/schema.ts';
import { StationId, line } from '../line/contract.ts';
import type { LotClosing, LotState } from '../records/contract.ts';
import type { Evaluation, EvaluationInput, PlanMisses, SamplingPlan, SwitchingReason } from './evaluation/contract.ts';
import type { LotDecided, LotPoint, LotReason } from './lot/contract.ts';

export type { LotDecided, LotPoint, LotReason, PointGroup } from './lot/contract.ts';

export const LotsQuery = z.object({
  limit: z.coerce.number().int().min(1).max(200).default(50).meta({ description: 'at most so many lots' }),
});
export const LotParams = z.object({ partNumber: z.string().min(1).max(40), lot: z.string().min(1).max(40) });

/** The serials of a lot by their last line verdict, each once. Counts of parts, not of tests. */
export interface LotCounts {
  readonly parts: number;
  readonly passed: number;
  readonly failed: number;
  /** Never judged yet: their last test was cut off or stopped. */
  readonly notJudged: number;
  /** Judged more than once on the line. */
  readonly retested: number;
  /** Serials that passed at their first judged cycle, of those that were judged. */
  readonly firstPass: { readonly passed: number; readonly of: number };
}

/** A lot in a list. */
export interface LotLine {
  readonly partNumber: string;
  readonly lot: string;
  readonly state: LotState;
  readonly origin: 'real' | 'simulated';
  readonly firstAt: string;
  readonly lastAt: string;
  readonly counts: LotCounts;
  /** The last decision; null while nobody has decided. */
  readonly decided: LotDecided | null;
}

/** A lot in full. */
export interface LotView extends LotLine {
  readonly title: string;
  readonly pressureClass: string;
  /** Profile revisions that its parts were tested by. */
  readonly revisions: readonly number[];
  readonly reasons: readonly LotReason[];
  readonly points: readonly LotPoint[];
  /** Null while it is open. A decision about it leaves this standing. */
  readonly closed: LotClosing | null;
  /** Parts that passed after its last sample was drawn: no sample stands for them. */
  readonly outside: number;
  /**
   * What a sample of it would be now, and what its plan would miss (null where the plan asks for more than passed); null while
   * no part has passed, or none is drawn.
   */
  readonly sample: { readonly n: number; readonly misses: PlanMisses | null } | null;
}

const person = line(60).meta({ description: 'who it is, stated by name' });

/** Closes a lot: no part is tested for it any more. */
export const CloseBody = z.strictObject({
  reason: line(300).nullable().default(null),
  role: z.enum(['operator', 'quality engineer']).default('quality engineer'),
  by: person,
});
/** Opens a closed lot again. */
export const OpenBody = z.strictObject({ reason: line(300), by: person });

/** How samples of a part number are to be drawn. */
export const SamplingPlanWish = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('zero-acceptance'),
    confidence: z.number().gt(0.5).max(0.999),
    badShare: z.number().min(0.0001).max(0.9),
  }),
  z
    .strictObject({
      kind: z.literal('attributes'),
      n: z.int().min(1).max(10_000),
      c: z.int().min(0).max(100),
      reference: line(100).nullable(),
    })
    .refine(({ c, n }) => c < n, 'fewer bad parts than parts are allowed')
    .refine(
      ({ c, reference }) => c === 0 || reference !== null,
      "a customer's reference is needed when bad parts are allowed",
    ),
  z.strictObject({
    kind: z.literal('variables'),
    n: z.int().min(3).max(10_000),
    k: z.number().min(0.1).max(9),
    reference: line(100).nullable(),
  }),
  z.strictObject({ kind: z.literal('fixed'), n: z.int().min(1).max(10_000) }),
]);
export const PlanBody = z.strictObject({ plan: SamplingPlanWish, reason: line(300), by: person });
export const ResumeBody = z.strictObject({ reason: line(300), by: person });
export const PlanParams = z.object({ partNumber: PartNumber });

/** How a part number's samples are drawn, and what a sample of one lot would be. */
export interface SamplingPlanView {
  readonly partNumber: string;
  readonly plan: SamplingPlan;
  /** Nobody said anything: this is what holds then. */
  readonly isDefault: boolean;
  readonly since: { readonly at: string; readonly by: string; readonly reason: string } | null;
  /** Where the inspection by attributes stands; null where no lot was judged by attributes yet. */
  readonly inspection: InspectionView | null;
  /** The conditions that its profile here has, in its order, °C; empty without a profile. */
  readonly conditions: readonly { readonly condition: ConditionId; readonly targetC: number }[];
  readonly inForce: PlanInForce;
}

/** What a sample is drawn by now. */
export interface PlanInForce {
  /** Null when no sample is drawn by the plan that was said. */
  readonly plan: SamplingPlan | null;
  /** How strictly lots are inspected; null for a plan that knows no severity. */
  readonly severity: InspectionView['severity'] | null;
  /** Under tightened inspection: letter and AQL of the normal plan, and whether the tightened cell is here from memory. */
  readonly tightened: { readonly letter: string; readonly aql: string; readonly fromMemory: boolean } | null;
  readonly notDrawn: NotDrawn | null;
}

/** Why no sample is drawn; a screen words it by its code. Facts: partNumber, n and c of the plan that was said. */
export interface NotDrawn {
  readonly code: 'sampling-discontinued' | 'no-tightened-plan';
  readonly facts: Readonly<Record<'partNumber', string> & Record<'n' | 'c', number>>;
}

/** The severity of an inspection by attributes, its switching score, and why it stands there. */
export interface InspectionView {
  readonly severity: 'normal' | 'tightened' | 'discontinued';
  readonly score: number;
  /** Null when it was taken up again since the last lot. */
  readonly explanation: SwitchingReason | null;
  /** Who took it up again since the last lot, and what was done; null when nobody did. */
  readonly resumed: { readonly at: string; readonly by: string; readonly reason: string } | null;
}

export const DrawBody = z.strictObject({
  partNumber: PartNumber,
  lot: line(40),
  station: StationId,
  /** Which of the profile's conditions, in the order of the test; all in its order where nothing is said. */
  conditions: z.array(ConditionId).min(1).max(9).optional(),
  /** Ambient once more at the end. */
  returnToAmbient: z.boolean().default(false),
  by: person,
});

/** What a person says about the sample. */
export const SampleAct = z.discriminatedUnion('type', [
  z.strictObject({ type: z.literal('found'), serial: line(100), by: person }),
  z.strictObject({ type: z.literal('missing'), serial: line(100), reason: line(300), by: person }),
  z.strictObject({ type: z.literal('abandon'), reason: line(300), by: person }),
]);
export type SampleAct = z.infer<typeof SampleAct>;

/** Whether the text is a time that there is: a day beyond its month is none. */
const isNoon = (text: string): boolean => {
  const at = new Date(text);
  return !Number.isNaN(at.getTime()) && at.toISOString() === text;
};

export const DecisionBody = z
  .strictObject({
    decision: z.enum(['accept', 'hold', 'reject']),
    reason: line(400),
    concession: z
      .strictObject({
        reference: line(100),
        quantity: z.int().min(1).max(10_000_000).nullable(),
        /** A day, said as its noon UTC: the same date wherever it is read. */
        until: z
          .string()
          .regex(/^\d{4}-\d{2}-\d{2}T12:00:00\.000Z$/, 'a day at noon UTC')
          .refine((noon) => isNoon(noon), 'a day of the calendar')
          .nullable(),
      })
      .nullable(),
    by: person,
  })
  .refine(
    ({ decision, concession }) => decision === 'accept' || concession === null,
    'only an acceptance has a concession',
  );
export type DecisionWish = Omit<z.infer<typeof DecisionBody>, 'by'>;

export const AuditsQuery = z.object({
  partNumber: z.string().max(40).optional(),
  lot: z.string().max(40).optional(),
  limit: z.coerce.number().int().min(1).max(100).default(30),
});
export const ReportQuery = z.object({
  paper: z.enum(['A4', 'Letter']).default('A4'),
  language: z.enum(['en', 'es']).default('en'),
});

/** A lot that is suspect beside one that was held or rejected; `neighbourOf` those for whose sake it is held. */
export interface SuspectLot {
  readonly lot: string;
  readonly is: 'this' | 'before' | 'after';
  readonly firstAt: string;
  readonly lastAt: string;
  readonly parts: number;
  readonly passed: number;
  readonly decision: 'accept' | 'hold' | 'reject' | null;
  readonly neighbourOf: readonly string[];
}

/** Which audit is meant. */
export const AuditParams = z.object({ audit: z.string().min(1).max(100) });

/** What an audit waits for, or does. */
export type AuditPhase =
  /** Parts of the draw are still to be found. */
  | 'finding'
  /** The next load can be put in. */
  | 'loading'
  /** The chamber is on its way, or a test runs. */
  | 'running'
  /** A load was cut off or stopped; it goes on when somebody says so. */
  | 'stopped'
  /** A load is done; its parts may come out when they can be touched. */
  | 'opening'
  /** Every load was tested; nobody has decided. */
  | 'deciding'
  | 'decided'
  /** Given up, with a reason. */
  | 'abandoned';

/** An audit in a list. */
export interface AuditLine {
  readonly audit: string;
  readonly partNumber: string;
  readonly lot: string;
  readonly station: string;
  readonly origin: 'real' | 'simulated';
  readonly drawnAt: string;
  readonly phase: AuditPhase;
  readonly parts: number;
  readonly decision: Decided | null;
  /** The smallest Ppk of all points and stages with its lower bound, and where. */
  readonly weakest: {
    readonly stage: number;
    readonly step: string;
    readonly ppk: number;
    readonly atLeast: number;
  } | null;
}

/** What was decided, by whom. */
export interface Decided {
  readonly decision: 'accept' | 'hold' | 'reject';
  readonly at: string;
  readonly by: string;
  readonly role: string;
  readonly proof: 'stated' | 'pin' | 'token';
  readonly reason: string;
  readonly concession: {
    readonly reference: string;
    readonly quantity: number | null;
    readonly until: string | null;
  } | null;
  readonly sequence: number;
  readonly hash: string;
}

/** Why a condition was believed to be reached, and the cycle that rests on it. */
export interface StageRun {
  readonly load: number;
  readonly stage: number;
  readonly cycle: string;
  readonly openedAt: string;
  readonly closedAt: string;
  readonly sequence: number;
  readonly hash: string;
  /** Faults of the station end a test without verdicts. */
  readonly faults: readonly string[];
  /** Null: no chamber was driven (none of today's audits). */
  readonly soak: {
    readonly airC: number;
    readonly coreLowC: number;
    readonly coreHighC: number;
    readonly tookMs: number;
    readonly lags: { readonly shellS: number; readonly coreS: number };
  } | null;
  /** Lowest and highest measured part temperature at the points, °C. */
  readonly partLowC: number | null;
  readonly partHighC: number | null;
}

/** The rig and the calibration that were in force for some of an audit's cycles, one after the other. */
export interface RigInForce {
  readonly issue: number;
  /** Of the rig revision in the cycles' plans. */
  readonly hash: string;
  /** The last one kept of the station before each of the cycles was opened; null when none was. */
  readonly calibration: {
    readonly evidence: string;
    readonly state: 'valid' | 'due' | 'failed';
    readonly until: string | null;
    readonly at: string;
    readonly sequence: number;
  } | null;
  /** How many cycles, and from the first's opening to the last's closing. */
  readonly tests: number;
  readonly from: string;
  readonly to: string;
}

/** Everything of an audit: for the screen, the report, and the exports. */
export interface AuditView extends Omit<AuditLine, 'parts'> {
  readonly plant: string;
  readonly title: string;
  readonly pressureClass: string;
  readonly profile: {
    readonly revision: number;
    readonly hash: string;
    readonly document: string;
    /** The error that is allowed at each temperature factor of 1, kPa, and the factors. */
    readonly errorKpa: number;
    readonly factors: readonly { readonly partC: number; readonly factor: number }[];
  };
  readonly rig: {
    /** Of the first cycle; before there is one, of the station now. */
    readonly issue: number;
    readonly hash: string;
    /** What the calibrations in force rest on, each once; empty when there was none. */
    readonly calibration: string;
    /** In the order of the ledger; empty before the first cycle. */
    readonly inForce: readonly RigInForce[];
  };
  readonly rule: DecisionRule;
  readonly program: string;
  readonly draw: {
    readonly at: string;
    readonly by: string;
    readonly method: string;
    /** What the draw was made of: the head of the ledger, part number and lot. */
    readonly seed: string;
    readonly lotSize: number;
    /** SHA-256 of the sorted serials of the lot that had passed, one a line: the list of which places were drawn. */
    readonly lotHash: string;
    /** In the order drawn. */
    readonly serials: readonly string[];
    readonly sequence: number;
    readonly hash: string;
    /** Which draw of this lot it is, from 1: earlier ones are in the ledger too. */
    readonly number: number;
    /** How strictly its part number was inspected by attributes at the draw; null for plans that know no severity. */
    readonly severity: 'normal' | 'tightened' | null;
    /** Conditions that the profile has and that were not chosen at the draw. */
    readonly leftOut: readonly ConditionId[];
  };
  /** How each drawn part stands. */
  readonly sample: readonly {
    readonly serial: string;
    readonly state: 'drawn' | 'found' | 'missing';
    readonly reason: string | null;
    readonly load: number | null;
    readonly nest: number | null;
    /** Where and when it passed at the line last; null where no such test is kept. */
    readonly line: { readonly station: string; readonly at: string } | null;
  }[];
  readonly nests: number;
  readonly runs: readonly StageRun[];
  /** What came between, in the order of the ledger. */
  readonly interruptions: readonly {
    readonly at: string;
    readonly load: number;
    readonly stage: number;
    readonly what: string;
  }[];
  readonly input: EvaluationInput;
  readonly evaluation: Evaluation;
  /** Earlier decisions, the newest first. */
  readonly before: readonly Decided[];
  /** The latest decision on the lot, where it does not rest on this audit: how the lot stands now. */
  readonly lotNow: Decided | null;
  /** The last audits of this part number, oldest first, this one included. */
  readonly trend: readonly {
    readonly audit: string;
    readonly lot: string;
    readonly at: string;
    readonly ppk: number;
    readonly atLeast: number | null;
  }[];
}

/** How far the making of a demo history is: lots done, of how many, and which is on its way. */
export interface HistoryProgress {
  readonly done: number;
  readonly of: number;
  readonly lot: string;
}
