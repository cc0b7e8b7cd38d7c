import { characterise } from '../cycle/characterise.ts';
import type { Proof } from '../cycle/proof.ts';
import { characterisationProof } from '../cycle/proof.ts';
import { makePlan } from '../profile/plan.ts';
import type { ProfileContent, ProfileRevision } from '../profile/schema.ts';
import type { Instruments, RigRevision } from '../rig/revision.ts';
import { drawPart, type PartTruth, partModelOf } from '../rig/simulated/part.ts';
import { SimulatedRig } from '../rig/simulated/rig.ts';
import { drawRig } from '../rig/simulated/truth.ts';
import type { DummyRun } from '../soak/lags-fit.ts';

/** Which simulated station: the same choice is the same station, with the same hidden errors, every time. */
export interface SimulatedChoice {
  readonly nests: number;
  readonly rigSeed: number;
  readonly barometerKpaAbs: number | null;
  readonly chamber?: boolean;
}

/**
 * What the certificates of the simulated station's instruments say: standard uncertainties of the instrument classes
 * that are simulated (engineering assumption), not the errors that were drawn for this very rig.
 */
const CERTIFIED: Instruments = {
  referenceKpa: 0.015,
  controllerKpa: 0.015,
  barometerKpa: 0.012,
  outputV: 0.00025,
  outputRelative: 1e-5,
  supplyV: 0.00025,
  supplyRelative: 1e-5,
  currentMa: 0.03,
  roomC: 0.15,
  partC: 0.3,
  skewMs: 0.3,
};

const SEALED_HOLDS = 20;
const LEAK_HOLDS = 5;
/** From about here on a leak is a hole (engineering assumption of the simulated rig). */
const FINEST_HOLE_STD_CM3_PER_MIN = 20;
/** Seeds of the masters and of their noise: not those of any part that is tested. */
const MASTER_SEED = 0x5ea1ed;

/** The name under which a simulated station keeps its rig revisions. */
export const stationName = ({ nests, rigSeed }: SimulatedChoice): string => `SIM-${nests}-${rigSeed}`;

export const simulatedRig = ({ nests, rigSeed, barometerKpaAbs, chamber = false }: SimulatedChoice): SimulatedRig =>
  new SimulatedRig(drawRig(rigSeed, { nests, chamber, ...(barometerKpaAbs === null ? {} : { barometerKpaAbs }) }));

/** The rig revision of a simulated station before anything was characterised. */
export function firstRevision(rig: SimulatedRig, station: string): RigRevision {
  const { nests, chamber, sampleHz, loads, pressureKpaAbs, transducerKpaAbs, origin } = rig.abilities;
  return {
    format: 1,
    station,
    issue: 1,
    origin,
    nests,
    chamber,
    sampleHz,
    loads,
    pressureKpaAbs,
    transducerKpaAbs,
    instruments: CERTIFIED,
    characters: [],
  };
}

/** Whether a rig revision knows every nest with this profile. */
export function isCharacterised(revision: RigRevision, profile: ProfileRevision): boolean {
  const plan = makePlan({ profile, rig: revision, kind: 'study', condition: 'ambient', plant: [] });
  return (
    characterisationProof(
      plan,
      Array.from({ length: revision.nests }, () => 'any'),
    ).state === 'valid'
  );
}

/**
 * Characterises the station for one part number by running sealed and calibrated-leak holds on it, and gives the next
 * issue of its rig revision. `onHold` is awaited before each hold. Throws the StationFault that stopped it.
 */
