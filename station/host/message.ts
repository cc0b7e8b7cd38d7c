import type { CycleEvent, Load } from '../cycle/event.ts';
import type { Proof } from '../cycle/proof.ts';
import type { Fault, FaultCode, Facts } from '../faults.ts';
import type { Plan } from '../profile/plan.ts';
import type { ProfileRevision } from '../profile/schema.ts';
import type { Interlocks, SafeState } from '../rig/port.ts';
import type { RigRevision } from '../rig/revision.ts';
import type { DummyRun } from '../soak/lags-fit.ts';
import type { SoakEvent, Soaking, SoakProof } from '../soak/soak.ts';

/**
 * What the server tells a station, one process to another. Both ends are of one build: the types bind them, and what is
 * kept is checked by the store against its schemas.
 */
export type Command<Demo> =
  /** Runs a cycle. Refused (`refused`) while another runs. `demo` is what a simulated rig is loaded with. */
  | {
      readonly type: 'cycle';
      readonly cycle: string;
      readonly plan: Plan;
      readonly load: Load;
      readonly proofs: readonly Proof[];
      readonly demo: Demo | null;
      /** What an audit in a chamber rests on; other cycles have none. */
      readonly soak?: SoakProof | undefined;
    }
  /** Drives the chamber and waits for the parts; answered by `soak`. A simulated rig is loaded with `demo` before. */
  | { readonly type: 'soak'; readonly soaking: Soaking; readonly demo: Demo | null }
  /**
   * Lets instrumented dummies under full load follow the chamber from the room to each temperature in turn, °C; answered
   * by `soak-studied`.
   */
  | { readonly type: 'study-soak'; readonly profile: ProfileRevision; readonly targetsC: readonly number[] }
  /** The answer to an event of a cycle that waits for its disk. */
  | { readonly type: 'kept'; readonly cycle: string; readonly number: number; readonly kept: boolean }
  /** Stops the cycle that runs, as the operator does. */
  | { readonly type: 'stop' }
  /** Measures what every nest does on its own with a part number; answered by `characterised`. */
  | { readonly type: 'characterise'; readonly profile: ProfileRevision; readonly revision: RigRevision }
  /** Lets something go wrong with (or takes everything off) a simulated rig. */
  | { readonly type: 'demo'; readonly demo: Demo }
  /** Ends the station: a running cycle is stopped, the rig made safe, then the process exits. */
  | { readonly type: 'end' };

/** Pressures of the rig now. kPa abs; null where an instrument does not answer. */
export interface Look {
  readonly barometerKpaAbs: number | null;
  readonly nestKpaAbs: readonly (number | null)[];
  /** Whether every nest was measured at ambient. */
  readonly vented: boolean;
  readonly roomC: number | null;
  /** The chamber's air, and the parts' thermometers by nest, °C; null where there is none, or it does not answer. */
  readonly chamberC: number | null;
  readonly partC: readonly (number | null)[];
  readonly inputs: Interlocks | null;
  /** What keeps the rig from being looked at. */
  readonly fault: Fault | null;
}

/** The means of one block on its way to a screen. */
export interface Live {
  readonly atMs: number;
  readonly controllerKpaAbs: number;
  readonly nests: readonly {
    readonly referenceKpaAbs: number;
    readonly outputV: number;
    readonly supplyV: number;
    readonly supplyMa: number;
  }[];
}

/** What comes with the closing of a cycle: the trace's bytes and the air of the room. */
export interface Closing {
  readonly trace: Uint8Array;
  readonly barometerKpaAbs: number | null;
  readonly roomC: number | null;
}

/** What a station tells its server. */
export type Message =
  /** The first word: the rig was made safe and measured. */
  | { readonly type: 'awake'; readonly revision: RigRevision; readonly safe: SafeState }
  /** The rig at rest, twice a second. */
  | { readonly type: 'look'; readonly look: Look }
  /**
   * An event of the running cycle, numbered from 0. The cycle waits for `kept` where `waits`; `closing` stands beside
   * the event `closed`.
   */
  | {
      readonly type: 'event';
      readonly cycle: string;
      readonly number: number;
      readonly event: CycleEvent;
      readonly waits: boolean;
      readonly closing: Closing | null;
    }
  | { readonly type: 'live'; readonly cycle: string; readonly live: Live }
  /** The cycle is over and the station ready for the next command. */
  | { readonly type: 'ended'; readonly cycle: string }
  /** Holds of a characterisation that are done. */
  | { readonly type: 'progress'; readonly done: number; readonly of: number }
  | { readonly type: 'characterised'; readonly revision: RigRevision }
  /** What the chamber and its parts do while they are waited for. */
  | { readonly type: 'soak'; readonly event: SoakEvent }
  | { readonly type: 'soak-studied'; readonly runs: readonly DummyRun[] }
  /** A command that was not carried out. */
  | {
      readonly type: 'refused';
      readonly command: Command<never>['type'];
      readonly code: FaultCode | 'busy';
      readonly facts: Facts;
    };
