import { at } from '../../assert.ts';
import { conductanceOf, CP, FLOW, flowInto, flowShape, GAMMA, GAS_CONSTANT, REFERENCE } from './gas.ts';
import type { NetworkSpec } from './volume.ts';
import { DENSITY, ENERGY, GAS, LINK_KELVIN, LINK_KG_PER_S, LINK_SHARE, LINK_SLOPE, MASS, PA } from './volumes.ts';
import { PER_BASE_M3, STIRRING, theta, Volumes, WIDTH } from './volumes.ts';

/** The manifold's control valves, in the order in which `opening` lists them. */
export const VALVE = { supply: 0, exhaust: 1, vacuum: 2 } as const;

/** What a step passes on about a control valve: flow into the manifold, slope times theta, temperature of the gas. */
const VALVE_KG_PER_S = 0;
const VALVE_SLOPE = 1;
const VALVE_KELVIN = 2;
const VALVE_WIDTH = 3;

/**
 * The gas: a manifold with three control valves, and nests behind isolation valves. Volumes are counted nests first, the
 * manifold last. Flows are linearly implicit, heat is exact over a step, and mass and energy that leave one volume
 * arrive in the other to the last bit. See README.md, "Integrator".
 */
export class Network extends Volumes {
  readonly nests: number;
  /** 1 where gas can pass between manifold and nest. */
  readonly open: Uint8Array;
  /** 1 where a nest stands open to ambient air, clamps open. */
  readonly unclamped: Uint8Array;
  /** Opening of each control valve, 0 to 1. */
  readonly opening = new Float64Array(3);
  readonly sourcePa: Float64Array;
  readonly valveM3PerSPa: Float64Array;
  /** Conductance in kg/(s Pa) of gas at fixture temperature per sonic conductance. */
  readonly fixtureDensity: number;
  readonly #isolation: number;
  readonly #gammaRStep: number;
  readonly #valves = new Float64Array(3 * VALVE_WIDTH);
  readonly #flow = new Float64Array(3);

  constructor(spec: NetworkSpec) {
    super(spec.nests.length + 1, { ...spec, shape: flowShape(spec.criticalRatio) });
    this.nests = spec.nests.length;
    this.open = new Uint8Array(this.nests).fill(1);
    this.unclamped = new Uint8Array(this.nests);
    this.sourcePa = Float64Array.from(spec.sourcePa);
    this.valveM3PerSPa = Float64Array.from(spec.valveM3PerSPa);
    this.fixtureDensity = conductanceOf(1, spec.fixtureK);
    this.#isolation = spec.isolationM3PerSPa * REFERENCE.kgPerM3;
    this.#gammaRStep = GAMMA * GAS_CONSTANT * this.stepS;
    for (let v = 0; v < this.nests; v++) this.fit(v, at(spec.nests, v));
    this.fit(this.nests, spec.manifold);
  }

  /** Lets a step pass in the manifold and every nest that is open to it. Nests that are shut off are left alone. */
  flowStep(): void {
    const { nests, open, opening } = this;
    const rows = this.rows;
    const stepS = this.stepS;
    const valves = this.#valves;
    const manifold = nests * WIDTH;
    const kappa = this.#gammaRStep * rows[manifold + PER_BASE_M3]!;
    rows[manifold + DENSITY] = Math.sqrt(REFERENCE.kelvin / rows[manifold + GAS]!);

    // The manifold's pressure change solves (1 + kappa × below) dP = kappa × above once the nests are eliminated.
    let above = 0;
    let below = 0;
    for (let c = 0; c < 3; c++) {
      if (opening[c]! <= 0) continue;
      this.#controlValve(c);
      const o = c * VALVE_WIDTH;
      above += valves[o + VALVE_KG_PER_S]! * valves[o + VALVE_KELVIN]!;
      below += valves[o + VALVE_SLOPE]! * valves[o + VALVE_KELVIN]!;
    }
    for (let n = 0; n < nests; n++) {
      if (open[n] === 0) continue;
      const o = n * WIDTH;
      this.#isolationValve(o);
      const weight = rows[o + LINK_KELVIN]! * rows[o + LINK_SHARE]!;
      above -= weight * rows[o + LINK_KG_PER_S]!;
      below += weight * rows[o + LINK_SLOPE]!;
    }
    const rise = (kappa * above) / (1 + kappa * below);

    let mass = rows[manifold + MASS]!;
    let energy = rows[manifold + ENERGY]!;
    let stirring = 0;
    for (let c = 0; c < 3; c++) {
      if (opening[c]! <= 0) continue;
      const o = c * VALVE_WIDTH;
      const kgPerS = valves[o + VALVE_KG_PER_S]! - valves[o + VALVE_SLOPE]! * rise;
      mass += kgPerS * stepS;
      energy += CP * kgPerS * stepS * valves[o + VALVE_KELVIN]!;
      stirring += Math.abs(kgPerS);
    }
    for (let n = 0; n < nests; n++) {
      if (open[n] === 0) continue;
      const o = n * WIDTH;
      const kgPerS = (rows[o + LINK_KG_PER_S]! + rows[o + LINK_SLOPE]! * rise) * rows[o + LINK_SHARE]!;
      const kg = kgPerS * stepS;
      const joule = CP * kg * rows[o + LINK_KELVIN]!;
      mass -= kg;
      energy -= joule;
      rows[o + MASS] = rows[o + MASS]! + kg;
      rows[o + ENERGY] = rows[o + ENERGY]! + joule;
      rows[o + STIRRING] = Math.abs(kgPerS);
      this.relaxRow(o, 1);
    }
    rows[manifold + MASS] = mass;
    rows[manifold + ENERGY] = energy;
    rows[manifold + STIRRING] = 0.5 * stirring;
    this.relaxRow(manifold, 1);
  }

