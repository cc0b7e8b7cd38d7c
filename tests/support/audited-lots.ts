import { auditState } from '../../server/audit/state.ts';
import { drawSample } from '../../server/audit/drawing.ts';
import type { DrawWish } from '../../server/audit/drawing.ts';
import type { Store } from '../../server/store/store.ts';
import { issueOf } from '../../station/profile/revision.ts';
import { makePlan } from '../../station/profile/plan.ts';
import type { Plan } from '../../station/profile/plan.ts';
import type { CycleRecord } from '../../station/cycle/record.ts';
import type { NestResult } from '../../station/cycle/result.ts';
import { ACTOR, PROFILE, RIG, STATION, openingOf, recordOf } from './ledger-content.ts';

/** Lots and their audits as entries of a real ledger, without a rig: who needs many lots has no time for simulated ones. */
export class AuditedLots {
  readonly profile = issueOf(1, PROFILE);
  readonly #store: Store;
  readonly #line: Plan;
  readonly #audit: Plan;
  #cycles = 0;
  #serials = 0;

  constructor(store: Store) {
    this.#store = store;
    store.issueProfile(this.profile, ACTOR);
    store.issueRigRevision(RIG, ACTOR);
    const given = { profile: this.profile, rig: RIG, condition: 'ambient', plant: [] } as const;
    this.#line = makePlan({ ...given, kind: 'line' });
    this.#audit = makePlan({ ...given, kind: 'audit' });
  }

  /** Parts that pass at the line, two a cycle: new ones, or those given. Returns their serials. */
  line(lot: string, parts: number, given?: readonly string[]): string[] {
    const serials =
      given?.slice(0, parts) ??
      Array.from({ length: parts }, () => `P-${String((this.#serials += 1)).padStart(5, '0')}`);
    for (let k = 0; k < parts; k += RIG.nests)
      this.#cycle(this.#line, lot, placesOf(serials.slice(k, k + RIG.nests)), new Set());
    this.#store.checkpoint();
    return serials;
  }

  draw(lot: string, more: Partial<DrawWish> = {}): string {
    const wish = { station: STATION, profile: this.profile, lot, returnToAmbient: false, actor: ACTOR };
    return drawSample(this.#store, { ...wish, ...more });
  }

  drawnOf(audit: string) {
    return auditState(this.#store.auditEntries(audit))!.drawn.content;
  }

  /** Tests the whole sample, load by load; its first `bad` parts fail. */
  test(audit: string, bad = 0): void {
    const { lot, serials } = this.drawnOf(audit);
    const failing = new Set(serials.slice(0, bad));
    for (let k = 0; k < serials.length; k += RIG.nests) this.load(audit, lot, serials.slice(k, k + RIG.nests), failing);
  }

  /** Puts a load in, tests it, and takes it out unless it is to stay. */
  load(audit: string, lot: string, serials: readonly string[], failing: ReadonlySet<string>, isOpened = true): void {
    const { loads } = auditState(this.#store.auditEntries(audit))!;
    const load = loads.length + 1;
    const places = placesOf(serials);
    this.#store.audit(() => ({ audit, act: 'load', load, places, actor: ACTOR }));
    this.#cycle(this.#audit, lot, places, failing, { audit, load, stage: 1 });
    if (isOpened) this.#store.audit(() => ({ audit, act: 'opened', load, airC: 23, dewPointC: 12, actor: ACTOR }));
  }

  #cycle(
    plan: Plan,
    lot: string,
    load: (string | null)[],
    failing: ReadonlySet<string>,
    audit?: CycleRecord['circumstances']['audit'],
  ): void {
    const opening = openingOf((this.#cycles += 1), { lot, load, ...(audit === undefined ? {} : { audit }) });
    this.#store.openCycle(opening, plan);
    // A seed of its own: no two tests of a part read the same.
    const record = recordOf(opening, plan, this.#cycles, null);
    const results = record.measurement.results.map(
      ({ nest, serial }): NestResult =>
        failing.has(serial)
          ? { nest, serial, verdict: 'fail', why: [{ by: 'part', code: 'reads-high', facts: { errorKpa: 1.9 } }] }
          : { nest, serial, verdict: 'pass', why: [] },
    );
    this.#store.closeCycle({ ...record, measurement: { ...record.measurement, results } }, null);
  }
}

const placesOf = (serials: readonly string[]): (string | null)[] =>
  Array.from({ length: RIG.nests }, (_, nest) => serials[nest] ?? null);
