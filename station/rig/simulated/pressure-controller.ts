import { FLOW, flowInto, GAS_CONSTANT } from './gas.ts';
import { VALVE } from './network.ts';
import type { Network } from './network.ts';

/** Engineering assumptions of the loop: a fast proportional-integral controller with a limited set-point rate. */
const LOOP = {
  proportionalPerS: 25,
  integralPerS2: 120,
  integralLimitPaPerS: 40e3,
  setPointPaPerS: 500e3,
  feedForward: 0.6,
  transducerLagS: 2e-3,
  valveLagS: 4e-3,
  valveStrokeS: 20e-3,
} as const;

/** Period of the loop, s: the millisecond of the gas. */
const STEP_S = 1e-3;
const LAG_GAIN = 1 - Math.exp(-STEP_S / LOOP.transducerLagS);
const VALVE_GAIN = 1 - Math.exp(-STEP_S / LOOP.valveLagS);
const STROKE = STEP_S / LOOP.valveStrokeS;
const SET_POINT_STEP = LOOP.setPointPaPerS * STEP_S;

/**
 * The pressure controller of the manifold: reads its own transducer each millisecond and moves three valves.
 * See README.md, "Controller". Pressures in Pa absolute.
 */
export class PressureController {
  #mode: 'vent' | 'closed' | 'hold' = 'vent';
  #targetPa = 0;
  #setPointPa: number;
  #integral = 0;
  #filteredPa: number;
  #readPa: number;
  /** True when the transducer repeats its last reading. */
  stuck = false;
  /** Opening of a valve that something forces, whatever is asked for; NaN where nothing does. */
  readonly forced = new Float64Array(3).fill(Number.NaN);
  readonly #wanted = new Float64Array(3);
  readonly #flow = new Float64Array(3);

  constructor(startPa: number) {
    this.#setPointPa = startPa;
    this.#filteredPa = startPa;
    this.#readPa = startPa;
  }

  get mode(): 'vent' | 'closed' | 'hold' {
    return this.#mode;
  }

  /** A reading of the transducer that is wrong by `errorPa`. */
  read(errorPa: number): number {
    if (!this.stuck) this.#readPa = this.#filteredPa + errorPa;
    return this.#readPa;
  }

  /** Puts the controller back to where a rig at rest has it: venting, at the given pressure. Faults stay. */
  reset(startPa: number): void {
    this.#mode = 'vent';
    this.#integral = 0;
    this.#setPointPa = startPa;
    this.#filteredPa = startPa;
    if (!this.stuck) this.#readPa = startPa;
  }

  hold(targetPa: number): void {
    // The ramp starts at the pressure that is there, so that nothing jumps when control is taken over.
    if (this.#mode !== 'hold') {
      this.#setPointPa = this.#filteredPa;
      this.#integral = 0;
    }
    this.#mode = 'hold';
    this.#targetPa = targetPa;
  }

  vent(): void {
    this.#mode = 'vent';
    this.#integral = 0;
  }

  close(): void {
    this.#mode = 'closed';
    this.#integral = 0;
  }

  /** Whether something forces a valve, whatever is asked for. */
  get isForced(): boolean {
    const { forced } = this;
    return !(Number.isNaN(forced[0]) && Number.isNaN(forced[1]) && Number.isNaN(forced[2]));
  }

  /** Moves the valves for the next millisecond by the last reading of the transducer. */
  move(network: Network): void {
    const wanted = this.#wanted;
    wanted[VALVE.supply] = 0;
    wanted[VALVE.exhaust] = 0;
    wanted[VALVE.vacuum] = 0;
    if (this.#mode === 'vent') wanted[VALVE.exhaust] = 1;
    else if (this.#mode === 'hold') this.#control(network);
    for (let c = 0; c < 3; c++) {
      const force = this.forced[c]!;
      const now = network.opening[c]!;
      if (force === force) network.opening[c] = force;
      else if (now !== wanted[c]!) network.opening[c] = stroke(now, wanted[c]!);
    }
  }

  /** Follows the manifold's pressure over the millisecond that has passed. */
  follow(manifoldPa: number): void {
    this.#filteredPa += LAG_GAIN * (manifoldPa - this.#filteredPa);
  }

  #control(network: Network): void {
    const measuredPa = this.#readPa;
    const ahead = this.#targetPa - this.#setPointPa;
    this.#setPointPa += ahead > SET_POINT_STEP ? SET_POINT_STEP : ahead < -SET_POINT_STEP ? -SET_POINT_STEP : ahead;
    const left = this.#targetPa - this.#setPointPa;
    const moving = left > 1 || left < -1;
    const error = this.#setPointPa - measuredPa;
    let rate = LOOP.proportionalPerS * error + this.#integral;
    if (moving) rate += LOOP.feedForward * LOOP.setPointPaPerS * Math.sign(left);

    const down = this.#targetPa < network.ambientPa - 200 ? VALVE.vacuum : VALVE.exhaust;
    this.#fullFlow(network, rate > 0 ? VALVE.supply : down);
    const asked = (rate * this.#m3(network)) / (GAS_CONSTANT * network.fixtureK * this.#flow[FLOW.kgPerS]!);
    if (asked <= 1 && asked >= -1 && !moving) {
      const sum = this.#integral + LOOP.integralPerS2 * error * STEP_S;
      const most = LOOP.integralLimitPaPerS;
      this.#integral = sum > most ? most : sum < -most ? -most : sum;
    }
    if (asked > 0) this.#wanted[VALVE.supply] = asked < 1 ? asked : 1;
    else if (asked < 0) {
      this.#wanted[down] = asked > -1 ? -asked : 1;
      // The exhaust helps the vacuum as long as it still flows outwards.
      if (measuredPa > network.ambientPa + 2000) this.#wanted[VALVE.exhaust] = this.#wanted[down]!;
    }
  }

  /** The volume that the valves see: the manifold and every nest that is open to it. */
  #m3(network: Network): number {
    let m3 = network.m3(network.nests);
    for (let n = 0; n < network.nests; n++) if (network.open[n] === 1) m3 += network.m3(n);
    return m3;
  }

  /** Leaves the flow of a valve fully open at the measured pressure in `#flow`, kg/s, never zero. */
  #fullFlow(network: Network, c: number): void {
    const flow = this.#flow;
    const sourcePa = network.sourcePa[c]!;
    const up = c === VALVE.supply ? sourcePa : this.#readPa;
    const down = c === VALVE.supply ? this.#readPa : sourcePa;
    if (up > down) flowInto(flow, network.valveM3PerSPa[c]! * network.fixtureDensity, network.shape, up, down);
    else flow[FLOW.kgPerS] = 0;
    flow[FLOW.kgPerS] = flow[FLOW.kgPerS]! + 1e-7;
  }
}

function stroke(now: number, wanted: number): number {
  const move = VALVE_GAIN * (wanted - now);
  const next = now + (move > STROKE ? STROKE : move < -STROKE ? -STROKE : move);
  // An exponential approach never ends; a valve does.
  return Math.abs(wanted - next) < 1e-4 ? wanted : next;
}
