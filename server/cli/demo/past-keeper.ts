import type { Circumstances, CycleRecord } from '../../../station/cycle/record.ts';
import type { Plan } from '../../../station/profile/plan.ts';
import type { ConditionId, ProfileRevision } from '../../../station/profile/schema.ts';
import type { RigRevision } from '../../../station/rig/revision.ts';
import type { DummyRun } from '../../../station/soak/lags-fit.ts';
import type { SoakLags } from '../../../station/soak/core-observer.ts';
import { evaluationOf, stateOfAudit } from '../../audit/audits.ts';
import { decide } from '../../audit/deciding.ts';
import { drawSample } from '../../audit/drawing.ts';
import { keepSoakStudy, lagsOf, soakStudyOf } from '../../lab/soak-books.ts';
import { BY_PROGRAM, operatorOf } from '../../line/actors.ts';
import { proveSimulated } from '../../line/proofs.ts';
import type { AuditAct } from '../../store/entry-format.ts';
import type { Actor } from '../../store/record-format.ts';
import type { Store } from '../../store/store.ts';
import { SCENARIO } from './script.ts';

export const ENGINEER: Actor = { name: 'M. Orrell', role: 'quality engineer', proof: 'stated' };

/** What was drawn. */
export interface PastDraw {
  readonly audit: string;
  readonly serials: readonly string[];
  readonly conditions: readonly ConditionId[];
}

/**
 * Who writes a made past down: the ledger's own process, or one that is asked from another. Calls come one after the other;
 * each resolves when it is kept and rejects when it cannot be.
 */
export interface PastKeeper {
  issueProfile(profile: ProfileRevision): Promise<void>;
  /** Keeps a station's rig and that a simulated one brings its calibration along. */
  issueRig(revision: RigRevision): Promise<void>;
  cycle(kept: { readonly plan: Plan; readonly record: CycleRecord; readonly trace: Uint8Array }): Promise<void>;
  study(of: { readonly station: string; readonly partNumber: string }, runs: readonly DummyRun[]): Promise<SoakLags>;
  draw(wish: {
    readonly station: string;
    readonly profile: ProfileRevision;
    readonly lot: string;
    readonly parts: number;
    readonly happenedAt: string;
  }): Promise<PastDraw>;
  act(content: AuditAct): Promise<void>;
  /** Decides as the plan's rule proposes; a lot whose span falls is held. */
  decide(audit: string, decidedAt: string): Promise<void>;
  /** A lot is through. */
  pause(): Promise<void>;
}

/** Keeps a past in this process's ledger. */
export class LedgerKeeper implements PastKeeper {
  readonly #store: Store;

  constructor(store: Store) {
    this.#store = store;
  }

  issueProfile(profile: ProfileRevision): Promise<void> {
    return kept(() => this.#store.issueProfile(profile, BY_PROGRAM));
  }

  issueRig(revision: RigRevision): Promise<void> {
    return kept(() => {
      this.#store.issueRigRevision(revision, BY_PROGRAM);
      proveSimulated(this.#store, revision.station);
    });
  }

  cycle({ plan, record, trace }: Parameters<PastKeeper['cycle']>[0]): Promise<void> {
    return kept(() => {
      this.#store.openCycle({ ...openingOf(record.circumstances), load: [...record.measurement.load] }, plan);
      this.#store.closeCycle(record, trace);
    });
  }

  study(of: { readonly station: string; readonly partNumber: string }, runs: readonly DummyRun[]): Promise<SoakLags> {
    return kept(() => {
      const { station, partNumber } = of;
      const lack = keepSoakStudy(this.#store, { station, partNumber, actor: operatorOf('T. Aas') }, runs);
      const study = soakStudyOf(this.#store, station, partNumber);
      if (study === null) throw new Error(`the soak study of ${partNumber} says too little: ${lack?.code ?? ''}`);
      return lagsOf(study);
    });
  }

  draw({ parts, ...wish }: Parameters<PastKeeper['draw']>[0]): Promise<PastDraw> {
    return kept(() => {
      // The plan is that of this draw: how a part number's samples are drawn is for its people to say.
      const plan = { kind: 'fixed', n: parts } as const;
      const audit = drawSample(this.#store, { ...wish, plan, returnToAmbient: false, actor: ENGINEER });
      const { serials, conditions } = stateOfAudit(this.#store, audit).drawn.content;
      return { audit, serials, conditions };
    });
  }

  act(content: AuditAct): Promise<void> {
    return kept(() => void this.#store.audit(() => content));
  }

  decide(audit: string, decidedAt: string): Promise<void> {
    return kept(() => {
      const { proposal, findings } = evaluationOf(this.#store, stateOfAudit(this.#store, audit));
      // Whoever knows the moulding cell holds a lot whose span falls, whatever thirteen parts happen to show.
      const isDrifting = findings.some(({ code }) => code === 'span-falls');
      const decision = isDrifting ? 'hold' : (proposal.decision ?? 'hold');
      const reason =
        decision === 'accept'
          ? 'All parts inside their limits, capable everywhere.'
          : 'Too near the limits; asked the moulding cell.';
      decide(this.#store, audit, { decision, reason, concession: null }, ENGINEER, decidedAt, isOfScenario);
    });
  }

  pause(): Promise<void> {
    return kept(() => this.#store.checkpoint());
  }
}

/** Lots that people test meanwhile are none of the scenario's business. */
const isOfScenario = (partNumber: string, lot: string): boolean =>
  SCENARIO.some((each) => each.partNumber === partNumber && each.lot === lot);

/** What is said of a cycle at its opening, out of what is said at its end. */
function openingOf({
  closedAt: _closedAt,
  closedMonotonicMs: _closedMonotonicMs,
  trace: _trace,
  barometerKpaAbs: _barometerKpaAbs,
  roomC: _roomC,
  ...opening
}: Circumstances) {
  return opening;
}

/** What a synchronous store does, as a promise: a failure of it rejects. */
const kept = <T>(write: () => T): Promise<T> =>
  new Promise((resolve) => {
    resolve(write());
  });
