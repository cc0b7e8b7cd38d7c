import type { Judgement } from '../../station/cycle/judge.ts';
import type { NestResult } from '../../station/cycle/result.ts';
import { makePlan } from '../../station/profile/plan.ts';
import type { Plan } from '../../station/profile/plan.ts';
import { issueOf } from '../../station/profile/revision.ts';
import type { CycleKind, ProfileRevision } from '../../station/profile/schema.ts';
import { stateOfAudit } from '../../server/audit/audits.ts';
import type { DecisionWish } from '../../server/audit/contract.ts';
import { decide, decideLot } from '../../server/audit/deciding.ts';
import { drawSample } from '../../server/audit/drawing.ts';
import type { SamplingPlan } from '../../server/audit/evaluation/contract.ts';
import { tellSample } from '../../server/audit/sampling.ts';
import { HttpProblem } from '../../server/http/problem.ts';
import { openStore } from '../../server/store/store.ts';
import type { Store } from '../../server/store/store.ts';
import { ACTOR, PROFILE, PROGRAM, RIG, STATION, openingOf, recordOf } from './ledger-content.ts';
import { steppingClock } from './ledger-use.ts';
import type { SteppingClock } from './ledger-use.ts';

export const { partNumber: PART_NUMBER } = PROFILE;
const CONCESSION = { reference: 'C-17', quantity: null, until: null };

/** How a part is judged: passed where nothing else is said. */
export type Judged = Readonly<Record<string, 'fail' | 'none'>>;

/** A ledger with lots and audits whose records are written down, not measured: for what follows from verdicts alone. */
export class JudgedLots {
  readonly clock: SteppingClock = steppingClock();
  readonly store: Store = openStore(':memory:', { clock: this.clock, program: PROGRAM });
  /** By which parts are tested, and samples drawn. */
  profile: ProfileRevision = issueOf(1, PROFILE);
  #cycles = 0;
  #loads = 0;

  constructor() {
    this.store.issueProfile(this.profile, ACTOR);
    this.store.issueRigRevision(RIG, ACTOR);
  }

  /** A lot of so many parts that the line passed. */
  lot(code: string, parts: number): void {
    for (let n = 0; n < parts; n += 2)
      this.cycle('line', code, [serialOf(code, n), n + 1 < parts ? serialOf(code, n + 1) : null], {});
    this.store.checkpoint();
  }

