import { stream } from '../../station/random.ts';
import { plantOf } from '../../station/rig/simulated/machine.ts';
import { Nest, volumeOf } from '../../station/rig/simulated/nest.ts';
import { drawPart } from '../../station/rig/simulated/part.ts';
import { MOST_MS } from '../../station/rig/simulated/plant.ts';
import { CRITICAL_RATIO, drawRig } from '../../station/rig/simulated/truth.ts';
import { oneBar } from '../support/parts.ts';

/** One stretch of the schedule: what the manifold does, whether the nests are shut off, and for how long. */
interface Stretch {
  readonly kPaAbs: number | 'vent' | 'closed';
  readonly shut: boolean;
  readonly ms: number;
}

/** The valves of a cycle with usual fixed waits: clamp, fill, hold 5 + 2 s, five points of 1.8 s, vent, release. */
export const FIXED_CYCLE: readonly Stretch[] = [
  { kPaAbs: 'vent', shut: false, ms: 700 },
  { kPaAbs: 150, shut: false, ms: 600 },
  { kPaAbs: 'vent', shut: true, ms: 7000 },
  { kPaAbs: 'vent', shut: false, ms: 1800 },
  { kPaAbs: 80, shut: false, ms: 1800 },
  { kPaAbs: 60, shut: false, ms: 1800 },
  { kPaAbs: 40, shut: false, ms: 1800 },
  { kPaAbs: 20, shut: false, ms: 1800 },
  { kPaAbs: 'vent', shut: false, ms: 1200 },
];

/** What was computed, so that nothing can be left out: simulated time, readings drawn, and a sum over all of them. */
export interface Work {
  readonly ms: number;
  readonly readings: number;
  readonly sum: number;
}

/**
 * The bare physics of a simulated cycle of two nests: the same integrator and the same noisy readings as the rig's
 * `acquire`, without promises, blocks or product code. What a whole cycle costs is compared with this.
 */
export function bareIntegrator(seed: number, schedule: readonly Stretch[] = FIXED_CYCLE): Work {
  const truth = drawRig(seed, { nests: 2 });
  const plant = plantOf(truth);
  const load = truth.loads[0]!;
  const controllerNoise = stream(seed, 'controller noise', 0);
  const nests = truth.nests.map((nest, n) => new Nest(nest, n, seed, truth.ambientPa));
  nests.forEach((nest, n) => {
    const part = drawPart(seed, n, oneBar);
    nest.load(part, seed, truth.ambientPa);
    nest.touching = true;
    nest.volts = 5;
    plant.network.fit(n, volumeOf(nest.truth, part, CRITICAL_RATIO));
  });
  const [reference, output] = [new Float64Array(MOST_MS), new Float64Array(MOST_MS)];
  let [nowMs, readings, sum] = [0, 0, 0];
  for (const { kPaAbs, shut, ms } of schedule) {
    if (kPaAbs === 'vent') plant.controller.vent();
    else if (kPaAbs === 'closed') plant.controller.close();
    else plant.controller.hold(kPaAbs * 1000);
    plant.network.open.fill(shut ? 0 : 1);
    for (const untilMs = nowMs + ms; nowMs < untilMs; nowMs += MOST_MS) {
      controllerNoise.normals(plant.controllerPa, 0, MOST_MS);
      for (let k = 0; k < MOST_MS; k++) plant.controllerPa[k] = 5 * plant.controllerPa[k]!;
      plant.run(0, MOST_MS, Infinity);
      for (let n = 0; n < nests.length; n++) {
        const row = n * (MOST_MS + 1);
        nests[n]!.readReference(plant.trace, row, nowMs, reference);
        sum += nests[n]!.readVoltages(plant.trace, row, nowMs, load, truth.roomK - 273.15, output).supplyMa;
        sum += reference[MOST_MS - 1]! + output[MOST_MS - 1]!;
      }
      readings += MOST_MS * (1 + 2 * nests.length);
    }
  }
  return { ms: nowMs, readings, sum };
}
