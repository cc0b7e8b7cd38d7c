import type { Measured } from '../units.ts';
import type { Hash } from '../hash.ts';
import type { OutputLoad } from './port.ts';

/**
 * The facts of a station's rig as one frozen, hashed issue: what its instruments are worth and what its nests do on
 * their own. Everything in it was measured or certified; nothing comes from a simulator's parameters.
 */
export interface RigRevision {
  readonly format: 1;
  readonly station: string;
  readonly issue: number;
  readonly origin: 'real' | 'simulated';
  readonly nests: number;
  readonly chamber: boolean;
  readonly sampleHz: number;
  readonly loads: readonly OutputLoad[];
  readonly pressureKpaAbs: { readonly low: number; readonly high: number };
  readonly transducerKpaAbs: number;
  readonly instruments: Instruments;
  readonly characters: readonly NestCharacter[];
}

/** Standard uncertainties (JCGM 100) of one reading's mean apart from its visible noise: certificate, drift, resolution. */
export interface Instruments {
  readonly referenceKpa: number;
  readonly controllerKpa: number;
  readonly barometerKpa: number;
  /** Zero of the output meter in V, and its gain relative to the supply readback. */
  readonly outputV: number;
  readonly outputRelative: number;
  readonly supplyV: number;
  readonly supplyRelative: number;
  readonly currentMa: number;
  readonly roomC: number;
  readonly partC: number;
  /** Time between reference and output channels of one instant. */
  readonly skewMs: number;
}

/** What one nest does with one part number in it, from sealed and calibrated-leak holds run under `hold`. */
export interface NestCharacter {
  readonly nest: number;
  readonly partNumber: string;
  /** Hash of the leak hold (pressures and times) that it is valid for. */
  readonly hold: Hash;
  readonly volumeM3: Measured;
  /** Fall of a sealed nest while measuring, Pa/s (negative is falling): mean, and standard deviation between holds. */
  readonly sealedPaPerS: { readonly mean: number; readonly sd: number; readonly holds: number };
  /** Mean pressure of sealed holds less that at isolation, Pa, one value each `curveStepMs` from isolation on. */
  readonly curveStepMs: number;
  readonly sealedCurvePa: readonly number[];
  /** Standard deviation between sealed holds of those values, Pa. */
  readonly sealedCurveSdPa: readonly number[];
}
