import { stream } from '../../random.ts';
import type { ProfileContent, TransferFunction } from '../../profile/schema.ts';
import type { OutputLoad } from '../port.ts';

/** What a part number is, as far as simulating one needs it: house units (kPa absolute, V, mA, Ω). */
export interface PartModel {
  /** The characteristic at `load` and, for ratiometric parts, any supply. */
  readonly transfer: TransferFunction;
  readonly nominalV: number;
  readonly load: OutputLoad;
  /** Where the output saturates: fractions of the supply, or V of a regulated part. */
  readonly clamps: { readonly low: number; readonly high: number };
  readonly ratedKpaAbs: { readonly low: number; readonly high: number };
  /** The error band between 0 and 85 °C; every spread of a good part scales with it. */
  readonly errorBandKpa: number;
  readonly currentMa: { readonly low: number; readonly high: number };
  /** The pressure from which leaks of this part are rated (to 101.325 kPa), kPa absolute. */
  readonly leakRatedKpaAbs: number;
}

/** The model of a profile's part number. */
export function partModelOf(profile: ProfileContent): PartModel {
  return {
    transfer: profile.transfer,
    nominalV: profile.supply.nominalV,
    load: profile.load,
    clamps: { low: profile.clamps.low, high: profile.clamps.high },
    ratedKpaAbs: profile.ratedKpaAbs,
    errorBandKpa: profile.errorBand.kPa,
    currentMa: { low: profile.supply.currentMa.low, high: profile.supply.currentMa.high },
    leakRatedKpaAbs: profile.leakHold.testKpaAbs,
  };
}

/** What of a part's wiring is broken. */
export type Wiring =
  | 'whole'
  | 'output-open'
  | 'output-short-to-ground'
  | 'output-short-to-supply'
  | 'supply-open'
  | 'ground-open';

/** One part as it really is. Errors are in kPa of input, so that they mean the same in every pressure class. */
export interface PartTruth {
  readonly model: PartModel;
  readonly wiring: Wiring;
  /** Leak of part and seal, std cm³/min as the model rates it; a hole instead of a fine path above 20. */
  readonly leakStdCm3PerMin: number;
  readonly offsetKpa: number;
  /** Relative error of the slope. */
  readonly span: number;
  /** Largest departure from the straight line, half way through the rated range, kPa. */
  readonly bowKpa: number;
  readonly hysteresis: number;
  /** Temperature coefficients: offset kPa/K and kPa/K², slope 1/K and 1/K². */
  readonly offsetKpaPerK: number;
  readonly offsetKpaPerK2: number;
  readonly spanPerK: number;
  readonly spanPerK2: number;
  readonly lagS: number;
  /** Standard deviation of single output samples, V at nominal supply. */
  readonly noiseV: number;
  /** Output held at this fraction of the supply; null when it follows the pressure. */
  readonly stuckAt: number | null;
  readonly sourceOhm: number;
  readonly supplyMa: number;
  /** Relative change of the output beyond what its kind says, for each relative change of the supply; see `supplyFactor`. */
  readonly supplyEffect: number;
  /** Factors of this part on its nest: film, skin capacity, skin time constant, volume, seal creep. */
  readonly film: number;
  readonly skin: number;
  readonly skinTau: number;
  readonly volume: number;
  readonly creep: number;
  /** By how much the gas finds the part's body warmer than the fixture when it is put in, K. */
  readonly warmerK: number;
  /** Time constants of shell and core against chamber air, s. */
  readonly shellTauS: number;
  readonly coreTauS: number;
}

/** Source resistance of an output stage, and the one that characteristics are trimmed with. Engineering assumption. */
export const SOURCE_OHM = 100;

/** The output's travel over the rated range: a fraction of the supply, or V of a regulated part. */
export function spanOf(model: PartModel): number {
  const { transfer, ratedKpaAbs } = model;
  const slope = transfer.kind === 'ratiometric' ? transfer.slopePerKpa : transfer.slopeVPerKpa;
  return slope * (ratedKpaAbs.high - ratedKpaAbs.low);
}

/** A part in the middle of everything: no error, no leak, no noise spread. Tests build on it. */
export function middlePart(model: PartModel): PartTruth {
  const volts = spanOf(model) * (model.transfer.kind === 'ratiometric' ? model.nominalV : 1);
  return {
    model,
    wiring: 'whole',
    leakStdCm3PerMin: 0,
    offsetKpa: 0,
    span: 0,
    bowKpa: 0,
    hysteresis: 1,
    offsetKpaPerK: 0,
    offsetKpaPerK2: 0,
    spanPerK: 0,
    spanPerK2: 0,
    lagS: 2e-3,
    noiseV: 2.2e-4 * volts,
    stuckAt: null,
    sourceOhm: SOURCE_OHM,
    supplyMa: (model.currentMa.low + model.currentMa.high) / 2,
    supplyEffect: 0,
    film: 1,
    skin: 1,
    skinTau: 1,
    volume: 1,
    creep: 1,
    warmerK: 0,
    shellTauS: 90,
    coreTauS: 300,
  };
}

/**
 * A good part: spreads of README.md, "Parameters", in proportion to the error band, so that the band lies near four
 * standard deviations in every class. Same seed and index, same part. A draw may still lie outside the band, as in a plant.
 */
export function drawPart(seed: number, index: number, model: PartModel): PartTruth {
  const chance = stream(seed, 'part', index);
  const middle = middlePart(model);
  const band = model.errorBandKpa;
  const top = model.ratedKpaAbs.high;
  const half = (model.currentMa.high - model.currentMa.low) / 2;
  return {
    ...middle,
    leakStdCm3PerMin: 0.02 * Math.exp(0.7 * chance.normal()),
    offsetKpa: (band / 4.5) * chance.normal(),
    span: 0.23 * (band / top) * chance.normal(),
    bowKpa: (band / 15) * chance.normal(),
    hysteresis: Math.exp(0.3 * chance.normal()),
    offsetKpaPerK: (band / 450) * chance.normal(),
    offsetKpaPerK2: (band / 33_750) * chance.normal(),
    spanPerK: 1.53e-3 * (band / top) * chance.normal(),
    spanPerK2: 2.3e-5 * (band / top) * chance.normal(),
    lagS: 2e-3 * Math.exp(0.35 * chance.normal()),
    supplyMa: middle.supplyMa + (half / 6) * chance.normal(),
    // A stream of its own: whatever was drawn before there was this stays what it was.
    supplyEffect: 0.02 * stream(seed, 'part supply', index).normal(),
    film: 1 + 0.03 * chance.normal(),
    skin: 1 + 0.05 * chance.normal(),
    skinTau: 1 + 0.05 * chance.normal(),
    volume: 1 + 0.005 * chance.normal(),
    creep: Math.max(0, 1 + 0.2 * chance.normal()),
    warmerK: 0.4 * chance.normal(),
    shellTauS: 90 * Math.exp(0.1 * chance.normal()),
    coreTauS: 300 * Math.exp(0.12 * chance.normal()),
  };
}
