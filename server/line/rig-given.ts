import type { Clock } from '../../station/clock.ts';
import type { Proof } from '../../station/cycle/proof.ts';
import type { Demo } from '../../station/host/demo.ts';
import type { Command } from '../../station/host/message.ts';
import type { Circumstances } from '../../station/cycle/record.ts';
import type { FaultCode } from '../../station/faults.ts';
import type { Look } from '../../station/host/message.ts';
import type { DummyRun } from '../../station/soak/lags-fit.ts';
import type { SoakEvent, SoakProof } from '../../station/soak/soak.ts';
import type { Plan } from '../../station/profile/plan.ts';
import type { RigRevision } from '../../station/rig/revision.ts';
import type { Store } from '../store/store.ts';
import type { LiveView } from './contract.ts';
import type { Placed } from './desk.ts';
import type { LastOutcome } from './last-outcome.ts';
import type { PartsInTest } from './parts-in-test.ts';
import type { StationListener, StationSetup } from './station-process.ts';
import type { Work } from './work.ts';

/** The way to the station's process. */
export interface StationLink {
  start(): void;
  send(command: Command<Demo>): void;
  end(): Promise<void>;
}

/** Where a station writes what somebody may have to find out later. */
export interface LineLog {
  info(facts: object, text: string): void;
  warn(facts: object, text: string): void;
  error(facts: object, text: string): void;
}

/** What is told of the rig's side as it happens. */
export interface RigListener {
  /** The station can be worked with, under this rig revision; also when the revision is a new one. */
  ready(rig: RigRevision): void;
  measured(live: LiveView): void;
  finished(outcome: LastOutcome, parts: readonly Placed[]): void;
  /** Nothing was opened and nothing moved: the parts are where they were. */
  notBegun(parts: readonly Placed[]): void;
  changed(): void;
  /** A rig at rest as it was looked at. */
  looked?(look: Look): void;
  /** What a chamber does on its way. */
  soak?(event: SoakEvent): void;
  /** A soak that ended without its proof, and why. */
  soakEnded?(code: FaultCode): void;
  studied?(runs: readonly DummyRun[]): void;
}

/** A load that is about to be tested. */
export interface Run {
  readonly work: Work;
  readonly parts: readonly Placed[];
  readonly proofs: readonly Proof[];
  /** What a simulated rig is loaded with; null leaves it as it is. */
  readonly demo: ((plan: Plan, load: readonly (string | null)[], seed: number) => Demo) | null;
  /** What an audit in a chamber rests on, and which one it is. */
  readonly soak?: SoakProof | undefined;
  readonly audit?: NonNullable<Circumstances['audit']> | undefined;
}

export interface RigSideGiven {
  readonly store: Store;
  readonly clock: Clock;
  readonly program: string;
  readonly log: LineLog;
  readonly inTest: PartsInTest;
  connect(setup: StationSetup, listener: StationListener): StationLink;
}
