import type { Verdict } from '../../../station/cycle/result.ts';
import type { ConditionId } from '../../../station/profile/schema.ts';

/**
 * What an audit measured and what follows from it. Errors and bands are kPa, temperatures °C; nests, loads and stages
 * count from 1. A stage is one condition of an audit in its order: an ambient that is returned to is a stage of its own.
 */

/** How many parts of a lot are looked at, and by what rule the lot is judged. */
export type SamplingPlan =
  /** No bad part may be found; n follows from the lot: with `confidence`, a lot with `badShare` or more bad is refused. */
  | { readonly kind: 'zero-acceptance'; readonly confidence: number; readonly badShare: number }
  /** At most c bad parts of n; `reference` is the customer's, asked for when c is above zero. */
  | { readonly kind: 'attributes'; readonly n: number; readonly c: number; readonly reference: string | null }
  /** Mean k sample standard deviations from both limits, at every point of every condition (separate control). */
  | { readonly kind: 'variables'; readonly n: number; readonly k: number; readonly reference: string | null }
  /** A process audit: it watches a process and judges no lot. */
  | { readonly kind: 'fixed'; readonly n: number };

export interface Stage {
  readonly stage: number;
  readonly condition: ConditionId;
  readonly targetC: number;
  /** A condition that was tested before in this audit. */
  readonly isAgain: boolean;
}

/** A pressure point of the profile. `kPaAbs` is null for the one that is whatever the barometer says. */
export interface AuditPoint {
  readonly step: string;
  readonly kPaAbs: number | null;
  /** From which side the pressure came. */
  readonly branch: 'falling' | 'rising';
  /**
   * Null for the line's points. What only audits take: the pressure of the step `of` once more, from the other side, or
   * (where it was set, V) at another supply while it stood there.
   */
  readonly again: { readonly of: string; readonly supplyV: number | null } | null;
}

/** One part of the sample. `results` has one place for each stage, in order; null: not tested there (yet). */
export interface AuditPart {
  readonly serial: string;
  readonly load: number | null;
  readonly nest: number | null;
  readonly results: readonly ({ readonly verdict: Verdict; readonly reason: string | null } | null)[];
}

/** One judged output reading. */
export interface AuditReading {
  readonly serial: string;
  readonly nest: number;
  readonly stage: number;
  readonly step: string;
  /** The pressure of the point: for the barometer's point what the barometer said. */
  readonly pointKpaAbs: number;
  /** The part's error at the pressure that was there, and its standard uncertainty. */
  readonly errorKpa: number;
  readonly uKpa: number;
  /** The error that is allowed, to both sides, at the part's measured temperature. */
  readonly allowedKpa: number;
  readonly partC: number;
}

/** One judged lag of an output behind the pressure, ms. */
export interface AuditLag {
  readonly serial: string;
  readonly nest: number;
  readonly stage: number;
  readonly lagMs: number;
  readonly uMs: number;
  readonly limitMs: number;
}

/** What the line read of the same parts at ambient: their last passed line test before the draw. */
export interface LineReading {
  readonly serial: string;
  readonly step: string;
  readonly errorKpa: number;
}

/** Everything that an evaluation rests on; nothing else has a say in it. */
export interface EvaluationInput {
  readonly stages: readonly Stage[];
  readonly points: readonly AuditPoint[];
  readonly parts: readonly AuditPart[];
  readonly missing: readonly { readonly serial: string; readonly reason: string }[];
  readonly readings: readonly AuditReading[];
  readonly lags: readonly AuditLag[];
  /** Width of the rated pressure range: what shares of the span are of. */
  readonly spanKpa: number;
  readonly line: readonly LineReading[];
  readonly plan: SamplingPlan;
  /** Parts of the lot that had passed when it was drawn. */
  readonly lotSize: number;
  /** The Ppk that is wanted at every point. */
  readonly wantedPpk: number;
}

/** One point in one stage. Indices are of values as shares of their own allowed band (limits move with temperature). */
export interface Cell {
  readonly stage: number;
  readonly step: string;
  readonly pointKpaAbs: number;
  readonly n: number;
  readonly meanKpa: number;
  /** Null for one part. */
  readonly sdKpa: number | null;
  /** Mean of what was allowed to the parts. */
  readonly allowedKpa: number;
  /** Of parts that the line released; null without spread. */
  readonly ppk: number | null;
  /** Its exact lower bound at 95 %; null without spread. */
  readonly atLeast: number | null;
  /** The smallest margin of a part (1 centred, 0 on the limit), and whose. */
  readonly margin: number;
  readonly worstSerial: string;
  /** Shapiro-Wilk of the shares; `adjusted` for the number of cells (Holm). Null below three parts, and without spread. */
  readonly normality: { readonly p: number | null; readonly adjusted: number | null };
  /** Where 99 % of parts lie, 95 % sure, if normal; null below two parts. */
  readonly tolerance: { readonly lowKpa: number; readonly highKpa: number } | null;
}

