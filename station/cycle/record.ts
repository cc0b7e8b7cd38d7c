import type { Fault } from '../faults.ts';
import type { Hash } from '../hash.ts';
import type { PhaseId } from '../profile/plan.ts';
import type { CycleKind } from '../profile/schema.ts';
import type { SoakProof } from '../soak/soak.ts';
import type { Load } from './event.ts';
import type { Judgement } from './judge.ts';
import type { Reading } from './reading.ts';
import type { NestResult } from './result.ts';

/** What was measured and decided: the same seed gives the same bytes of its canonical JSON. */
export interface Measurement {
  readonly format: 1;
  readonly kind: CycleKind;
  readonly plan: Hash;
  readonly load: Load;
  /** What a test in a chamber rests on; other cycles have none. */
  readonly soak?: SoakProof | undefined;
  readonly phases: readonly { readonly phase: PhaseId; readonly fromMs: number; readonly toMs: number }[];
  readonly readings: readonly Reading[];
  readonly judgements: readonly Judgement[];
  readonly results: readonly NestResult[];
  readonly faults: readonly Fault[];
  /** Whether every nest was measured at ambient at the end. */
  readonly vented: boolean;
}

/** Where, when and by whom. Times are UTC from the wall clock (ISO 8601) with the monotonic time beside them. */
export interface Circumstances {
  readonly cycle: string;
  readonly station: string;
  readonly origin: 'real' | 'simulated';
  readonly lot: string;
  readonly openedAt: string;
  readonly openedMonotonicMs: number;
  readonly closedAt: string;
  readonly closedMonotonicMs: number;
  readonly program: string;
  /** SHA-256 of the trace's bytes; null when no trace was taken. */
  readonly trace: Hash | null;
  readonly barometerKpaAbs: number | null;
  readonly roomC: number | null;
  readonly actor: { readonly name: string; readonly role: string; readonly proof: 'stated' | 'pin' | 'token' };
  /** How to repeat a simulated cycle; null on a real rig. */
  readonly seed: number | null;
  /** The audit that it is part of: its load and stage, from 1. */
  readonly audit?: { readonly audit: string; readonly load: number; readonly stage: number } | undefined;
}

export interface CycleRecord {
  readonly measurement: Measurement;
  readonly circumstances: Circumstances;
}

/** Whether anything at the rig may have moved: the record of what was cut off, or not kept, does not say. */
export const mayHaveMoved = ({ phases, faults }: Pick<Measurement, 'phases' | 'faults'>): boolean =>
  phases.length > 0 || faults.some(({ code }) => code === 'interrupted' || code === 'not-kept');
