import { z } from 'zod';
import type { AuditLine, AuditView, Decided } from '../contract.ts';
import type { AuditPoint, Cell, SamplingPlan, Stage } from '../evaluation/contract.ts';

/** Which two audits are meant; `other` is what `audit` is held against. */
export const ComparisonParams = z.object({ audit: z.string().min(1).max(100), other: z.string().min(1).max(100) });

/** What is compared of an audit; an `AuditView` is one. */
export type Comparable = Pick<
  AuditView,
  | 'audit'
  | 'partNumber'
  | 'lot'
  | 'station'
  | 'origin'
  | 'drawnAt'
  | 'phase'
  | 'decision'
  | 'rig'
  | 'rule'
  | 'input'
  | 'evaluation'
> & { readonly profile: Omit<AuditView['profile'], 'document'> };

/** Another audit of the same part number that something was measured in. */
export type OtherAudit = Pick<AuditLine, 'audit' | 'lot' | 'drawnAt' | 'phase' | 'decision'>;

/** One of the two: whose it is, and its own cells. */
export interface ComparedSide {
  readonly audit: string;
  readonly lot: string;
  readonly station: string;
  readonly origin: 'real' | 'simulated';
  readonly drawnAt: string;
  readonly phase: AuditView['phase'];
  readonly decision: Decided | null;
  readonly revision: number;
  readonly plan: SamplingPlan;
  /** Parts of the sample. */
  readonly parts: number;
  readonly stages: readonly Stage[];
  readonly points: readonly AuditPoint[];
  readonly cells: readonly Cell[];
}

/** What a test of one cell says. Bounds are 95 % for this one value; p is of two sides. */
export interface Tested {
  readonly value: number;
  readonly low: number;
  readonly high: number;
  readonly p: number;
  /** p for the number of tests (Holm over the means and spreads of all cells). */
  readonly adjusted: number;
  readonly isBeyondChance: boolean;
}

/** One point of one condition that both have. Errors and spreads are kPa. */
export interface ComparedCell {
  /** The stage in each; a condition that is returned to meets the one that is returned to as often. */
  readonly stage: number;
  readonly otherStage: number;
  readonly step: string;
  readonly here: Cell;
  readonly there: Cell;
  /** Mean here less mean there, kPa. */
  readonly differenceKpa: number;
  /** The same with its bounds (Welch); null where a side has one part, or neither has any spread. */
  readonly mean: Tested | null;
  /** Standard deviation here over that there (F); null where a side has one part or no spread. */
  readonly spread: Tested | null;
  /** A shift of the mean from here on would be found nine times in ten, beyond chance; null with `mean`. */
  readonly shownFromKpa: number | null;
}

/**
 * What differs beyond chance, condition by condition, the largest first: by shares of what is allowed for means, then
 * spreads. Facts: stage, step (where it is largest), value (kPa, or a ratio), low, high, points (how many of the
 * condition), of.
 */
export interface Difference {
  readonly code: 'mean-lower' | 'mean-higher' | 'spread-wider' | 'spread-narrower';
  readonly facts: Readonly<Record<string, number | string>>;
}

/** Why the two are not alike in what they are, so that a difference need not be the parts'. */
export interface Caveat {
  readonly code: /** The two profile revisions. Facts: here, there. */
    | 'other-revision'
    /** What the profile allows. Facts: here, there (kPa at a temperature factor of 1). */
    | 'other-limits'
    /** The temperature factors of the profile. */
    | 'other-factors'
    /** Facts: here, there (kinds of rule), hereFactor, thereFactor ('' without a guard band). */
    | 'other-rule'
    /** Facts: here, there (stations), hereIssue, thereIssue (of the rig). */
    | 'other-rig'
    /** Facts: here, there (kinds of plan). */
    | 'other-plan'
    /** One was measured on a simulated rig, the other on a real one. Facts: which (the simulated one). */
    | 'other-origin'
    /** Not every part was tested at every condition. Facts: which, parts, of. */
    | 'unfinished'
    /** Given up before its end. Facts: which. */
    | 'abandoned'
    /** Values that do not look normal. Facts: which. */
    | 'not-normal'
    /** Serials that are in both samples: the two are not independent. Facts: parts. */
    | 'same-parts'
    /** Points of conditions that only one has. Facts: which, cells. */
    | 'only-one';
  readonly facts: Readonly<Record<string, number | string>>;
}

/** Where the smallest shift that is found for nearly certain is best and worst. */
export interface Unseen {
  readonly stage: number;
  readonly step: string;
  readonly kPa: number;
}

/** Two audits of one part number. */
export interface AuditComparison {
  readonly partNumber: string;
  readonly here: ComparedSide;
  readonly there: ComparedSide;
  /** In the order of the first one's stages, then of its points. */
  readonly cells: readonly ComparedCell[];
  /** `nothing-common`: no cell is in both; `untested`: no cell has enough parts. */
  readonly standing: 'differs' | 'alike' | 'untested' | 'nothing-common';
  readonly differences: readonly Difference[];
  readonly caveats: readonly Caveat[];
  /** How many tests were made together. */
  readonly tests: number;
  /** Null where no mean could be tested. */
  readonly unseen: { readonly best: Unseen; readonly worst: Unseen } | null;
}