export async function nextRevision(
  rig: SimulatedRig,
  revision: RigRevision,
  profile: ProfileRevision,
  stop: AbortSignal,
  onHold: (done: number, of: number) => Promise<void> = () => Promise.resolve(),
): Promise<RigRevision> {
  const { content } = profile;
  const plan = makePlan({ profile, rig: revision, kind: 'study', condition: 'ambient', plant: [] });
  // Large enough to stand out of the spread of sealed holds, small enough to be no gross leak, and fine enough to be a
  // capillary as calibrated leaks are: a hole obeys another law than the one that rates it.
  const leak = Math.min(0.8 * content.leakHold.grossStdCm3PerMin, FINEST_HOLE_STD_CM3_PER_MIN / 2);
  const characters = await characterise(
    rig,
    plan,
    {
      sealedHolds: SEALED_HOLDS,
      leakHolds: LEAK_HOLDS,
      leakStdCm3PerMin: { value: leak, u: 0.01 * leak },
      fit: (what, hold) => {
        const run = what === 'sealed' ? hold : SEALED_HOLDS + hold;
        const parts = Array.from({ length: rig.abilities.nests }, (_, nest) =>
          master(content, run * rig.abilities.nests + nest, what === 'sealed' ? 0 : leak),
        );
        rig.loadParts(parts, MASTER_SEED + run);
        return onHold(run, SEALED_HOLDS + LEAK_HOLDS);
      },
    },
    stop,
  );
  const others = revision.characters.filter(({ partNumber }) => partNumber !== content.partNumber);
  return { ...revision, issue: revision.issue + 1, characters: [...others, ...characters] };
}

/** A sealed part, or one with a calibrated leak, which differs from others of its kind as parts do. */
function master(content: ProfileContent, index: number, leakStdCm3PerMin: number): PartTruth {
  return { ...drawPart(MASTER_SEED, index, partModelOf(content)), leakStdCm3PerMin };
}

/** How many dummies are driven, in full loads, and how each run is watched. Engineering assumptions. */
const STUDY = { leastDummies: 24, everyS: 10, runS: 5400 } as const;
const DUMMY_SEED = 0xd0117;

/**
 * Full loads of dummies with a thermometer in the core, driven from where they are to each temperature in turn; a run a
 * dummy and move. Throws what stopped it.
 */
export async function dummyRuns(
  rig: SimulatedRig,
  content: ProfileContent,
  targetsC: readonly number[],
  given: { readonly stop: AbortSignal; onRun(done: number, of: number): Promise<void> },
): Promise<DummyRun[]> {
  const { nests } = rig.abilities;
  const loads = Math.ceil(STUDY.leastDummies / nests);
  const runs: DummyRun[] = [];
  for (let load = 0; load < loads; load += 1) {
    const dummies = Array.from({ length: nests }, (_, nest) =>
      drawPart(DUMMY_SEED, load * nests + nest, partModelOf(content)),
    );
    rig.loadParts(dummies, DUMMY_SEED + load);
    for (const [move, targetC] of targetsC.entries()) {
      await given.onRun(load * targetsC.length + move, loads * targetsC.length);
      await rig.setChamber(targetC, given.stop);
      const watchedRuns = await watched(rig, given.stop);
      runs.push(...watchedRuns.map((run, nest) => ({ ...run, dummy: load * nests + nest })));
    }
  }
  await rig.safe();
  return runs;
}

async function watched(rig: SimulatedRig, stop: AbortSignal): Promise<Omit<DummyRun, 'dummy'>[]> {
  const { everyS, runS } = STUDY;
  const many = runS / everyS + 1;
  const airC = new Float64Array(many);
  const cores = Array.from({ length: rig.abilities.nests }, () => new Float64Array(many));
  for (let k = 0; k < many; k += 1) {
    const slow = await rig.idle(1, stop);
    airC[k] = slow.chamberC;
    for (const [nest, core] of cores.entries()) core[k] = slow.partC[nest] ?? Number.NaN;
    // A millisecond of the step went by while it was read.
    for (let s = 1; s < everyS; s += 1) await rig.idle(1000, stop);
    await rig.idle(999, stop);
  }
  return cores.map((coreC) => ({ everyS, airC, coreC }));
}

/** The proofs that the simulated station brings along; the characterisation it measures itself. */
export const PROOF_IDS = ['master-check', 'calibration'] as const;

/** What the simulated station has to show for itself; a proof that is named in `not` is due. */
export function simulatedProofs(not: readonly string[]): Proof[] {
  return PROOF_IDS.map((proof) => ({
    proof,
    state: not.includes(proof) ? 'due' : 'valid',
    evidence: 'simulated station',
  }));
}