/** How the same parts' errors changed, at the line's points, from the first ambient stage to another one, kPa. */
export interface Drift {
  readonly stage: number;
  readonly step: string;
  readonly n: number;
  readonly meanKpa: number;
  /** 95 % bounds of the mean, of these parts against themselves; null for one part. */
  readonly bounds: { readonly lowKpa: number; readonly highKpa: number } | null;
  /** Of the parts' own changes; null for one part. */
  readonly sdKpa: number | null;
  /** The part that changed most, either way. */
  readonly largest: { readonly serial: string; readonly kPa: number };
  /** What the factor of the temperature allows to both sides there beyond what it allows at ambient: means of the parts. */
  readonly addedKpa: number;
}

/** The line against the lab, same serials, at the first ambient stage: line - lab. */
export interface LineAgainstLab {
  readonly parts: number;
  readonly biasKpa: number;
  /** Limits of agreement: 95 % of differences; null for one pair. */
  readonly lowKpa: number | null;
  readonly highKpa: number | null;
  readonly steps: readonly { readonly step: string; readonly n: number; readonly biasKpa: number }[];
  readonly pairs: readonly {
    readonly serial: string;
    readonly step: string;
    readonly pointKpaAbs: number;
    readonly differenceKpa: number;
  }[];
}

/** One number of each part over the sample. `largest` is that of the largest size, with its sign; `serial` whose it is. */
export interface SampleSpread {
  readonly n: number;
  readonly mean: number;
  /** Null for one part. */
  readonly sd: number | null;
  readonly largest: number;
  readonly serial: string;
  readonly parts: readonly { readonly serial: string; readonly value: number }[];
}

/**
 * What the points that only audits take, and the lag, say of the sample, in the order of stages, then of points. kPa but for
 * the response; over `spanKpa` of the input they are shares of the span. Lists are empty where the profile asks for none.
 */
export interface Characteristics {
  /** Output rising less falling at the same pressure, at the line's point `step`. */
  readonly hysteresis: readonly (SampleSpread & { readonly stage: number; readonly step: string })[];
  /** Largest departure of the mean of both branches from the least-squares line through all readings. */
  readonly linearity: readonly (SampleSpread & { readonly stage: number })[];
  /** Error at another supply less that at the nominal one, the pressure standing: 0 where a part is what its kind says. */
  readonly supply: readonly (SampleSpread & {
    readonly stage: number;
    readonly step: string;
    readonly supplyV: number;
  })[];
  /** Lag of the output behind the pressure, ms. */
  readonly response: readonly (SampleSpread & { readonly stage: number; readonly limitMs: number })[];
}

/**
 * What was noticed, most urgent first; a screen words it by its code. Facts: stage, step, nest and serial where it has
 * them, and numbers in kPa (`kPa`), as shares (`share`) or counts (`parts`, `of`).
 */
export interface Finding {
  readonly code: /** A part is outside its limits. Facts: serial, stage, step, kPa (its error), allowedKpa. */
    | 'part-outside'
    /** A part failed for something else than an output. Facts: serial, stage, reason. */
    | 'part-failed'
    /** A part was not judged in a stage. Facts: serial, stage, reason. */
    | 'part-not-judged'
    /** The error of a stage runs with pressure, all its points taken together. Facts: stage, kPa (change over the points' range
     *  against the first ambient stage), parts (how many alike), of. */
    | 'span-falls'
    | 'span-rises'
    /** The error moves alike at all points. Facts: stage, kPa, parts, of. */
    | 'offset-falls'
    | 'offset-rises'
    /** The nest's readings stand off the others', judged by what the line read of the same parts. Facts: nest, kPa. */
    | 'nest-low'
    | 'nest-high'
    /** Back at ambient the parts read otherwise than before. Facts: stage, step, kPa. */
    | 'ambient-changed'
    /** The line reads otherwise than the lab. Facts: kPa (line - lab). */
    | 'line-off'
    /** Values of a cell do not look normal even adjusted for the number of cells. Facts: stage, step, p. */
    | 'not-normal';
  readonly facts: Readonly<Record<string, number | string>>;
}

