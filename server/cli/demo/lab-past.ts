import { dummyRuns } from '../../../station/host/simulated-station.ts';
import type { ProfileRevision } from '../../../station/profile/schema.ts';
import type { SoakLags, SoakState } from '../../../station/soak/core-observer.ts';
import { soak } from '../../../station/soak/soak.ts';
import type { SoakProof, Soaking } from '../../../station/soak/soak.ts';
import { fromBench } from '../../lab/soak-books.ts';
import { PROGRAM } from '../../program.ts';
import { ENGINEER } from './past-keeper.ts';
import type { PastDraw } from './past-keeper.ts';
import type { History, Parts, PastStation } from './plant.ts';
import type { ScenarioLot } from './script.ts';

const SOAK = { rampKPerS: 0.05, limitMs: 4 * 3_600_000 } as const;
const ROOM_C = 22;
const DEW_POINT_C = 12;
/** From the lot's last test to the lab, and to lay a load in or take it out, ms. Common practice, no source. */
const TO_LAB_MS = 2 * 3_600_000;
const LOADING_MS = 10 * 60_000;
/** Until the chamber is back at the room, s; and how often a stage is tried when the station is at fault. */
const COOLING_S = 3600;
const ATTEMPTS = 3;

type Audited = ScenarioLot & { readonly profile: ProfileRevision };

/** The lab of the scenario: it studies its soaks once a part number, and audits. */
export class PastLab {
  readonly #history: History;
  readonly #lab: PastStation;
  readonly #lags = new Map<string, SoakLags>();

  constructor(history: History, lab: PastStation) {
    this.#history = history;
    this.#lab = lab;
  }

  /** Draws, tests and decides as the lab does. Rejects with what cannot be kept. */
  async audit(lot: Audited, parts: Parts): Promise<void> {
    const { keeper, clock } = this.#history;
    const lags = await this.#study(lot.profile);
    clock.pass(TO_LAB_MS);
    const drawn = await keeper.draw({
      station: this.#lab.station,
      profile: lot.profile,
      lot: lot.lot,
      parts: lot.audit?.parts ?? 1,
      happenedAt: this.#now(),
    });
    const { nests } = this.#lab;
    for (let load = 1; (load - 1) * nests < drawn.serials.length; load += 1)
      await this.#testLoad({ lot, drawn, load, lags }, parts);
    clock.pass(LOADING_MS);
    await keeper.decide(drawn.audit, this.#now());
  }

  #now(): string {
    return this.#history.clock.wallTime().toISOString();
  }

  async #study({ content }: ProfileRevision): Promise<SoakLags> {
    const { keeper, stop } = this.#history;
    const { partNumber, conditions } = content;
    const known = this.#lags.get(partNumber);
    if (known !== undefined) return known;
    const targets = conditions.filter(({ id }) => id !== 'ambient').map(({ targetC }) => targetC);
    const runs = await dummyRuns(this.#lab.rig, content, targets, { stop, onRun: () => Promise.resolve() });
    const lags = await keeper.study({ station: this.#lab.station, partNumber }, runs);
    this.#lags.set(partNumber, lags);
    return lags;
  }

  /** A load through every condition; its places are the next parts in the order drawn. */
  async #testLoad(
    given: { readonly lot: Audited; readonly drawn: PastDraw; readonly load: number; readonly lags: SoakLags },
    parts: Parts,
  ): Promise<void> {
    const { keeper, clock, stop } = this.#history;
    const { lot, drawn, load, lags } = given;
    const { audit } = drawn;
    const { nests, rig } = this.#lab;
    const places = Array.from({ length: nests }, (_, nest) => drawn.serials[(load - 1) * nests + nest] ?? null);
    clock.pass(LOADING_MS);
    await keeper.act({ audit, act: 'load', load, places, actor: ENGINEER, happenedAt: this.#now() });
    this.#lab.layIn(lot.profile.content, places, parts, load + 10 * lot.daysAgo);
    let from = fromBench(ROOM_C, ROOM_C);
    for (const [index, condition] of drawn.conditions.entries())
      from = await this.#testStage({ lot, audit, load, stage: index + 1, places, condition, lags }, from);
    await rig.safe();
    for (let second = 0; second < COOLING_S; second += 1) await rig.idle(1000, stop);
    const opened = { airC: ROOM_C, dewPointC: DEW_POINT_C, actor: ENGINEER, happenedAt: this.#now() };
    await keeper.act({ audit, act: 'opened', load, ...opened });
  }

  /** Soaks and tests until a cycle ends without a fault of the station; answers where the parts are then. */
  async #testStage(
    given: {
      readonly lot: Audited;
      readonly audit: string;
      readonly load: number;
      readonly stage: number;
      readonly places: readonly (string | null)[];
      readonly condition: Soaking['condition'];
      readonly lags: SoakLags;
    },
    before: SoakState,
  ): Promise<SoakState> {
    const { lot, audit, load, stage, places, condition, lags } = given;
    let from = before;
    for (let attempt = 1; attempt <= ATTEMPTS; attempt += 1) {
      const proof = await this.#soaked(lot.profile.content, condition, lags, from);
      from = proof.state;
      const plan = this.#lab.plan({ profile: lot.profile, kind: 'audit', condition });
      const { measurement } = await this.#lab.run(
        { plan, load: places, soak: proof },
        { lot: lot.lot, program: PROGRAM, actor: ENGINEER, seed: null, audit: { audit, load, stage } },
      );
      if (measurement.faults.length === 0) return from;
    }
    throw new Error(`load ${load} of ${lot.lot} cannot be tested at ${condition}`);
  }

  async #soaked(
    { partNumber, conditions }: ProfileRevision['content'],
    id: Soaking['condition'],
    lags: SoakLags,
    from: SoakState,
  ): Promise<SoakProof> {
    const { clock, stop } = this.#history;
    const condition = conditions.find((each) => each.id === id);
    if (condition === undefined) throw new Error(`${partNumber} has no condition ${id}`);
    const { rig } = this.#lab;
    clock.follow(rig);
    const { targetC, soakMs } = condition;
    const run = soak(rig, { condition: id, targetC, lags, from, leastMs: soakMs, ...SOAK }, stop);
    for (;;) {
      const step = await run.next();
      if (step.done === true) return step.value;
    }
  }
}
