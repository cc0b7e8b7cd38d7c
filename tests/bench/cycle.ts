import { runAndKeep } from '../../server/records/keep.ts';
import { simulatedProofs } from '../../station/host/simulated-station.ts';
import { systemClock } from '../../station/clock.ts';
import { hashOf } from '../../station/hash.ts';
import type { ProfileRevision } from '../../station/profile/schema.ts';
import { goodPart, never, profileNamed, stationFor } from '../support/simulated-plant.ts';
import { bareIntegrator } from './integrator.ts';
import { median } from './timing.ts';

/** The usual fixed waits: 0.6 s fill, 5 s stabilise, 2 s measure, five points of 1.6 s and 0.2 s. */
function usualWaits(profile: ProfileRevision): ProfileRevision {
  const content = {
    ...profile.content,
    leakHold: { ...profile.content.leakHold, fillMs: 600, stabiliseMs: 5000, measureMs: 2000 },
    points: profile.content.points.map((point) => ({ ...point, dwellMs: 1600, apertureMs: 200 })),
  };
  return { revision: 1, content, hash: hashOf(content) };
}

/** The same valves for the bare integrator: the manifold half-way down while the nests are shut. */
const SCHEDULE = [
  { kPaAbs: 'vent', shut: false, ms: 860 },
  { kPaAbs: 150, shut: false, ms: 600 },
  { kPaAbs: 125.5, shut: true, ms: 400 },
  { kPaAbs: 'closed', shut: true, ms: 6600 },
  { kPaAbs: 'vent', shut: false, ms: 1800 },
  { kPaAbs: 80, shut: false, ms: 1800 },
  { kPaAbs: 60, shut: false, ms: 1800 },
  { kPaAbs: 40, shut: false, ms: 1800 },
  { kPaAbs: 20, shut: false, ms: 1800 },
  { kPaAbs: 'vent', shut: false, ms: 1300 },
] as const;

const ROUNDS = 200;
const WARM_UP = 200;

/** CPU of a cycle through the whole product (plan, rig port, cycle, judge, fold, record; no disk) over the bare physics. */
export async function cycleBench(): Promise<void> {
  const profile = usualWaits(profileNamed('AQ-1105'));
  const station = await stationFor('AQ-1105', { profile });
  const product: number[] = [];
  const bare: number[] = [];
  let simulatedMs = 0;
  let bareMs = 0;
  for (let round = 0; round < WARM_UP + ROUNDS; round += 1) {
    const parts = [goodPart(profile, 2 * round), goodPart(profile, 2 * round + 1)];
    const one = await cpuOf(async () => {
      station.rig.loadParts(parts, round);
      const from = station.rig.nowMs;
      await runAndKeep(
        station.rig,
        { plan: station.plan, load: [`B-${round}-1`, `B-${round}-2`], proofs: simulatedProofs([]) },
        { lot: 'bench', program: 'bench', actor: { name: 'bench', role: 'bench', proof: 'stated' }, seed: round },
        { clock: systemClock, store: null, stop: never },
      );
      simulatedMs = station.rig.nowMs - from;
    });
    const two = await cpuOf(() => {
      bareMs = bareIntegrator(round, SCHEDULE).ms;
    });
    if (round < WARM_UP) continue;
    product.push(one);
    bare.push(two);
  }
  const ratios = product.map((ms, i) => ms / (bare[i] ?? ms)).sort((a, b) => a - b);
  console.log(
    `cycle: ${(simulatedMs / 1000).toFixed(2)} s of two nests in ${median(product).toFixed(2)} ms CPU, ` +
      `${Math.round(simulatedMs / median(product))} times real time (wanted 1500 or more), whole product path without disk`,
  );
  console.log(
    `cycle: ${((median(product) / simulatedMs) * (bareMs / median(bare))).toFixed(2)} of the bare integrator's CPU per simulated second ` +
      `(${(bareMs / 1000).toFixed(2)} s in ${median(bare).toFixed(2)} ms; pair by pair ${(ratios[0] ?? 0).toFixed(2)} to ${(ratios.at(-1) ?? 0).toFixed(2)}; wanted 1.5 or less)`,
  );
}

async function cpuOf(work: () => void | Promise<void>): Promise<number> {
  const from = process.cpuUsage();
  await work();
  const { user, system } = process.cpuUsage(from);
  return (user + system) / 1000;
}
