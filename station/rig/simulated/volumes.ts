import { CP, CV, FLOW, flowInto, GAMMA, GAS_CONSTANT, REFERENCE } from './gas.ts';
import type { FlowShape } from './gas.ts';
import type { VolumeSpec } from './volume.ts';

/** Steps that a volume which is shut off takes at once. */
export const SEALED_STEPS = 5;

/**
 * A volume is one row of numbers: fields of one array are what the compiler reads fastest, and numbers handed over in a
 * row are not boxed as arguments are. State, walls, leak, √(T0/T), stirring flow, then e^(-t/2τ) of the skin and
 * 1 - e^(-t/τ) of the creep for 0 … SEALED_STEPS steps, then what a step knows of the nest's valve.
 */
export const MASS = 0;
export const ENERGY = 1;
const M3 = 2;
export const PA = 3;
export const GAS = 4;
const SKIN = 5;
const BODY = 6;
const FILM = 7;
const SKIN_K_PER_J = 8;
const BASE_M3 = 9;
const CREEP_PER_PA = 10;
const CREEP = 11;
const VISCOUS = 12;
const ORIFICE = 13;
export const PER_BASE_M3 = 14;
const PER_M3 = 15;
export const DENSITY = 16;
export const STIRRING = 17;
const SKIN_HALF = 18;
const CREEP_GAIN = SKIN_HALF + SEALED_STEPS + 1;
export const LINK_KG_PER_S = CREEP_GAIN + SEALED_STEPS + 1;
export const LINK_SLOPE = LINK_KG_PER_S + 1;
export const LINK_KELVIN = LINK_KG_PER_S + 2;
export const LINK_SHARE = LINK_KG_PER_S + 3;
export const WIDTH = LINK_KG_PER_S + 4;

/** What all volumes of a rig have in common. */
export interface Surroundings {
  readonly ambientPa: number;
  /** Temperature of ambient air, and of walls until something else is said. */
  readonly fixtureK: number;
  readonly shape: FlowShape;
  readonly stepMs: number;
  /** Film enhancement by flow: hA grows by gain × min(|q|/kgPerS, 4). */
  readonly film: { readonly gain: number; readonly kgPerS: number };
}

/**
 * Gas in volumes with walls, and what it does on its own: leak, stretch the seal, exchange heat. See README.md, "Model".
 */
export class Volumes {
  readonly ambientPa: number;
  readonly fixtureK: number;
  readonly shape: FlowShape;
  protected readonly rows: Float64Array;
  protected readonly stepS: number;
  readonly #filmGain: number;
  readonly #perFilmKgPerS: number;
  readonly #flow = new Float64Array(3);

  constructor(count: number, around: Surroundings) {
    this.ambientPa = around.ambientPa;
    this.fixtureK = around.fixtureK;
    this.shape = around.shape;
    this.stepS = around.stepMs / 1000;
    this.#filmGain = around.film.gain;
    this.#perFilmKgPerS = 1 / around.film.kgPerS;
    this.rows = new Float64Array(count * WIDTH);
  }

  /** Replaces a volume (another part in the nest) and fills it with ambient air at fixture temperature. */
  fit(v: number, spec: VolumeSpec): void {
    const row = this.rows.subarray(v * WIDTH, (v + 1) * WIDTH);
    row[FILM] = spec.filmWPerK;
    row[SKIN_K_PER_J] = 1 / spec.skinJPerK;
    row[BASE_M3] = spec.m3;
    row[PER_BASE_M3] = 1 / spec.m3;
    row[M3] = spec.m3;
    row[PER_M3] = 1 / spec.m3;
    row[CREEP_PER_PA] = spec.creepPerPa;
    row[CREEP] = 0;
    row[VISCOUS] = spec.viscousLeak;
    row[ORIFICE] = spec.orificeLeak;
    row[BODY] = this.fixtureK;
    row[SKIN] = this.fixtureK;
    for (let steps = 0; steps <= SEALED_STEPS; steps++) {
      row[SKIN_HALF + steps] = Math.exp((-steps * this.stepS) / (2 * spec.skinTauS));
      row[CREEP_GAIN + steps] = 1 - Math.exp((-steps * this.stepS) / spec.creepTauS);
    }
    this.set(v, this.ambientPa, this.fixtureK);
  }

  /** Puts gas of a pressure in Pa and a temperature in K into a volume. */
  set(v: number, pa: number, kelvin: number): void {
    const rows = this.rows;
    const o = v * WIDTH;
    const energy = (pa * rows[o + M3]!) / (GAMMA - 1);
    rows[o + ENERGY] = energy;
    rows[o + MASS] = energy / (CV * kelvin);
    rows[o + PA] = pa;
    rows[o + GAS] = kelvin;
  }

  /** A volume that has stood open for long: ambient pressure, gas and skin as warm as its body, K. */
  rest(v: number, bodyK: number): void {
    this.rows[v * WIDTH + BODY] = bodyK;
    this.rows[v * WIDTH + SKIN] = bodyK;
    this.set(v, this.ambientPa, bodyK);
  }

  /** What the skin of a nest relaxes to, and what it has, K. */
  setBodyK(v: number, kelvin: number): void {
    this.rows[v * WIDTH + BODY] = kelvin;
  }

  setSkinK(v: number, kelvin: number): void {
    this.rows[v * WIDTH + SKIN] = kelvin;
  }

  pressurePa(v: number): number {
    return this.rows[v * WIDTH + PA]!;
  }

  gasK(v: number): number {
    return this.rows[v * WIDTH + GAS]!;
  }