  /** Flow into the manifold through a control valve, its slope times theta, and the temperature of the gas. */
  #controlValve(c: number): void {
    const rows = this.rows;
    const flow = this.#flow;
    const manifold = this.nests * WIDTH;
    const manifoldPa = rows[manifold + PA]!;
    const sourcePa = this.sourcePa[c]!;
    const sonic = this.valveM3PerSPa[c]! * this.opening[c]! * REFERENCE.kgPerM3;
    const inward = sourcePa >= manifoldPa;
    const kelvin = inward ? this.fixtureK : rows[manifold + GAS]!;
    if (inward) flowInto(flow, sonic * Math.sqrt(REFERENCE.kelvin / kelvin), this.shape, sourcePa, manifoldPa);
    else flowInto(flow, sonic * rows[manifold + DENSITY]!, this.shape, manifoldPa, sourcePa);
    // A check valve keeps the manifold from emptying into a supply that has lost its air.
    const passes = inward || c !== VALVE.supply ? 1 : 0;
    const slope = passes * (inward ? flow[FLOW.perDownstreamPa]! : flow[FLOW.perUpstreamPa]!);
    const o = c * VALVE_WIDTH;
    this.#valves[o + VALVE_KG_PER_S] = passes * (inward ? flow[FLOW.kgPerS]! : -flow[FLOW.kgPerS]!);
    this.#valves[o + VALVE_SLOPE] = slope * theta(this.#gammaRStep * rows[manifold + PER_BASE_M3]! * slope * kelvin);
    this.#valves[o + VALVE_KELVIN] = kelvin;
  }

  /** Flow into a nest, its slope with the manifold times theta, the gas's temperature, and 1 / (1 + alpha g_nest). */
  #isolationValve(o: number): void {
    const rows = this.rows;
    const flow = this.#flow;
    const manifold = this.nests * WIDTH;
    const manifoldPa = rows[manifold + PA]!;
    const nestPa = rows[o + PA]!;
    const inward = manifoldPa >= nestPa;
    const kelvin = inward ? rows[manifold + GAS]! : rows[o + GAS]!;
    if (inward) flowInto(flow, this.#isolation * rows[manifold + DENSITY]!, this.shape, manifoldPa, nestPa);
    else flowInto(flow, this.#isolation * Math.sqrt(REFERENCE.kelvin / kelvin), this.shape, nestPa, manifoldPa);
    const perManifoldPa = inward ? flow[FLOW.perUpstreamPa]! : flow[FLOW.perDownstreamPa]!;
    const perNestPa = inward ? flow[FLOW.perDownstreamPa]! : flow[FLOW.perUpstreamPa]!;
    const alpha = this.#gammaRStep * kelvin * rows[o + PER_BASE_M3]!;
    const kappa = this.#gammaRStep * rows[manifold + PER_BASE_M3]!;
    const weight = theta(alpha * perNestPa + kappa * perManifoldPa * kelvin);
    rows[o + LINK_KG_PER_S] = inward ? flow[FLOW.kgPerS]! : -flow[FLOW.kgPerS]!;
    rows[o + LINK_SLOPE] = perManifoldPa * weight;
    rows[o + LINK_KELVIN] = kelvin;
    rows[o + LINK_SHARE] = 1 / (1 + alpha * perNestPa * weight);
  }
}
