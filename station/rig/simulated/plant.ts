import { Network, VALVE } from './network.ts';
import type { NetworkSpec } from './volume.ts';
import { PressureController } from './pressure-controller.ts';
import { SEALED_STEPS } from './volumes.ts';

/** Step of the gas and period of its controller, ms. Sample and trace run at the same rate. */
export const STEP_MS = 1;
/** Longest run, in ms, that the trace holds. */
export const MOST_MS = 20;
const ROW = MOST_MS + 1;

/** Nearer than this to ambient pressure and wall temperature, an open rig counts as at rest. */
const REST = { pa: 0.5, kelvin: 2e-3 } as const;

/**
 * Gas and pressure controller together, run for a few milliseconds at a time. The pressure of each nest at each
 * millisecond is left in `trace`, one row of MOST_MS + 1 a nest.
 */
export class Plant {
  readonly network: Network;
  readonly controller: PressureController;
  readonly trace: Float64Array;
  /** Before a run: what is wrong with each of the controller's readings, Pa. After it: the readings. */
  readonly controllerPa = new Float64Array(ROW);

  constructor(spec: Omit<NetworkSpec, 'stepMs'>) {
    this.network = new Network({ ...spec, stepMs: STEP_MS });
    this.controller = new PressureController(spec.ambientPa);
    this.trace = new Float64Array(spec.nests.length * ROW);
  }

  /**
   * Lets up to `ms` milliseconds pass from trace column `from` on and returns how many did: fewer only when the
   * manifold rose above `limitPa`. Columns from … from + done are written.
   */
  run(from: number, ms: number, limitPa: number): number {
    const { network } = this;
    const done = this.#isStill() ? this.#runStill(from, ms) : this.#runOpen(from, ms, limitPa);
    for (let n = 0; n < network.nests; n++) if (network.open[n] === 0) this.#runSealed(n, from, done);
    return done;
  }

  /** Steps of 1 ms: the manifold, its controller and the nests that are open to it. */
  #runOpen(from: number, ms: number, limitPa: number): number {
    const { network, controller, trace, controllerPa } = this;
    const { nests, open, unclamped } = network;
    for (let n = 0; n < nests; n++) if (open[n] === 1) trace[n * ROW + from] = network.pressurePa(n);
    for (let k = from; k < from + ms; k++) {
      controllerPa[k] = controller.read(controllerPa[k]!);
      controller.move(network);
      network.flowStep();
      controller.follow(network.pressurePa(nests));
      for (let n = 0; n < nests; n++) {
        if (open[n] === 0) continue;
        if (unclamped[n] === 1) network.set(n, network.ambientPa, network.skinK(n));
        trace[n * ROW + k + 1] = network.pressurePa(n);
      }
      if (network.pressurePa(nests) > limitPa) return k + 1 - from;
    }
    return ms;
  }

  /** A shut volume takes long steps; its pressure runs straight between them, within 0.1 Pa for the fastest cooling. */
  #runSealed(n: number, from: number, ms: number): void {
    const { network, trace } = this;
    const row = n * ROW;
    for (let k = from; k < from + ms; ) {
      const step = from + ms - k < SEALED_STEPS ? from + ms - k : SEALED_STEPS;
      const before = network.pressurePa(n);
      if (network.unclamped[n] !== 1) network.relax(n, step);
      const slope = (network.pressurePa(n) - before) / step;
      for (let j = 0; j <= step; j++) trace[row + k + j] = before + slope * j;
      k += step;
    }
  }

  /**
   * Whether nothing flows through any valve until something is commanded: the manifold shut with no nest open to it, or
   * vented with every open nest, all at ambient pressure and as warm as their walls.
   */
  #isStill(): boolean {
    const { network, controller } = this;
    const { opening, nests, open } = network;
    if (controller.isForced || opening[VALVE.supply] !== 0 || opening[VALVE.vacuum] !== 0) return false;
    if (controller.mode === 'closed') return opening[VALVE.exhaust] === 0 && !open.includes(1);
    if (controller.mode !== 'vent' || opening[VALVE.exhaust] !== 1) return false;
    for (let v = 0; v <= nests; v++) {
      if (v < nests && open[v] === 0) continue;
      if (Math.abs(network.pressurePa(v) - network.ambientPa) > REST.pa) return false;
      if (Math.abs(network.gasK(v) - network.skinK(v)) > REST.kelvin) return false;
    }
    return true;
  }

  #runStill(from: number, ms: number): number {
    const { network, controller, trace, controllerPa } = this;
    const { nests, open } = network;
    const vented = controller.mode === 'vent';
    for (let v = 0; v <= nests; v++) {
      if (v < nests && open[v] === 0) continue;
      const pa = network.pressurePa(v);
      for (let left = ms; left > 0; left -= SEALED_STEPS) {
        network.relax(v, left < SEALED_STEPS ? left : SEALED_STEPS);
      }
      if (vented) network.set(v, pa, network.skinK(v));
      if (v < nests) trace.fill(pa, v * ROW + from, v * ROW + from + ms + 1);
    }
    for (let k = from; k < from + ms; k++) {
      controllerPa[k] = controller.read(controllerPa[k]!);
      controller.follow(network.pressurePa(nests));
    }
    return ms;
  }
}
