import type { Load } from '../../../station/cycle/event.ts';
import { characterisationProof } from '../../../station/cycle/proof.ts';
import type { CycleRecord } from '../../../station/cycle/record.ts';
import { CAPABLE, partsFor } from '../../../station/host/demo.ts';
import type { Draw, Suffering } from '../../../station/host/demo.ts';
import { firstRevision, nextRevision, simulatedProofs, simulatedRig } from '../../../station/host/simulated-station.ts';
import type { SimulatedChoice } from '../../../station/host/simulated-station.ts';
import { makePlan } from '../../../station/profile/plan.ts';
import type { Plan } from '../../../station/profile/plan.ts';
import type { ProfileContent, ProfileRevision } from '../../../station/profile/schema.ts';
import type { SimulatedRig } from '../../../station/rig/simulated/rig.ts';
import type { RigRevision } from '../../../station/rig/revision.ts';
import type { SoakProof } from '../../../station/soak/soak.ts';
import { runAndKeep } from '../../records/keep.ts';
import type { Occasion } from '../../records/keeper.ts';
import type { PastKeeper } from './past-keeper.ts';
import type { PlantClock } from './plant-clock.ts';

/** What the making of a history is given. */
export interface History {
  readonly keeper: PastKeeper;
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
  #isKept = false;

  constructor(station: string, choice: SimulatedChoice, history: History) {
    this.station = station;
    this.rig = simulatedRig(choice);
    this.#history = history;
    this.#revision = firstRevision(this.rig, station);
  }

  get nests(): number {
    return this.#revision.nests;
  }

  /** Learns what every nest does with a part number, once. */
  async learn(profile: ProfileRevision): Promise<void> {
    const { keeper, stop } = this.#history;
    if (!this.#isKept) await keeper.issueRig(this.#revision);
    this.#isKept = true;
    await keeper.issueProfile(profile);
    const plan = makePlan({ profile, rig: this.#revision, kind: 'line', condition: 'ambient', plant: [] });
    const everyNest = Array.from({ length: this.nests }, () => 'any');
    if (characterisationProof(plan, everyNest).state === 'valid') return;
    this.#revision = await nextRevision(this.rig, this.#revision, profile, stop);
    await keeper.issueRig(this.#revision);
  }

  /** The plan of a cycle with what the rig knows by now. */
  plan(given: Pick<Parameters<typeof makePlan>[0], 'profile' | 'kind' | 'condition'>): Plan {
    return makePlan({ ...given, rig: this.#revision, plant: this.#plant });
  }

  /** Lays the parts in, as they are, with the noise of a seed. */
  layIn(content: ProfileContent, load: Load, parts: Parts, seed: number): void {
    const draws = load.map((serial) => parts.get(serial ?? '')?.draw ?? { seed: 0, index: 0 });
    const sufferings = load.flatMap((serial, nest) =>
      serial === null
        ? [{ nest, what: 'empty' as const, size: 0, partNumber: null }]
        : (parts.get(serial)?.sufferings ?? []).map((each) => ({ ...each, nest })),
    );
    this.rig.loadParts(partsFor(content, this.#plant, draws, sufferings, CAPABLE), seed);
  }

  /** Runs a cycle and has it kept. Throws what keeps it from being kept, and the reason of a stop. */
  async run(
    start: { readonly plan: Plan; readonly load: Load; readonly soak?: SoakProof | undefined },
    occasion: Occasion,
  ): Promise<CycleRecord> {
    const { clock, keeper, stop } = this.#history;
    clock.follow(this.rig);
    const kept = await runAndKeep(this.rig, { ...start, proofs: simulatedProofs([]) }, occasion, {
      clock,
      store: null,
      stop,
    });
    stop.throwIfAborted();
    if (kept.record === null) throw kept.problem;
    const { record, trace } = kept;
    await keeper.cycle({ plan: start.plan, record, trace });
    return record;
  }

  get #plant(): ProfileContent[] {
    return this.#history.profiles.map(({ content }) => content);
  }
}