  skinK(v: number): number {
    return this.rows[v * WIDTH + SKIN]!;
  }

  m3(v: number): number {
    return this.rows[v * WIDTH + M3]!;
  }

  massKg(v: number): number {
    return this.rows[v * WIDTH + MASS]!;
  }

  energyJ(v: number): number {
    return this.rows[v * WIDTH + ENERGY]!;
  }

  /** Lets 1 … SEALED_STEPS steps pass in a volume that nothing flows into. */
  relax(v: number, steps: number): void {
    this.rows[v * WIDTH + STIRRING] = 0;
    this.relaxRow(v * WIDTH, steps);
  }

  /** Leak, seal creep and heat of one volume: exact over the step but for the leak's own change. */
  protected relaxRow(o: number, steps: number): void {
    const rows = this.rows;
    const seconds = steps * this.stepS;
    if (rows[o + VISCOUS]! > 0 || rows[o + ORIFICE]! > 0) this.#leak(o, steps);
    if (rows[o + CREEP_PER_PA]! > 0) this.#stretch(o, steps);
    const body = rows[o + BODY]!;
    const toBody = rows[o + SKIN_HALF + steps]!;
    const skinKPerJ = rows[o + SKIN_K_PER_J]!;
    const skin = body + (rows[o + SKIN]! - body) * toBody;
    const energy = rows[o + ENERGY]!;
    const perJoule = 1 / (rows[o + MASS]! * CV);
    const stirred = rows[o + STIRRING]! * this.#perFilmKgPerS;
    const film = rows[o + FILM]! * (1 + this.#filmGain * (stirred < 4 ? stirred : 4));
    const heat = (energy * perJoule - skin) * exchanged(seconds * film, perJoule + skinKPerJ);
    rows[o + ENERGY] = energy - heat;
    rows[o + SKIN] = body + (skin + heat * skinKPerJ - body) * toBody;
    rows[o + GAS] = (energy - heat) * perJoule;
    rows[o + PA] = (GAMMA - 1) * (energy - heat) * rows[o + PER_M3]!;
  }

  /**
   * Leak out of a volume: viscous K (p² - p_amb²) plus a hole by ISO 6358-1; inwards below ambient. Linearly implicit
   * as the valves are, at constant temperature: a nest without a part empties within a step.
   */
  #leak(o: number, steps: number): void {
    const rows = this.rows;
    const { ambientPa } = this;
    const seconds = steps * this.stepS;
    const pa = rows[o + PA]!;
    const outward = pa >= ambientPa;
    const kelvin = outward ? rows[o + GAS]! : this.fixtureK;
    let kgPerS = rows[o + VISCOUS]! * (pa * pa - ambientPa * ambientPa);
    let slope = 2 * rows[o + VISCOUS]! * pa;
    const hole = rows[o + ORIFICE]!;
    if (hole > 0) {
      const flow = this.#flow;
      const conductance = hole * REFERENCE.kgPerM3 * Math.sqrt(REFERENCE.kelvin / kelvin);
      flowInto(flow, conductance, this.shape, outward ? pa : ambientPa, outward ? ambientPa : pa);
      kgPerS += outward ? flow[FLOW.kgPerS]! : -flow[FLOW.kgPerS]!;
      slope += outward ? flow[FLOW.perUpstreamPa]! : flow[FLOW.perDownstreamPa]!;
    }
    const stiffness = seconds * GAS_CONSTANT * kelvin * rows[o + PER_BASE_M3]! * slope;
    const kg = (kgPerS * seconds) / (1 + theta(stiffness) * stiffness);
    rows[o + MASS] = rows[o + MASS]! - kg;
    rows[o + ENERGY] = rows[o + ENERGY]! - CP * kg * kelvin;
  }

  /** Seal creep: the volume follows the gauge pressure with a lag, and the gas does the work. */
  #stretch(o: number, steps: number): void {
    const rows = this.rows;
    const pa = rows[o + PA]!;
    const stretched =
      (rows[o + CREEP_PER_PA]! * (pa - this.ambientPa) - rows[o + CREEP]!) * rows[o + CREEP_GAIN + steps]!;
    rows[o + CREEP] = rows[o + CREEP]! + stretched;
    rows[o + ENERGY] = rows[o + ENERGY]! - pa * stretched * rows[o + BASE_M3]!;
    const creep = rows[o + CREEP]!;
    rows[o + M3] = rows[o + BASE_M3]! * (1 + creep);
    // 1/(1 + creep) by its series: creep is of the order 1e-4.
    rows[o + PER_M3] = rows[o + PER_BASE_M3]! * (1 - creep * (1 - creep * (1 - creep)));
  }
}

/**
 * Heat in J per K of difference that two bodies exchange through a conductance over a step, exactly:
 * (1 - e^-x) / perJoule with x = `jPerK` × `perJoule`, jPerK being conductance times time and perJoule the sum of their
 * 1/capacity. Small x by the series, whose next term stays below 1e-9 up to 0.06: most steps need no exponential.
 */
function exchanged(jPerK: number, perJoule: number): number {
  const x = jPerK * perJoule;
  if (x > 0.06) return (1 - Math.exp(-x)) / perJoule;
  const squared = x * x;
  return jPerK * (1 - x * 0.5 + squared * (1 / 6 - x * (1 / 24)) + squared * squared * (1 / 120));
}

/** Trapezoidal while a step resolves the flow; towards fully implicit beyond it, so that it settles and never rings. */
export const theta = (stiffness: number): number => (stiffness > 2 ? 1 - 1 / stiffness : 0.5);