  /** One cycle; `more` goes into its opening. */
  cycle(
    kind: CycleKind,
    lot: string,
    load: (string | null)[],
    judged: Judged,
    more: {
      readonly audit?: { audit: string; load: number; stage: number };
      readonly plan?: Plan;
      readonly judgements?: readonly Judgement[];
    } = {},
  ): void {
    const plan = more.plan ?? this.plan(kind, this.profile);
    const number = (this.#cycles += 1);
    const at = this.clock.wallTime().toISOString();
    const { audit } = more;
    const opening = openingOf(number, { load, lot, openedAt: at, ...(audit === undefined ? {} : { audit }) });
    this.store.openCycle(opening, plan);
    const { measurement, circumstances } = recordOf(opening, plan, number, null);
    const results = measurement.results.map(({ nest, serial }): NestResult => {
      const verdict = judged[serial];
      if (verdict === undefined) return { nest, serial, verdict: 'pass', why: [] };
      const why =
        verdict === 'fail'
          ? ({ by: 'part', code: 'reads-high', facts: {} } as const)
          : ({ by: 'station', code: 'not-soaked', facts: {} } as const);
      return { nest, serial, verdict, why: [why] };
    });
    this.store.closeCycle(
      {
        measurement: { ...measurement, results, judgements: more.judgements ?? measurement.judgements },
        circumstances: { ...circumstances, closedAt: at },
      },
      null,
    );
  }

  plan(kind: CycleKind, profile: ProfileRevision): Plan {
    return makePlan({ profile, rig: RIG, kind, condition: 'ambient', plant: [] });
  }

  draw(lot: string, plan: SamplingPlan): string {
    this.store.samplingPlan({ partNumber: PART_NUMBER, plan, reason: 'r', actor: ACTOR });
    return this.drawAgain(lot);
  }

  /** By the plan that holds. */
  drawAgain(lot: string): string {
    const wish = { station: STATION, profile: this.profile, lot, returnToAmbient: false, actor: ACTOR };
    return drawSample(this.store, wish);
  }

  /** The serials drawn, in order. */
  sample(audit: string): string[] {
    return stateOfAudit(this.store, audit).drawn.content.serials;
  }

  /** Tests parts of a sample, all where none are named, and takes them out. `bad` says how many of them fail, the first ones. */
  tested(audit: string, bad = 0, parts: readonly string[] = this.sample(audit)): void {
    const { lot } = stateOfAudit(this.store, audit).drawn.content;
    const judged = Object.fromEntries(parts.slice(0, bad).map((serial) => [serial, 'fail' as const]));
    for (let n = 0; n < parts.length; n += 2) this.load(audit, lot, [parts[n] ?? null, parts[n + 1] ?? null], judged);
  }

  load(audit: string, lot: string, places: (string | null)[], judged: Judged): void {
    const load = (this.#loads += 1);
    this.store.audit(() => ({ audit, act: 'load', load, places, actor: ACTOR }));
    this.cycle('audit', lot, places, judged, { audit: { audit, load, stage: 1 } });
    this.store.audit(() => ({ audit, act: 'opened', load, airC: 23, dewPointC: 15, actor: ACTOR }));
  }

  /** Draws, tests everything and decides. Returns the audit. */
  audited(lot: string, plan: SamplingPlan, bad: number, decision: 'accept' | 'hold' | 'reject'): string {
    const audit = this.draw(lot, plan);
    this.tested(audit, bad);
    decide(this.store, audit, { decision, reason: 'r', concession: null }, ACTOR);
    return audit;
  }

  /** Gives an audit up after so many of its parts were tested, of which so many were bad. */
  givenUp(lot: string, plan: SamplingPlan, tested: number, bad: number): void {
    const audit = this.draw(lot, plan);
    if (tested > 0) this.tested(audit, bad, this.sample(audit).slice(0, tested));
    tellSample(this.store, audit, { type: 'abandon', reason: 'r', by: 'x' }, ACTOR);
  }

  /** The code with which a decision is refused; null when it is kept. */
  by(audit: string, decision: Choice): string | null {
    return codeOf(() => decide(this.store, audit, wishOf(decision), ACTOR));
  }

  /** The same of a decision without an audit. */
  atSight(lot: string, decision: Choice): string | null {
    return codeOf(() => decideLot(this.store, { partNumber: PART_NUMBER, lot }, wishOf(decision), ACTOR));
  }

  /** Serials that failed in any test. */
  badParts(lot: string): string[] {
    return this.store
      .byLot(PART_NUMBER, lot, 1000)
      .flatMap(({ record }) => record.measurement.results)
      .flatMap(({ serial, verdict }) => (verdict === 'fail' ? [serial] : []));
  }

  standing(lot: string): string | undefined {
    return this.store.latestDisposition(PART_NUMBER, lot)?.content.decision;
  }
}

/** A decision; with `until` an acceptance under a concession up to that day. */
type Choice = 'accept' | 'hold' | 'reject' | 'concession' | { readonly until: string };

function wishOf(choice: Choice): DecisionWish {
  if (choice === 'concession') return { decision: 'accept', reason: 'r', concession: CONCESSION };
  if (typeof choice === 'string') return { decision: choice, reason: 'r', concession: null };
  return { decision: 'accept', reason: 'r', concession: { ...CONCESSION, ...choice } };
}

export const serialOf = (lot: string, number: number): string => `${lot}-${String(number).padStart(4, '0')}`;

function codeOf(act: () => unknown): string | null {
  try {
    act();
    return null;
  } catch (cause) {
    if (cause instanceof HttpProblem) return cause.code;
    throw cause;
  }
}
