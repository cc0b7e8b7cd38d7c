import type { ProofName } from '../../station/cycle/proof.ts';
import type { FaultCode } from '../../station/faults.ts';
import type { ProfileRevision } from '../../station/profile/schema.ts';
import type { RigRevision } from '../../station/rig/revision.ts';
import type { DummyRun } from '../../station/soak/lags-fit.ts';
import { HttpProblem } from '../http/problem.ts';
import { proofsOf, stateMasters } from '../line/proofs.ts';
import type { RigSideGiven } from '../line/rig-given.ts';
import { shiftOf } from '../line/shift.ts';
import type { Shifts } from '../line/shift.ts';
import { operatorOf } from '../line/actors.ts';
import { makeAuditWork } from '../line/work.ts';
import type { LabReadiness } from './contract.ts';
import { keepSoakStudy, soakStudyOf } from './soak-books.ts';

/** What a lab station has to show before it audits, kept in the ledger. */
export class LabProofs {
  readonly #station: string;
  readonly #given: RigSideGiven & { readonly settings: { readonly shifts: Shifts } };
  /** Why the last study came to nothing; null when it did not, and while a new one runs. */
  trouble: FaultCode | null = null;

  constructor(station: string, given: RigSideGiven & { readonly settings: { readonly shifts: Shifts } }) {
    this.#station = station;
    this.#given = given;
  }

  /** How it stands for a part number; what its nests do with it is unknown before the rig is. */
  readiness(profile: ProfileRevision, rig: RigRevision | null): LabReadiness {
    const { store, clock } = this.#given;
    const work = { by: '', lot: '', profile, condition: 'ambient' as const };
    const isKnown = rig === null ? null : makeAuditWork(work, rig, []).isCharacterised;
    return {
      proofs: proofsOf(store, this.#station, clock.wallTime(), isKnown),
      soakStudy: soakStudyOf(store, this.#station, profile.content.partNumber),
    };
  }

  /** Throws the HttpProblems `proof-due` and `soak-study-due`, naming what is to be shown first. */
  require(partNumber: string, { proofs, soakStudy }: LabReadiness): void {
    const due = proofs.find(({ state }) => state !== 'valid');
    if (due !== undefined)
      throw new HttpProblem(409, 'proof-due', `The station has to show first: ${NAMES[due.proof]}.`, {
        proof: due.proof,
        state: due.state,
      });
    if (soakStudy === null)
      throw new HttpProblem(
        409,
        'soak-study-due',
        `Nobody has studied yet how slowly ${partNumber} follows this chamber. Run the soak study first.`,
        { partNumber },
      );
  }

  /** Keeps that a person states the masters to read right, until the shift ends. */
  stateMasters(profile: ProfileRevision, by: string): void {
    const { store, clock, settings } = this.#given;
    const { until } = shiftOf(clock.wallTime(), settings.shifts);
    stateMasters(store, this.#station, { by, partNumber: profile.content.partNumber, until });
  }

  /** Works a soak study out and keeps it; that it says too little, or cannot be kept, is the station's trouble. */
  keepStudy(of: { readonly partNumber: string; readonly by: string }, runs: readonly DummyRun[]): void {
    const { store, log } = this.#given;
    const station = this.#station;
    try {
      const lack = keepSoakStudy(store, { station, partNumber: of.partNumber, actor: operatorOf(of.by) }, runs);
      this.trouble = lack === null ? null : 'study-too-little';
      if (lack !== null) log.warn({ station, ...lack }, 'a soak study says too little');
    } catch (cause) {
      this.trouble = 'not-kept';
      log.error({ station, err: cause }, 'a soak study could not be kept');
    }
  }
}

const NAMES: Readonly<Record<ProofName, string>> = {
  'master-check': 'that its masters read right',
  calibration: 'a valid calibration',
  characterisation: 'what its nests do with this part number',
};
