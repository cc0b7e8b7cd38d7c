import type { Proof, ProofName } from '../../station/cycle/proof.ts';
import type { LedgerReader } from '../store/reader.ts';
import type { Store } from '../store/store.ts';
import { BY_PROGRAM, operatorOf } from './actors.ts';
import type { ProofView } from './contract.ts';

/** Proofs that the ledger speaks of; the characterisation is looked up in the rig revision. */
const KEPT = ['master-check', 'calibration'] as const satisfies readonly ProofName[];

/** How a station stands with what it has to prove before it judges. A proof nobody spoke of, or that ran out, is due. */
export function proofsOf(
  store: LedgerReader,
  station: string,
  now: Date,
  isCharacterised: boolean | null,
): ProofView[] {
  const kept = KEPT.map((proof): ProofView => {
    const last = store.latestProof(station, proof)?.content;
    if (last === undefined) return { proof, state: 'due', evidence: 'never shown', until: null };
    const { state, evidence, until } = last;
    const isOver = state === 'valid' && until !== null && Date.parse(until) <= now.getTime();
    return { proof, state: isOver ? 'due' : state, evidence, until };
  });
  if (isCharacterised === null) return kept;
  const evidence = isCharacterised ? 'rig revision' : 'a nest never held this part sealed';
  return [...kept, { proof: 'characterisation', state: isCharacterised ? 'valid' : 'due', evidence, until: null }];
}

/** What a cycle is told of them. */
export const proofsFor = (views: readonly ProofView[]): Proof[] =>
  views.map(({ proof, state, evidence }) => ({ proof, state, evidence }));

/** A simulated rig brings its calibration along; kept once, and marked as simulated. */
export function proveSimulated(store: Store, station: string): void {
  if (store.latestProof(station, 'calibration') !== undefined) return;
  store.proof({
    station,
    proof: 'calibration',
    state: 'valid',
    evidence: 'simulated station',
    until: null,
    actor: BY_PROGRAM,
  });
}

/** Keeps that a person states the masters to read right, until the shift ends. */
export function stateMasters(
  store: Store,
  station: string,
  { by, partNumber, until }: { readonly by: string; readonly partNumber: string; readonly until: Date },
): void {
  store.proof({
    station,
    proof: 'master-check',
    state: 'valid',
    evidence: `${partNumber}: stated by ${by}`,
    until: until.toISOString(),
    actor: operatorOf(by),
  });
}
