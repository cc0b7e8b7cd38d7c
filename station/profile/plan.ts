import { type Facts, StationFault } from '../faults.ts';
import { type Hash, hashOf } from '../hash.ts';
import type { RigRevision } from '../rig/revision.ts';
import { takenPoints } from './audit-points.ts';
import { checkAgainstRig } from './rig-fit.ts';
import type { ConditionId, CycleKind, DecisionRule, ProfileContent, ProfileRevision } from './schema.ts';

/** The phases of a cycle in the order in which they run. A pressure point's phase is `point:<id>`. */
export type PhaseId =
  | 'ready'
  | 'clamp'
  | 'contact'
  | 'ambient-check'
  | 'fill'
  | 'stabilise'
  | 'measure'
  | `point:${string}`
  | 'vent'
  | 'release';

/**
 * How one cycle will run and how it will be judged: complete, frozen, stored by its hash. Nothing outside it (no file,
 * no default, no setting) has a say in the measurement.
 */
export interface Plan {
  readonly format: 1;
  readonly kind: CycleKind;
  readonly condition: ConditionId;
  readonly rule: DecisionRule;
  readonly steps: readonly Step[];
  readonly profile: { readonly revision: number; readonly hash: Hash; readonly content: ProfileContent };
  readonly rig: { readonly hash: Hash; readonly revision: RigRevision };
  /** What the plant's other part numbers of the same supply would read: how a mixed-up part gives itself away. */
  readonly others: readonly OtherPart[];
}

/** The kinds of reading that a step can ask for. */
export const READS = ['current', 'output', 'leak', 'lag', 'noise'] as const;

/** One step in the order of the cycle: the kind of reading it must give in each nest, and the method that takes it. */
export interface Step {
  readonly step: string;
  readonly reads: (typeof READS)[number];
  readonly method: { readonly name: string; readonly version: number };
}

export interface OtherPart {
  readonly partNumber: string;
  readonly pressureClass: string;
  readonly transfer: ProfileContent['transfer'];
  readonly errorKpa: number;
}

const LEAST_SAMPLE_HZ = 500;
const hashes = new WeakMap<Plan, Hash>();

/** The hash under which a plan is stored; worked out once, for a plan never changes. */
export function hashOfPlan(plan: Plan): Hash {
  const known = hashes.get(plan) ?? hashOf(plan);
  hashes.set(plan, known);
  return known;
}

/** The phases of a plan in order. */
export const phasesOf = (plan: Plan): PhaseId[] => [
  'ready',
  'clamp',
  'contact',
  'ambient-check',
  ...(holdsLeak(plan) ? (['fill', 'stabilise', 'measure'] as const) : []),
  ...takenPoints(plan.profile.content, plan.kind).map(({ id }): PhaseId => `point:${id}`),
  'vent',
  'release',
];

/**
 * Makes the plan of a cycle out of a profile revision and a rig revision. `plant` is every part number of the plant,
 * of which those with the same supply become the plan's others. Throws `not-testable` naming what the rig cannot do.
 */
export function makePlan(given: {
  profile: ProfileRevision;
  rig: RigRevision;
  kind: CycleKind;
  condition: ConditionId;
  plant: readonly ProfileContent[];
}): Plan {
  const { profile, rig, kind, condition, plant } = given;
  const { content } = profile;
  refuseWhatTheRigCannot(content, rig, condition);
  return {
    format: 1,
    kind,
    condition,
    rule: content.rules[kind],
    steps: stepsOf(content, kind, isInBalance(kind, condition, rig)),
    profile: { revision: profile.revision, hash: profile.hash, content },
    rig: { hash: hashOf(rig), revision: rig },
    others: othersOf(content, plant),
  };
}

/** Whether this plan looks for leaks. */
export const holdsLeak = ({ steps }: Plan): boolean => steps.some(({ reads }) => reads === 'leak');

/**
 * A hold is judged against sealed ones in a nest at the temperature of the gas that fills it. In a chamber the gas comes
 * with the manifold's temperature, and its pressure moves by more than a leak's until it has the nest's: an audit there
 * reads its points with the valve open, at constant pressure. The line has looked for leaks.
 */
const isInBalance = (kind: CycleKind, condition: ConditionId, rig: RigRevision): boolean =>
  condition === 'ambient' && !(kind === 'audit' && rig.chamber);

function stepsOf(content: ProfileContent, kind: CycleKind, hasHold: boolean): Step[] {
  const leakHold: Step[] = hasHold ? [{ step: 'leak-hold', reads: 'leak', method: content.leakHold.method }] : [];
  return [
    { step: 'contact', reads: 'current', method: content.supply.method },
    { step: 'ambient-check', reads: 'output', method: content.ambientPlausibility.method },
    ...leakHold,
    ...takenPoints(content, kind).map(({ id, method }): Step => ({ step: id, reads: 'output', method })),
    { step: 'lag', reads: 'lag', method: content.lag.method },
    { step: 'noise', reads: 'noise', method: content.noise.method },
  ];
}

function othersOf(content: ProfileContent, plant: readonly ProfileContent[]): OtherPart[] {
  return plant
    .filter((other) => other.partNumber !== content.partNumber)
    .filter((other) => other.supply.nominalV === content.supply.nominalV)
    .filter((other) => hashOf(other.transfer) !== hashOf(content.transfer))
    .sort((a, b) => (a.partNumber < b.partNumber ? -1 : 1))
    .map(({ partNumber, pressureClass, transfer, errorBand }) => ({
      partNumber,
      pressureClass,
      transfer,
      errorKpa: errorBand.kPa,
    }));
}

function refuseWhatTheRigCannot(content: ProfileContent, rig: RigRevision, condition: ConditionId): void {
  const refuse = (facts: Facts): never => {
    throw new StationFault('not-testable', { facts });
  };
  if (!content.conditions.some(({ id }) => id === condition)) refuse({ condition, missingIn: content.partNumber });
  if (condition !== 'ambient' && !rig.chamber) refuse({ condition, missing: 'chamber' });
  // Scatter of single samples and a lag of milliseconds ask for samples that near to one another.
  if (rig.sampleHz < LEAST_SAMPLE_HZ) refuse({ sampleHz: rig.sampleHz, leastHz: LEAST_SAMPLE_HZ });
  const [problem] = checkAgainstRig(content, rig);
  if (problem !== undefined) refuse({ key: problem.path.join('.'), wrong: problem.wrong, right: problem.right });
}
