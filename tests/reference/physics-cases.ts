import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect } from 'vitest';

/** One expected number of a case; `at` says at which time (`t_s`) or `index` it stands. */
export interface Expected {
  readonly name: string;
  readonly value: number;
  readonly tolRel: number;
  readonly tolAbs: number;
  readonly at?: Readonly<Record<string, number>>;
}

/** A case of the rig physics reference set. `source` is what a test's name carries. */
export interface PhysicsCase {
  readonly id: string;
  readonly kind: string;
  readonly about: string;
  readonly source: string;
  readonly inputs: Readonly<Record<string, unknown>>;
  readonly expect: readonly Expected[];
}

/** Which tests check the cases of each kind. A kind that nobody claims fails tests/station/rig/simulated/physics.test.ts. */
export const CLAIMED: Readonly<Record<string, string>> = {
  iso6358_mass_flow: 'tests/station/rig/simulated/physics.test.ts',
  isothermal_laminar_decay: 'tests/station/rig/simulated/physics.test.ts',
  choked_blowdown_isothermal: 'tests/station/rig/simulated/physics.test.ts',
  choked_blowdown_isentropic: 'tests/station/rig/simulated/physics.test.ts',
  adiabatic_fill_temperature: 'tests/station/rig/simulated/physics.test.ts',
  isothermal_fill_heat: 'tests/station/rig/simulated/physics.test.ts',
  equalisation: 'tests/station/rig/simulated/physics.test.ts',
  closed_vessel_relaxation: 'tests/station/rig/simulated/physics.test.ts',
  gas_skin_body: 'tests/station/rig/simulated/physics.test.ts',
  vessel_run: 'tests/station/rig/simulated/physics.test.ts',
  leak_with_relaxation: 'tests/station/rig/simulated/physics.test.ts',
  manifold_nest_run: 'tests/station/rig/simulated/physics.test.ts',
  rig_run: 'tests/station/rig/simulated/physics.test.ts',
  first_order_step: 'tests/station/rig/simulated/sensor.test.ts',
  first_order_ramp: 'tests/station/rig/simulated/sensor.test.ts',
  output_divider: 'tests/station/rig/simulated/sensor.test.ts',
  sensor_static: 'tests/station/rig/simulated/sensor.test.ts',
  play_hysteresis: 'tests/station/rig/simulated/sensor.test.ts',
  two_time_constant_soak: 'tests/station/rig/simulated/chamber.test.ts',
  rng_stream: 'tests/station/random.test.ts',
  pressure_decay_leak: 'tests/station/rig/simulated/physics.test.ts',
  rated_leak_conversion: 'tests/station/cycle/leak.test.ts',
  ols_slope_sigma: 'tests/station/cycle/leak.test.ts',
  lag_by_areas: 'tests/station/cycle/leak.test.ts',
  thermal_apparent_leak: 'tests/station/cycle/leak.test.ts',
  acceptance_probability: 'tests/station/cycle/leak.test.ts',
  gls_leak_estimate: 'tests/station/cycle/leak.test.ts',
  leak_signature: 'tests/station/cycle/leak.test.ts',
};

interface File {
  readonly cases: readonly Omit<PhysicsCase, 'source'>[];
}

const file = JSON.parse(readFileSync(join(import.meta.dirname, 'physics.json'), 'utf8')) as File;

/** Every case of the set. */
export const physicsCases: readonly PhysicsCase[] = file.cases.map((given) => ({
  ...given,
  source: `rig physics reference set, case ${given.id}`,
}));

/** The cases of one kind; a kind without cases is a mistyped one and throws. */
export function casesOf(kind: string): readonly PhysicsCase[] {
  const cases = physicsCases.filter((given) => given.kind === kind);
  if (cases.length === 0) throw new Error(`the rig physics reference set has no ${kind}`);
  return cases;
}

/** The cases of some kinds with the names of their tests, for `test.each(…)('%s', (_name, given) => …)`. */
export const named = (...kinds: readonly string[]): readonly (readonly [string, PhysicsCase])[] =>
  kinds.flatMap(casesOf).map((given) => [`${given.about} (${given.source})`, given] as const);

/** The numbers among the inputs of a case, by name; throws on one that is not there. */
export function inputsOf<K extends string>(given: PhysicsCase, ...names: readonly K[]): Record<K, number> {
  const entries = names.map((name) => {
    const value = given.inputs[name];
    if (typeof value !== 'number') throw new Error(`case ${given.id} has no number ${name}`);
    return [name, value] as const;
  });
  return Object.fromEntries(entries) as Record<K, number>;
}

/** Checks what `got` gives for each expected number against it, within max(tolAbs, tolRel × |value|). */
export function checkCase(
  given: PhysicsCase,
  got: (name: string, at: Readonly<Record<string, number>>) => number,
): void {
  for (const { name, value, tolRel, tolAbs, at = {} } of given.expect) {
    const found = got(name, at);
    const where = Object.entries(at).map(([key, place]) => ` at ${key} ${place}`);
    const allowed = Math.max(tolAbs, tolRel * Math.abs(value));
    expect(Math.abs(found - value), `${name}${where.join('')}: ${found}, expected ${value}`).toBeLessThanOrEqual(
      allowed,
    );
  }
}