/** A decision that the plan's rule proposes, with its arithmetic; a screen words it by code. */
export interface Proposal {
  readonly decision: 'accept' | 'hold' | 'reject' | null;
  readonly because: readonly {
    readonly code: /** Null decision: nothing, or not everything, was tested yet. Facts: parts, of. */
      | 'unfinished'
      /** Facts: bad, allowed, n. */
      | 'too-many-bad'
      | 'few-enough-bad'
      /** The same of a process audit, which allows no number of bad parts for it judges no lot. */
      | 'bad-seen'
      | 'none-bad-seen'
      /** Facts: stage, step, ppk, wanted. */
      | 'ppk-below'
      | 'ppk-reached'
      /** Points whose readings give no Ppk: all equal, or a single one beside others. Facts: stage, step (the first), cells. */
      | 'no-ppk'
      /** Variables plan. Facts: stage, step, quality (the smaller index), k. */
      | 'k-below'
      | 'k-reached'
      /** Parts that have no verdict, or whose readings give a variables plan no index (one, or all equal). Facts: parts. */
      | 'not-judged'
      /** Parts of the sample that are not to be found. Facts: parts. */
      | 'missing';
    readonly facts: Readonly<Record<string, number | string>>;
  }[];
}

export interface Evaluation {
  /** In the order of stages, then of points. */
  readonly cells: readonly Cell[];
  /** The cell with the smallest Ppk (the smallest margin where none has one); null before any reading. */
  readonly weakest: { readonly stage: number; readonly step: string } | null;
  readonly normality: { readonly tests: number; readonly smallest: number | null; readonly isNormal: boolean | null };
  readonly drifts: readonly Drift[];
  readonly lineAgainstLab: LineAgainstLab | null;
  readonly characteristics: Characteristics;
  readonly findings: readonly Finding[];
  readonly proposal: Proposal;
  /** Parts with a failed verdict in any stage, and those with none in some stage. */
  readonly bad: number;
  readonly notJudged: number;
  /** The Ppk that this many parts would have to show to prove the wanted one, at 95 %; null below two parts. */
  readonly ppkToProve: number | null;
  /** What the plan would miss. */
  readonly misses: PlanMisses;
  /** What the parts that were judged would miss, where they are fewer than the plan asks for; null before the end. */
  readonly missesJudged: MissesJudged | null;
}

/** What a plan lets through; a screen words it by its code. Probabilities and shares are fractions. */
export interface PlanMisses {
  readonly code: /** As many bad parts are allowed as are inspected: every lot is accepted. */
    | 'accepts-all'
    /** Every part of the lot is inspected; accepted with at most c bad. */
    | 'whole-lot'
    /** A lot (lot parts) with `few` bad ones is accepted with probability `accepted`; `bad` ones stop it 9 times in 10. */
    | 'lot'
    /** Every part of the lot is inspected; none may be bad. */
    | 'whole-lot-none-bad'
    /** None of n may be bad: a lot (lot parts) with `bad` bad ones is accepted with probability `missed`. */
    | 'none-bad'
    /** By variables nearly every lot is accepted, or refused. */
    | 'variables-all'
    | 'variables-none'
    /** By variables: a lot with the share `usual` beyond the limit is accepted 95 times in 100, with `stopped` 10 times. */
    | 'variables'
    /** A process audit of n parts: a lot with the `share` bad is accepted with probability `missed`. */
    | 'process-audit';
  readonly facts: Readonly<Record<string, number>>;
}

/**
 * What fewer parts than the plan asks for let through; a screen words it by its code. Facts: judged and of (parts), and by code
 * what belongs to it. Probabilities and shares are fractions.
 */
export interface MissesJudged {
  readonly code: /** No part has a verdict everywhere. */
    | 'judged-none'
    /** At most c bad parts among those judged: a lot (lot parts) with `bad` bad ones is accepted with probability `missed`. */
    | 'judged-fewer'
    /** By variables: `share` beyond the limit is accepted with probability 0.1. */
    | 'judged-fewer-variables'
    /** A process audit: a lot with the `share` bad is accepted with probability `missed`. */
    | 'judged-fewer-process';
  readonly facts: Readonly<Record<string, number>>;
}

/**
 * What the last lot did to the series; a screen words it by its code. Facts: the verdict about the lot, and by code what
 * belongs to it.
 */
export interface SwitchingReason {
  readonly code:
    | 'discontinued'
    | 'presented-again'
    /** The second of the last `lots` lots that was not accepted. */
    | 'to-tightened'
    /** The score has grown to `score`; with `reduced-possible` it is enough for reduced inspection. */
    | 'score'
    | 'reduced-possible'
    /** Not accepted; or accepted with `bad` bad ones where the AQL one step tighter allows `allowed`. */
    | 'score-lost'
    | 'score-lost-tighter'
    | 'to-discontinued'
    | 'to-normal'
    /** The last `row` accepted of the `of` that lead back to normal. */
    | 'tightened-accepted'
    /** In all `refused` not accepted of the `of` that end sampling. */
    | 'tightened-refused';
  readonly facts: Readonly<Record<string, number | 'accepted' | 'refused'>>;
}
