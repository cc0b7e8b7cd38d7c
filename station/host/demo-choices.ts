import type { FaultText, PartFaultKind } from '../rig/simulated/part-fault.ts';
import { PART_FAULTS } from '../rig/simulated/part-fault.ts';
import { RIG_FAULTS } from '../rig/simulated/rig-fault.ts';
import type { RigFaultKind } from '../rig/simulated/rig-fault.ts';

/** A size of each fault that a cycle of a 1 bar part shows; 0 where a fault has none. */
const TYPICAL: Readonly<Partial<Record<PartFaultKind | RigFaultKind, number>>> = {
  leak: 2.5,
  offset: -3,
  span: -4,
  'span-drift': -1.2,
  slow: 0.2,
  noise: 0.02,
  stuck: 0.815,
  current: 15,
  'supply-readback-offset': 0.5,
  'reference-drift': 500,
  'reference-offset': 2,
  'controller-drift': 500,
  'controller-offset': 2,
  'barometer-offset': 2,
  'output-offset': 0.1,
  'output-drift': 0.1,
};

/** A fault that can be chosen for a demonstration. */
export interface Choice {
  readonly what: string;
  readonly says: string;
  readonly unit: string | null;
  readonly from: number;
  readonly to: number;
  readonly typical: number;
}

function choiceOf(what: string, fault: FaultText): Choice {
  const { from, to } = fault.unit === null ? { from: 0, to: 0 } : fault;
  return { what, says: fault.says, unit: fault.unit, from, to, typical: TYPICAL[what as PartFaultKind] ?? 0 };
}

/** What simulated parts can suffer from. */
export const partChoices: readonly Choice[] = Object.entries(PART_FAULTS).map(([what, fault]) => choiceOf(what, fault));

/** What the simulated rig can suffer from, and whether it strikes one nest. */
export const rigChoices: readonly (Choice & { readonly strikesNest: boolean })[] = Object.entries(RIG_FAULTS).map(
  ([what, fault]) => ({ ...choiceOf(what, fault), strikesNest: fault.nest }),
);

export const isPartFault = (what: string): what is PartFaultKind => Object.hasOwn(PART_FAULTS, what);
export const isRigFault = (what: string): what is RigFaultKind => Object.hasOwn(RIG_FAULTS, what);
