import { characterisationProof } from '../../../station/cycle/proof.ts';
import type { Draw, Suffering } from '../../../station/host/demo.ts';
import { firstRevision, nextRevision, simulatedRig } from '../../../station/host/simulated-station.ts';
import type { SimulatedChoice } from '../../../station/host/simulated-station.ts';
import { makePlan } from '../../../station/profile/plan.ts';
import type { ProfileContent, ProfileRevision } from '../../../station/profile/schema.ts';
import type { SimulatedRig } from '../../../station/rig/simulated/rig.ts';
import type { RigRevision } from '../../../station/rig/revision.ts';
import { BY_PROGRAM } from '../../line/station-books.ts';
import type { Store } from '../../store/store.ts';
import type { PlantClock } from './plant-clock.ts';

/** What the making of a history is given. */
export interface History {
  readonly store: Store;
  readonly clock: PlantClock;
  readonly profiles: readonly ProfileRevision[];
  readonly stop: AbortSignal;
}

/** What is wrong with each part by its serial: a part is the same whenever it is tested. */
export type Parts = Map<string, { readonly draw: Draw; readonly sufferings: readonly Suffering[] }>;

/** A station of the scenario: not one of the server's own, so that neither is in the other's way. */
export class PastStation {
  readonly station: string;
  readonly rig: SimulatedRig;
  readonly #history: History;
  #revision: RigRevision;

  constructor(station: string, choice: SimulatedChoice, history: History) {
    this.station = station;
    this.rig = simulatedRig(choice);
    this.#history = history;
    this.#revision = history.store.latestRigRevision(station)?.revision ?? firstRevision(this.rig, station);
    history.store.issueRigRevision(this.#revision, BY_PROGRAM);
    history.store.proof({
      station,
      proof: 'calibration',
      state: 'valid',
      evidence: 'simulated station',
      until: null,
      actor: BY_PROGRAM,
    });
  }

  get plant(): ProfileContent[] {
    return this.#history.profiles.map(({ content }) => content);
  }

  get revision(): RigRevision {
    return this.#revision;
  }

  /** Learns what every nest does with a part number, once. */
  async learn(profile: ProfileRevision): Promise<void> {
    const { store, stop } = this.#history;
    store.issueProfile(profile, BY_PROGRAM);
    const plan = makePlan({ profile, rig: this.#revision, kind: 'line', condition: 'ambient', plant: [] });
    const everyNest = Array.from({ length: this.#revision.nests }, () => 'any');
    if (characterisationProof(plan, everyNest).state === 'valid') return;
    this.#revision = await nextRevision(this.rig, this.#revision, profile, stop);
    store.issueRigRevision(this.#revision, BY_PROGRAM);
  }
}
