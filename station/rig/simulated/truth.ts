import { assert } from '../../assert.ts';
import { stream } from '../../random.ts';
import type { Stream } from '../../random.ts';
import type { OutputLoad } from '../port.ts';

/**
 * What the simulated rig really is, as plain data in SI units: the station can only measure it. Values and their
 * sources are in README.md, "Parameters".
 */
export interface RigTruth {
  readonly seed: number;
  readonly ambientPa: number;
  readonly roomK: number;
  readonly manifoldM3: number;
  readonly supplyPa: number;
  readonly vacuumPa: number;
  /** Sonic conductances, m³/(s Pa). */
  readonly supplyValve: number;
  readonly exhaustValve: number;
  readonly vacuumValve: number;
  readonly isolationValve: number;
  readonly controllerOffsetPa: number;
  readonly barometerOffsetPa: number;
  readonly roomOffsetK: number;
  /** The independent pressure switch at the manifold. */
  readonly overPressurePa: number;
  readonly clampMs: number;
  /** Standard deviation of the drift of a nest's temperature from clamping on, K/s. */
  readonly fixtureDriftKPerS: number;
  readonly chamber: boolean;
  readonly loads: readonly OutputLoad[];
  readonly nests: readonly NestTruth[];
}

export interface NestTruth {
  readonly m3: number;
  /** Factors on the gas film and on the heat capacity of the wall's skin. */
  readonly film: number;
  readonly skin: number;
  readonly referenceOffsetPa: number;
  /** Zero error of the output meter, and of the supply readback, as fractions of the range. */
  readonly outputOffset: number;
  readonly supplyOffset: number;
  /** Time by which the output is sampled after the reference, ms. */
  readonly skewMs: number;
  /** Relative error of the supply that is put out. */
  readonly supplyError: number;
  readonly currentOffsetMa: number;
  readonly thermometerOffsetK: number;
  readonly contactOhm: number;
}

export interface RigOptions {
  readonly nests: number;
  readonly barometerKpaAbs?: number;
  readonly roomC?: number;
  readonly chamber?: boolean;
  readonly loads?: readonly OutputLoad[];
}

/** Loads that a rig has when nothing else is said: pull-down and pull-up of the usual sizes. */
const USUAL_LOADS: readonly OutputLoad[] = [
  { ohm: 51_000, to: 'ground' },
  { ohm: 10_000, to: 'ground' },
  { ohm: 51_000, to: 'supply' },
  { ohm: 10_000, to: 'supply' },
];

/** Critical pressure ratio b of every valve (ISO 6358-1); small solenoid valves have 0.2 to 0.45. */
export const CRITICAL_RATIO = 0.3;

const NEST_M3 = 10e-6;
/** The volume that the valve sizes belong to: a manifold of 30 cm³ and two nests. */
const BASE_M3 = 50e-6;

/** A rig without any spread: every nest alike, every instrument right (noise apart). Throws on fewer than 1 or more than 16 nests. */
export function defaultRig(options: RigOptions): RigTruth {
  const { nests, barometerKpaAbs = 101.325, roomC = 23, chamber = false, loads = USUAL_LOADS } = options;
  assert(Number.isInteger(nests) && nests >= 1 && nests <= 16, 'a rig has 1 to 16 nests');
  const manifoldM3 = (10 + 10 * nests) * 1e-6;
  // Valves are sized for what they fill, so that any number of nests is filled in about the same time.
  const size = (manifoldM3 + nests * NEST_M3) / BASE_M3;
  const nest: NestTruth = {
    m3: NEST_M3,
    film: 1,
    skin: 1,
    referenceOffsetPa: 0,
    outputOffset: 0,
    supplyOffset: 0,
    skewMs: 0,
    supplyError: 0,
    currentOffsetMa: 0,
    thermometerOffsetK: 0,
    contactOhm: 0,
  };
  return {
    seed: 0,
    ambientPa: barometerKpaAbs * 1000,
    roomK: roomC + 273.15,
    manifoldM3,
    supplyPa: 400e3,
    vacuumPa: 5e3,
    supplyValve: 0.8e-9 * size,
    exhaustValve: 3e-9 * size,
    vacuumValve: 3e-9 * size,
    isolationValve: 2e-9,
    controllerOffsetPa: 0,
    barometerOffsetPa: 0,
    roomOffsetK: 0,
    overPressurePa: 390e3,
    clampMs: 600,
    fixtureDriftKPerS: 0,
    chamber,
    loads,
    nests: Array.from({ length: nests }, () => nest),
  };
}

/** A rig as one might be found: spreads of README.md, "Parameters", drawn from the seed. Same seed, same rig. */
export function drawRig(seed: number, options: RigOptions): RigTruth {
  const air = stream(seed, 'ambient', 0);
  const barometerKpaAbs = options.barometerKpaAbs ?? 101.325 + 0.6 * air.normal();
  const roomC = options.roomC ?? 23 + 2 * air.normal();
  const base = defaultRig({ ...options, barometerKpaAbs, roomC });
  const common = stream(seed, 'rig instruments', 0);
  return {
    ...base,
    seed,
    controllerOffsetPa: 12 * common.normal(),
    barometerOffsetPa: 8 * common.normal(),
    roomOffsetK: 0.1 * common.normal(),
    fixtureDriftKPerS: 0.003,
    nests: base.nests.map((nest, n) => drawNest(nest, n, stream(seed, 'nest', n))),
  };
}

function drawNest(base: NestTruth, n: number, chance: Stream): NestTruth {
  // The first two nests stand either side of the mean by a fixed amount, so that no run lacks the difference.
  const constant = n === 0 ? 1.06 : n === 1 ? 0.94 : 1 + 0.06 * clip(chance.normal(), 2);
  return {
    m3: base.m3 * (1 + 0.03 * clip(chance.normal(), 3)),
    film: constant,
    skin: constant,
    referenceOffsetPa: 12 * chance.normal(),
    outputOffset: 3e-5 * chance.normal(),
    supplyOffset: 3e-5 * chance.normal(),
    skewMs: 0.5 * chance.uniform(),
    supplyError: 0.01 * (2 * chance.uniform() - 1),
    currentOffsetMa: 0.02 * chance.normal(),
    thermometerOffsetK: 0.1 * chance.normal(),
    contactOhm: 2 * chance.uniform(),
  };
}

const clip = (z: number, most: number): number => Math.max(-most, Math.min(most, z));
