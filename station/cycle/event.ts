import type { Fault } from '../faults.ts';
import type { Hash } from '../hash.ts';
import type { CycleKind } from '../profile/schema.ts';
import type { Judgement } from './judge.ts';
import type { Reading } from './reading.ts';
import type { NestResult } from './result.ts';
import type { ReasonCode } from '../reasons.ts';
import type { PhaseId } from '../profile/plan.ts';
import type { SoakProof } from '../soak/soak.ts';

/** A part's identity; unserialised parts carry lot and running number. */
export type Serial = string;

/** One place a nest; null is empty. */
export type Load = readonly (Serial | null)[];

/**
 * What a cycle says while it runs: plain, cloneable, in order. Everything else (record, live screen, replay) is a fold
 * of these. `atMs` counts from the opening of the cycle in the rig's own time.
 *
 * `opened` must be on disk before anything moves, `closed` before any verdict leaves the station; nothing waits for the
 * others. Blocks of samples pass by beside the events (`Onlooker`): no event depends on whether anyone looks.
 */
export type CycleEvent =
  | {
      readonly type: 'opened';
      readonly atMs: 0;
      readonly plan: Hash;
      readonly kind: CycleKind;
      readonly load: Load;
      readonly soak?: SoakProof | undefined;
    }
  | { readonly type: 'phase'; readonly atMs: number; readonly phase: PhaseId }
  | { readonly type: 'isolated'; readonly atMs: number; readonly nest: number; readonly reason: ReasonCode }
  | { readonly type: 'reading'; readonly atMs: number; readonly reading: Reading }
  | { readonly type: 'judgement'; readonly atMs: number; readonly judgement: Judgement }
  | { readonly type: 'fault'; readonly atMs: number; readonly fault: Fault }
  | {
      readonly type: 'vented';
      readonly atMs: number;
      readonly vented: boolean;
      readonly nestKpaAbs: readonly (number | null)[];
    }
  | { readonly type: 'closed'; readonly atMs: number; readonly results: readonly NestResult[] }
  | { readonly type: 'released'; readonly atMs: number; readonly released: boolean };
