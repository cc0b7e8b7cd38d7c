import { conduct } from '../../station/cycle/conduct.ts';
import type { CycleEvent, Load } from '../../station/cycle/event.ts';
import { measurementOf } from '../../station/cycle/fold.ts';
import type { Proof } from '../../station/cycle/proof.ts';
import type { Measurement } from '../../station/cycle/record.ts';
import type { CycleEnd } from '../../station/cycle/run.ts';
import type { Onlooker } from '../../station/cycle/sampling.ts';
import { makePlan, type Plan } from '../../station/profile/plan.ts';
import type { CycleKind, ProfileContent, ProfileRevision } from '../../station/profile/schema.ts';
import type { RigRevision } from '../../station/rig/revision.ts';
import { drawPart, type PartTruth, partModelOf } from '../../station/rig/simulated/part.ts';
import type { RigFault } from '../../station/rig/simulated/rig-fault.ts';
import type { SimulatedRig } from '../../station/rig/simulated/rig.ts';
import {
  firstRevision,
  nextRevision,
  type SimulatedChoice,
  simulatedProofs,
  simulatedRig,
  stationName,
} from '../../station/host/simulated-station.ts';
import { readProfiles } from '../../server/profiles/folder.ts';

export const never = new AbortController().signal;

/** The profiles that ship with the program. */
export const shipped: readonly ProfileRevision[] = readProfiles('profiles').revisions;

export function profileNamed(partNumber: string): ProfileRevision {
  const profile = shipped.find(({ content }) => content.partNumber === partNumber);
  if (profile === undefined) throw new Error(`no profile ${partNumber}`);
  return profile;
}

/** A simulated station that knows one part number, characterised through the product. */
export interface TestStation {
  readonly rig: SimulatedRig;
  readonly revision: RigRevision;
  readonly profile: ProfileRevision;
  readonly plant: readonly ProfileContent[];
  readonly plan: Plan;
}

const revisions = new Map<string, Promise<RigRevision>>();

export async function stationFor(
  partNumber: string,
  options: { nests?: number; rigSeed?: number; kind?: CycleKind; profile?: ProfileRevision } = {},
): Promise<TestStation> {
  const { nests = 2, rigSeed = 1, kind = 'line', profile = profileNamed(partNumber) } = options;
  const choice: SimulatedChoice = { nests, rigSeed, barometerKpaAbs: null };
  const key = JSON.stringify([profile.hash, choice]);
  let characterising = revisions.get(key);
  if (characterising === undefined) {
    const rig = simulatedRig(choice);
    characterising = nextRevision(rig, firstRevision(rig, stationName(choice)), profile, never);
    revisions.set(key, characterising);
  }
  const revision = await characterising;
  const plant = shipped.map(({ content }) => content);
  const plan = makePlan({ profile, rig: revision, kind, condition: 'ambient', plant });
  return { rig: simulatedRig(choice), revision, profile, plant, plan };
}

export const goodPart = (profile: ProfileRevision, index: number): PartTruth => ({
  ...drawPart(4711, index, partModelOf(profile.content)),
});

export interface Ran {
  readonly events: readonly CycleEvent[];
  readonly measurement: Measurement;
  readonly end: CycleEnd;
}

/** Runs one cycle of given parts (null leaves a nest empty) on a station, faults striking as their phase begins. */
export async function runOn(
  station: TestStation,
  parts: readonly (PartTruth | null)[],
  options: {
    seed?: number;
    proofs?: readonly Proof[];
    load?: Load;
    stop?: AbortSignal;
    faults?: readonly { phase: string; fault: RigFault; afterMs?: number }[];
    onEvent?: (event: CycleEvent) => void;
    onlooker?: Onlooker;
  } = {},
): Promise<Ran> {
  const { rig, plan } = station;
  const { seed = 1, proofs = simulatedProofs([]), faults = [] } = options;
  rig.loadParts(parts, seed);
  const load = options.load ?? parts.map((part, nest) => (part === null ? null : `T-${seed}-${nest + 1}`));
  const events: CycleEvent[] = [];
  const end = await conduct(
    rig,
    { plan, load, proofs },
    options.stop ?? never,
    (event) => {
      events.push(event);
      options.onEvent?.(event);
      if (event.type !== 'phase') return;
      for (const { phase, fault, afterMs } of faults) if (phase === event.phase) rig.strike(fault, afterMs);
    },
    options.onlooker,
  );
  return { events, measurement: measurementOf(events), end };
}
