import { characterisationProof } from '../../station/cycle/proof.ts';
import type { CycleRecord } from '../../station/cycle/record.ts';
import { pointOfStep } from '../../station/profile/audit-points.ts';
import type { TakenPoint } from '../../station/profile/audit-points.ts';
import { makePlan, phasesOf } from '../../station/profile/plan.ts';
import type { PhaseId, Plan, Step } from '../../station/profile/plan.ts';
import type { ConditionId, ProfileContent, ProfileRevision } from '../../station/profile/schema.ts';
import type { RigRevision } from '../../station/rig/revision.ts';
import type { ExpectedPhase, SheetRow, WorkView } from './contract.ts';

/** Who tests what, and the plan by which it is tested. */
export interface Work {
  readonly operator: string;
  readonly lot: string;
  readonly profile: ProfileRevision;
  readonly plan: Plan;
  /** Whether every nest is known with this part number. */
  readonly isCharacterised: boolean;
}

/** Times of phases that the profile does not say, ms: common on such a fixture (engineering assumption). */
const USUAL_MS: Readonly<Partial<Record<PhaseId, number>>> = { ready: 120, clamp: 600, vent: 800 };

/** Throws the StationFault `not-testable` when this station cannot test the part number. */
export function makeWork(
  given: { readonly operator: string; readonly lot: string; readonly profile: ProfileRevision },
  rig: RigRevision,
  plant: readonly ProfileContent[],
): Work {
  const plan = makePlan({ profile: given.profile, rig, kind: 'line', condition: 'ambient', plant });
  const everyNest = Array.from({ length: rig.nests }, () => 'any');
  return { ...given, plan, isCharacterised: characterisationProof(plan, everyNest).state === 'valid' };
}

/** The work of one stage of an audit. Throws the StationFault `not-testable`. */
export function makeAuditWork(
  given: {
    readonly by: string;
    readonly lot: string;
    readonly profile: ProfileRevision;
    readonly condition: ConditionId;
  },
  rig: RigRevision,
  plant: readonly ProfileContent[],
): Work {
  const { by, lot, profile, condition } = given;
  const plan = makePlan({ profile, rig, kind: 'audit', condition, plant });
  const everyNest = Array.from({ length: rig.nests }, () => 'any');
  const isCharacterised = characterisationProof(plan, everyNest).state === 'valid';
  return { operator: by, lot, profile, plan, isCharacterised };
}

/** `last` are the phases of the last cycle of this plan, if there was one: what it takes is then known. */
export function workView(work: Work, last: CycleRecord['measurement']['phases']): WorkView {
  const { content, revision } = work.profile;
  const { partNumber, title, pressureClass, serial } = content;
  return {
    operator: work.operator,
    partNumber,
    title,
    pressureClass,
    lot: work.lot,
    revision,
    condition: work.plan.condition,
    serialPattern: serial.rule === 'required' ? serial.pattern : null,
    sheet: work.plan.steps.filter(({ step }) => step !== 'ambient-check').map((step) => rowOf(step, content)),
    phases: expectedPhases(work.plan, last),
  };
}

/** The phases of a test with the time that each is expected to take: what it took in `last`, or what is stated of it. */
export const expectedPhases = (plan: Plan, last: CycleRecord['measurement']['phases']): ExpectedPhase[] =>
  phasesOf(plan)
    .filter((phase) => phase !== 'release')
    .map((phase) => expected(phase, plan.profile.content, last));

function rowOf({ step, reads }: Step, content: ProfileContent): SheetRow {
  const at = pointOfStep(content, step)?.at;
  const pointKpaAbs = at?.kind === 'absolute' ? at.kPaAbs : null;
  switch (reads) {
    case 'current':
      return { step, quantity: 'supply-current', unit: 'mA', oneSided: false, pointKpaAbs };
    case 'output':
      return { step, quantity: 'output', unit: 'V', oneSided: false, pointKpaAbs };
    case 'leak':
      return { step, quantity: 'leak', unit: 'std cm3/min', oneSided: true, pointKpaAbs };
    case 'lag':
      return { step, quantity: 'lag', unit: 'ms', oneSided: true, pointKpaAbs };
    case 'noise':
      return { step, quantity: 'noise', unit: 'V', oneSided: true, pointKpaAbs };
  }
}

function expected(phase: PhaseId, content: ProfileContent, last: CycleRecord['measurement']['phases']): ExpectedPhase {
  const before = last.find((each) => each.phase === phase);
  const ms = before === undefined ? stated(phase, content) : before.toMs - before.fromMs;
  const { leakHold } = content;
  if (phase === 'fill' || phase === 'stabilise' || phase === 'measure')
    return { phase, ms, kPaAbs: leakHold.testKpaAbs };
  const at = pointOf(phase, content)?.at;
  return { phase, ms, kPaAbs: at?.kind === 'absolute' ? at.kPaAbs : null };
}

/** The point that a phase is about, an audit's own included. */
const pointOf = (phase: PhaseId, content: ProfileContent): TakenPoint | undefined =>
  phase.startsWith('point:') ? pointOfStep(content, phase.slice('point:'.length)) : undefined;

/** What the profile says a phase takes, ms. */
function stated(phase: PhaseId, content: ProfileContent): number {
  const { supply, ambientPlausibility, leakHold } = content;
  const point = pointOf(phase, content);
  // At another supply the pressure stands already: it is the part that settles.
  if (point !== undefined) return (point.step?.settleMs ?? point.dwellMs) + point.apertureMs;
  const said: Partial<Record<PhaseId, number>> = {
    ...USUAL_MS,
    contact: supply.settleMs + supply.apertureMs,
    'ambient-check': ambientPlausibility.apertureMs,
    fill: leakHold.fillMs,
    stabilise: leakHold.stabiliseMs,
    measure: leakHold.measureMs,
  };
  return said[phase] ?? 0;
}
