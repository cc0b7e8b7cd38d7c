import type { CycleEvent } from '../cycle/event.ts';
import type { PhaseId } from '../profile/plan.ts';
import type { ProfileContent } from '../profile/schema.ts';
import { drawPart, type PartTruth, partModelOf } from '../rig/simulated/part.ts';
import { type PartFaultKind, spoilPart } from '../rig/simulated/part-fault.ts';
import type { RigFault } from '../rig/simulated/rig-fault.ts';
import type { SimulatedRig } from '../rig/simulated/rig.ts';

/** What one simulated part suffers from; nests count from 0. `empty` leaves the nest without part and serial. */
export interface Suffering {
  readonly nest: number;
  readonly what: PartFaultKind | 'empty';
  readonly size: number;
  /** The other part number, where `what` is other-class. */
  readonly partNumber: string | null;
}

/** A fault of the simulated rig that strikes so long after a phase begins. */
export interface TimedFault {
  readonly phase: PhaseId;
  readonly afterMs: number;
  readonly fault: RigFault;
}

/** Which part is drawn for a nest: the same draw is the same part, in whatever cycle it is tested. */
export interface Draw {
  readonly seed: number;
  readonly index: number;
}

/** What a simulated station is loaded with, or what is to happen to it. `seed` is that of the noise. */
export interface Demo {
  readonly seed: number;
  readonly draws: readonly Draw[];
  readonly content: ProfileContent;
  readonly plant: readonly ProfileContent[];
  readonly parts: readonly Suffering[];
  readonly faults: readonly TimedFault[];
  /** How much parts differ from one another; 1 is as much as the print would just bear. */
  readonly spread?: number | undefined;
}

/** A plant that knows its process: parts differ by this share of what the print would just bear. Engineering assumption. */
export const CAPABLE = 0.4;

/** Thrown for what cannot be simulated; the message says what can. */
export class DemoError extends Error {
  override readonly name = 'DemoError';
}

/** The draws of a load that is known by one seed. */
export const drawsOf = (seed: number, nests: number): Draw[] =>
  Array.from({ length: nests }, (_, index) => ({ seed, index }));

/**
 * The simulated parts of a load, a draw for each nest, made to suffer. `spread`: how much parts differ, as a share of what
 * the print would just bear; a plant that is capable makes them more alike. Throws DemoError for a nest that is not there and
 * for a part number that the plant does not have.
 */
export function partsFor(
  content: ProfileContent,
  plant: readonly ProfileContent[],
  draws: readonly Draw[],
  sufferings: readonly Suffering[],
  spread = 1,
): (PartTruth | null)[] {
  const beyond = sufferings.find(({ nest }) => nest < 0 || nest >= draws.length);
  if (beyond !== undefined) throw new DemoError(`there is no nest ${beyond.nest + 1}; nests are 1 to ${draws.length}`);
  const own = partModelOf(content);
  // What makes parts differ from one another is drawn in shares of the error band.
  const model = { ...own, errorBandKpa: spread * own.errorBandKpa };
  return draws.map(({ seed, index }, nest) =>
    sufferings
      .filter((each) => each.nest === nest)
      .reduce<PartTruth | null>(
        (part, each) => (part === null ? null : suffer(part, each, plant)),
        drawPart(seed, index, model),
      ),
  );
}

function suffer(part: PartTruth, suffering: Suffering, plant: readonly ProfileContent[]): PartTruth | null {
  const { nest, what, size, partNumber } = suffering;
  if (what === 'empty') return null;
  if (what !== 'other-class') return spoilPart(part, { where: { nest }, what, size });
  const other = plant.find((each) => each.partNumber === partNumber);
  if (other === undefined) {
    throw new DemoError(
      `other-class needs a part number of the plant: ${plant.map((each) => each.partNumber).join(', ')}`,
    );
  }
  return spoilPart(part, { where: { nest }, what, model: partModelOf(other) });
}

/** Strikes the faults that were asked for when their phase begins. */
export function strikeIn(rig: SimulatedRig, event: CycleEvent, faults: readonly TimedFault[]): void {
  const phase: PhaseId | null = event.type === 'opened' ? 'ready' : event.type === 'phase' ? event.phase : null;
  if (phase === null || (event.type === 'phase' && phase === 'ready')) return;
  for (const fault of faults) if (fault.phase === phase) rig.strike(fault.fault, fault.afterMs);
}
