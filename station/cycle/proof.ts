import { StationFault } from '../faults.ts';
import { hashOf } from '../hash.ts';
import type { Plan } from '../profile/plan.ts';
import type { CycleKind } from '../profile/schema.ts';
import { isSoaked } from '../soak/core-observer.ts';
import type { SoakProof } from '../soak/soak.ts';
import type { Load } from './event.ts';

/** What a station must have proved before it may judge. */
export type ProofName = 'master-check' | 'calibration' | 'characterisation';

export interface Proof {
  readonly proof: ProofName;
  readonly state: 'valid' | 'due' | 'failed';
  /** What it rests on, for the record: an entry, a certificate, a sentence. */
  readonly evidence: string;
}

/** Which proofs each kind of cycle needs; a master cycle is what feeds the master check. */
const NEEDED: Readonly<Record<CycleKind, readonly ProofName[]>> = {
  line: ['master-check', 'calibration', 'characterisation'],
  audit: ['master-check', 'calibration', 'characterisation'],
  return: ['master-check', 'calibration', 'characterisation'],
  master: ['calibration', 'characterisation'],
  study: ['calibration', 'characterisation'],
};

/**
 * The gate: throws `proof-due` naming the first proof that is missing, due or failed. A proof nobody spoke of is due;
 * the characterisation is looked up in the plan, whatever is said of it.
 */
export function requireProofs(plan: Plan, load: Load, proofs: readonly Proof[]): void {
  const characterisation = characterisationProof(plan, load);
  for (const name of NEEDED[plan.kind]) {
    const proof = name === 'characterisation' ? characterisation : proofs.find((candidate) => candidate.proof === name);
    if (proof?.state !== 'valid') {
      throw new StationFault('proof-due', {
        facts: { proof: name, state: proof?.state ?? 'due', evidence: proof?.evidence ?? 'none' },
      });
    }
  }
}

/**
 * An audit in a chamber rests on a soak that was waited for. Throws `condition-not-met` when none is given, or one of
 * another condition, or one that did not reach it.
 */
export function requireSoak({ kind, condition, profile, rig }: Plan, soak: SoakProof | undefined): void {
  if (kind !== 'audit' || !rig.revision.chamber) return;
  const targetC = profile.content.conditions.find(({ id }) => id === condition)?.targetC ?? Number.NaN;
  const isProved = soak?.condition === condition && soak.targetC === targetC && isSoaked(soak.state, targetC);
  if (!isProved) throw new StationFault('condition-not-met', { facts: { condition, proof: 'no soak was proved' } });
}

/** Whether the rig revision of a plan knows each loaded nest with this part number under this leak hold. */
export function characterisationProof(plan: Plan, load: Load): Proof {
  const hold = holdHash(plan.profile.content);
  const unknown = load.flatMap((serial, nest) =>
    serial === null || characterOf(plan, nest, hold) !== undefined ? [] : [nest + 1],
  );
  return unknown.length === 0
    ? { proof: 'characterisation', state: 'valid', evidence: `rig revision ${plan.rig.hash}` }
    : { proof: 'characterisation', state: 'due', evidence: `nest ${unknown.join(', ')} never held this part sealed` };
}

/** The leak hold as far as a sealed nest's behaviour depends on it: pressures and times, not limits. */
export const holdHash = (content: Plan['profile']['content']): string => {
  const { method, testKpaAbs, fillMs, stabiliseMs, measureMs } = content.leakHold;
  return hashOf({ method, testKpaAbs, fillMs, stabiliseMs, measureMs });
};

/** The character of a nest for the plan's part number, if it is known. */
export const characterOf = (plan: Plan, nest: number, hold = holdHash(plan.profile.content)) =>
  plan.rig.revision.characters.find(
    (known) => known.nest === nest && known.partNumber === plan.profile.content.partNumber && known.hold === hold,
  );
