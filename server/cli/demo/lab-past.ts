import { CAPABLE, partsFor } from '../../../station/host/demo.ts';
import { dummyRuns, simulatedProofs } from '../../../station/host/simulated-station.ts';
import { makePlan } from '../../../station/profile/plan.ts';
import type { ProfileRevision } from '../../../station/profile/schema.ts';
import { soak } from '../../../station/soak/soak.ts';
import type { SoakProof, Soaking } from '../../../station/soak/soak.ts';
import type { SoakState } from '../../../station/soak/core-observer.ts';
import { auditView, stateOfAudit } from '../../audit/audits.ts';
import { decide } from '../../audit/deciding.ts';
import { drawSample } from '../../audit/drawing.ts';
import { doneCycle, partsToLoad, stagesOf } from '../../audit/state.ts';
import { fromBench, keepSoakStudy, lagsOf, soakStudyOf } from '../../lab/soak-books.ts';
import { operatorOf } from '../../line/station-books.ts';
import { PROGRAM } from '../../program.ts';
import { runAndKeep } from '../../records/keep.ts';
import type { Actor } from '../../store/record-format.ts';
import type { History, Parts, PastStation } from './plant.ts';
import type { ScenarioLot } from './script.ts';

const ENGINEER: Actor = { name: 'M. Orrell', role: 'quality engineer', proof: 'stated' };
const SOAK = { rampKPerS: 0.05, limitMs: 4 * 3_600_000 } as const;
const ROOM_C = 22;
/** From the lot's last test to the lab, and to lay a load in or take it out, ms. Common practice, no source. */
const TO_LAB_MS = 2 * 3_600_000;
const LOADING_MS = 10 * 60_000;
/** Until the chamber is back at the room, s; and how often a stage is tried when the station is at fault. */
const COOLING_S = 3600;
const ATTEMPTS = 3;

type Audited = ScenarioLot & { readonly profile: ProfileRevision };

/** Draws, tests and decides as the lab does. Throws what the store throws. */
export async function auditLot(history: History, lab: PastStation, lot: Audited, parts: Parts): Promise<void> {
  const { store, clock } = history;
  const { profile } = lot;
  const { partNumber } = profile.content;
  await study(history, lab, profile);
  clock.pass(TO_LAB_MS);
  const n = lot.audit?.parts ?? 1;
  const known = store.samplingPlanOf(partNumber)?.content.plan;
  if (known?.kind !== 'fixed' || known.n !== n)
    store.samplingPlan({
      partNumber,
      plan: { kind: 'fixed', n },
      reason: 'process audit of every lot',
      actor: ENGINEER,
    });
  const wish = { station: lab.station, profile, lot: lot.lot, returnToAmbient: false, actor: ENGINEER };
  const audit = drawSample(store, { ...wish, happenedAt: clock.wallTime().toISOString() });
  for (let load = 1; partsToLoad(stateOfAudit(store, audit)).length > 0; load += 1)
    await testLoad(history, lab, { lot, audit, load }, parts);
  const { evaluation } = auditView(store, audit, '');
  const decision = evaluation.proposal.decision ?? 'hold';
  clock.pass(LOADING_MS);
  const reason =
    decision === 'accept'
      ? 'All parts inside their limits, capable everywhere.'
      : 'Too near the limits; asked the moulding cell.';
  decide(store, audit, { decision, reason, concession: null }, ENGINEER, clock.wallTime().toISOString());
}

async function study(
  { store, stop }: History,
  { rig, station }: PastStation,
  { content }: ProfileRevision,
): Promise<void> {
  const { partNumber } = content;
  if (soakStudyOf(store, station, partNumber) !== null) return;
  const targets = content.conditions.filter(({ id }) => id !== 'ambient').map(({ targetC }) => targetC);
  const runs = await dummyRuns(rig, content, targets, { stop, onRun: () => Promise.resolve() });
  keepSoakStudy(store, { station, partNumber, actor: operatorOf('T. Aas') }, runs);
}

/** A load through every condition; its places are the first parts that wait. */
async function testLoad(
  history: History,
  lab: PastStation,
  { lot, audit, load }: { readonly lot: Audited; readonly audit: string; readonly load: number },
  parts: Parts,
): Promise<void> {
  const { store, clock } = history;
  const { rig, revision, plant } = lab;
  const { content } = lot.profile;
  const state = stateOfAudit(store, audit);
  const waiting = partsToLoad(state);
  const places = Array.from({ length: revision.nests }, (_, nest) => waiting[nest] ?? null);
  const now = (): string => clock.wallTime().toISOString();
  clock.pass(LOADING_MS);
  store.audit(() => ({ audit, act: 'load', load, places, actor: ENGINEER, happenedAt: now() }));
  const draws = places.map((serial) => parts.get(serial ?? '')?.draw ?? { seed: 0, index: 0 });
  const sufferings = places.flatMap((serial, nest) =>
    serial === null
      ? [{ nest, what: 'empty' as const, size: 0, partNumber: null }]
      : (parts.get(serial)?.sufferings ?? []).map((each) => ({ ...each, nest })),
  );
  rig.loadParts(partsFor(content, plant, draws, sufferings, CAPABLE), load + state.drawn.sequence);
  let from: SoakState = fromBench(ROOM_C, ROOM_C);
  for (const [index, condition] of stagesOf(state).entries()) {
    const plan = makePlan({ profile: lot.profile, rig: revision, kind: 'audit', condition, plant });
    const place = { audit, load, stage: index + 1 };
    for (let attempt = 1; doneCycle(stateOfAudit(store, audit), load, place.stage) === undefined; attempt += 1) {
      if (attempt > ATTEMPTS) throw new Error(`load ${load} of ${lot.lot} cannot be tested at ${condition}`);
      const proof = await soaked(history, lab, content, condition, from);
      from = proof.state;
      const kept = await runAndKeep(
        rig,
        { plan, load: places, proofs: simulatedProofs([]), soak: proof },
        { lot: lot.lot, program: PROGRAM, actor: ENGINEER, seed: null, audit: place },
        { clock, store, stop: history.stop },
      );
      if (kept.record === null) throw kept.problem;
    }
  }
  await rig.safe();
  for (let second = 0; second < COOLING_S; second += 1) await rig.idle(1000, history.stop);
  store.audit(() => ({
    audit,
    act: 'opened',
    load,
    airC: ROOM_C,
    dewPointC: 12,
    actor: ENGINEER,
    happenedAt: now(),
  }));
}

async function soaked(
  { store, clock, stop }: History,
  { rig, station }: PastStation,
  { partNumber, conditions }: ProfileRevision['content'],
  id: Soaking['condition'],
  from: SoakState,
): Promise<SoakProof> {
  const condition = conditions.find((each) => each.id === id);
  const studied = soakStudyOf(store, station, partNumber);
  if (condition === undefined || studied === null) throw new Error(`${partNumber} has no soak at ${id}`);
  clock.follow(rig);
  const run = soak(
    rig,
    {
      condition: id,
      targetC: condition.targetC,
      lags: lagsOf(studied),
      from,
      leastMs: condition.soakMs,
      ...SOAK,
    },
    stop,
  );
  for (;;) {
    const step = await run.next();
    if (step.done === true) return step.value;
  }
}
