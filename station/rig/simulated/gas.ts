/** Dry air as an ideal gas, the flow through a valve, and the mass behind a leak rating. SI units throughout. */

export const GAS_CONSTANT = 287.05;
export const GAMMA = 1.4;
export const CV = GAS_CONSTANT / (GAMMA - 1);
export const CP = GAMMA * CV;

/** Reference atmosphere of ISO 6358-1: density at 293.15 K and 100 kPa. */
export const REFERENCE = { kgPerM3: 1.185, kelvin: 293.15 } as const;

/** One standard atmosphere and 20 °C: what std cm³ are measured at, and what leaks are rated to. */
const STANDARD = { pa: 101_325, kelvin: 293.15 } as const;

/** Above this pressure ratio flow is linear in the pressure difference: without it the slope at no flow is infinite. */
const LINEAR_ABOVE = 0.999;

/** Where `flowInto` leaves its result. */
export const FLOW = { kgPerS: 0, perUpstreamPa: 1, perDownstreamPa: 2 } as const;

/** The shape of ISO 6358-1 for one critical pressure ratio b, with what it needs at every call worked out. */
export interface FlowShape {
  readonly b: number;
  readonly perWidth: number;
  readonly linear: number;
}

/** The flow shape of a critical pressure ratio b. */
export function flowShape(b: number): FlowShape {
  const s = (LINEAR_ABOVE - b) / (1 - b);
  return { b, perWidth: 1 / (1 - b), linear: Math.sqrt(1 - s * s) / (1 - LINEAR_ABOVE) };
}

/**
 * Mass flow from a higher to a lower pressure and its two slopes, written to `out` because numbers returned in an
 * object would be garbage a hundred thousand times a cycle. ISO 6358-1, subsonic index 0.5:
 * q = C ρ0 p1 √(T0/T1) φ(p2/p1), φ = 1 up to b, √(1 - ((r - b)/(1 - b))²) above it.
 * `conductance` is C ρ0 √(T0/T1) in kg/(s Pa); the second slope is -dq/dp2, so both are ≥ 0.
 */
export function flowInto(out: Float64Array, conductance: number, shape: FlowShape, upPa: number, downPa: number): void {
  // Near balance, where an open rig spends its time, no ratio is needed.
  if (downPa > LINEAR_ABOVE * upPa) {
    const slope = conductance * shape.linear;
    out[FLOW.kgPerS] = slope * (upPa - downPa);
    out[FLOW.perUpstreamPa] = slope;
    out[FLOW.perDownstreamPa] = slope;
    return;
  }
  if (downPa <= shape.b * upPa) {
    out[FLOW.kgPerS] = conductance * upPa;
    out[FLOW.perUpstreamPa] = conductance;
    out[FLOW.perDownstreamPa] = 0;
    return;
  }
  const ratio = downPa / upPa;
  const s = (ratio - shape.b) * shape.perWidth;
  const phi = Math.sqrt(1 - s * s);
  const fall = (s * shape.perWidth) / phi;
  out[FLOW.kgPerS] = conductance * upPa * phi;
  out[FLOW.perUpstreamPa] = conductance * (phi + ratio * fall);
  out[FLOW.perDownstreamPa] = conductance * fall;
}

/** C ρ0 √(T0/T1), kg/(s Pa), of a sonic conductance C in m³/(s Pa) and an upstream temperature in K. */
export const conductanceOf = (sonicM3PerSPa: number, upstreamK: number): number =>
  sonicM3PerSPa * REFERENCE.kgPerM3 * Math.sqrt(REFERENCE.kelvin / upstreamK);

export interface FlowSide {
  readonly pa: number;
  readonly kelvin: number;
}

/** Mass flow in kg/s from side 1 to side 2 (negative the other way), ISO 6358-1 as in `flowInto`. */
export function massFlow(sonicM3PerSPa: number, b: number, side1: FlowSide, side2: FlowSide): number {
  const forward = side1.pa >= side2.pa;
  const up = forward ? side1 : side2;
  const down = forward ? side2 : side1;
  const out = new Float64Array(3);
  flowInto(out, conductanceOf(sonicM3PerSPa, up.kelvin), flowShape(b), up.pa, down.pa);
  return forward ? out[FLOW.kgPerS]! : -out[FLOW.kgPerS]!;
}

/** Mass flow in kg/s of 1 std cm³/min: 101 325 Pa and 293.15 K by the ideal gas law. */
export const KG_PER_S_OF_STD = STANDARD.pa / (GAS_CONSTANT * STANDARD.kelvin) / 6e7;

/** K in kg/(s Pa²) of the viscous law q = K (p² - p_amb²), of a leak in std cm³/min rated from `fromPa` to 101 325 Pa. */
export const viscousLeak = (ratedStdCm3PerMin: number, fromPa: number): number =>
  (ratedStdCm3PerMin * KG_PER_S_OF_STD) / (fromPa ** 2 - STANDARD.pa ** 2);

/** Sonic conductance in m³/(s Pa) of a hole with critical ratio b that passes a leak rated likewise, at 20 °C. */
export function orificeLeak(ratedStdCm3PerMin: number, fromPa: number, b: number): number {
  const inside = { pa: fromPa, kelvin: STANDARD.kelvin };
  return (ratedStdCm3PerMin * KG_PER_S_OF_STD) / massFlow(1, b, inside, STANDARD);
}
