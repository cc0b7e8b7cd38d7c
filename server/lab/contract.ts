import { z } from 'zod';
import type { FaultCode } from '../../station/faults.ts';
import type { PhaseId } from '../../station/profile/plan.ts';
import type { ConditionId } from '../../station/profile/schema.ts';
import { StationId, line } from '../line/contract.ts';
import type { ProofView } from '../line/contract.ts';

/** What a lab station and its screens say to each other. Loads, stages and nests count from 1; temperatures are °C. */

const name = line(60);
const auditId = z.string().min(1).max(100);
const serial = z.string().trim().min(1).max(100);

export const LabParams = z.object({ station: StationId });

/** Everything that a person can tell a lab station. What cannot be done now is refused (409) with a code. */
export const LabCommand = z.discriminatedUnion('type', [
  /** The masters read right; kept under the name, until the shift ends. */
  z.strictObject({ type: z.literal('state-masters'), by: name, partNumber: z.string().max(20) }),
  /** Lets the station learn what its nests do with a part number. */
  z.strictObject({ type: z.literal('characterise'), partNumber: z.string().max(20) }),
  /** Lets instrumented dummies show how slowly parts follow the chamber. */
  z.strictObject({ type: z.literal('study-soak'), by: name, partNumber: z.string().max(20) }),
  /** Puts a load in: one place a nest. The chamber then goes through all conditions. */
  z.strictObject({
    type: z.literal('begin'),
    by: name,
    audit: auditId,
    places: z.array(serial.nullable()).min(1).max(64),
  }),
  /** Stops what runs; heat and pressure are taken off. */
  z.strictObject({ type: z.literal('stop') }),
  /** Goes on with a load that was cut off or stopped, from a soak that is proved anew. */
  z.strictObject({ type: z.literal('resume'), by: name, audit: auditId }),
  /** The door was opened and the load taken out. */
  z.strictObject({ type: z.literal('taken-out'), by: name }),
]);
export type LabCommand = z.infer<typeof LabCommand>;

/** Why the door may not be opened; `ready` when it may. */
export type DoorState = 'ready' | 'running' | 'pressure' | 'too-hot' | 'too-cold' | 'not-measured';

/** Everything that the screen of a lab station shows. */
export interface LabView {
  readonly station: string;
  readonly plant: string;
  readonly origin: 'real' | 'simulated';
  readonly nests: number;
  readonly link: 'starting' | 'up' | 'lost';
  /** `coming-down`: all is tested, the chamber goes to where parts can be touched. */
  readonly doing: 'rest' | 'soaking' | 'testing' | 'coming-down' | 'learning';
  readonly load: {
    readonly audit: string;
    readonly partNumber: string;
    readonly lot: string;
    readonly load: number;
    readonly stage: number;
    readonly stages: number;
    readonly condition: ConditionId;
    readonly places: readonly (string | null)[];
  } | null;
  readonly soak: {
    readonly targetC: number;
    readonly airC: number;
    readonly coreLowC: number;
    readonly coreHighC: number;
    readonly atMs: number;
    /** Seconds yet if all goes well; null while it waits for something. */
    readonly leftS: number | null;
    /** What the soak waits for: an open door (the heat is off), missing air or vacuum; null for nothing. */
    readonly heldBy: FaultCode | null;
  } | null;
  /** When the load that is inside and the whole audit end, if all goes well; null where nobody can say. */
  readonly ends: {
    readonly load: Ending;
    readonly audit: Ending;
    /** Loads still to be put in, and what is counted for each by hand, s. */
    readonly loadsToCome: number;
    readonly handlingS: number;
  } | null;
  readonly phase: PhaseId | null;
  readonly isStopping: boolean;
  readonly chamberC: number | null;
  readonly roomC: number | null;
  readonly partC: readonly (number | null)[];
  readonly isVented: boolean | null;
  readonly door: DoorState;
  readonly guardShut: boolean | null;
  readonly touch: { readonly lowC: number; readonly highC: number };
  readonly progress: { readonly done: number; readonly of: number } | null;
  readonly trouble: FaultCode | null;
  /** How many times as fast as a wall clock a simulated chamber passes its waits; null on a real rig. */
  readonly soakPace: number | null;
}

/** An estimated end: the instant, and seconds on the wall until it. */
export interface Ending {
  readonly at: string;
  readonly leftS: number;
}

/** What the stream of the lab begins with: every station, and how far the ledger is. */
export interface LabSnapshot {
  readonly labs: readonly LabView[];
  readonly head: number;
}

/** What the ledger took in that pages of the lab rest on. */
export interface KeptNote {
  readonly sequence: number;
  readonly about: 'audit' | 'decision' | 'lot' | 'plan' | 'station';
  readonly audit: string | null;
}

/** What a lab station has to show before it audits a part number. */
export interface LabReadiness {
  readonly proofs: readonly ProofView[];
  /** The slowest 1 % of parts' lags, s; null when they were never studied here. */
  readonly soakStudy: {
    readonly at: string;
    readonly shellS: number;
    readonly coreS: number;
    readonly dummies: number;
    readonly worstRmsK: number;
  } | null;
}
