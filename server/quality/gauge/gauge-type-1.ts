import { bias } from './bias.ts';
import type { Bias } from './bias.ts';
import { checkPositive } from '../checks.ts';
import type { Values } from '../checks.ts';
import { mean } from '../moments.ts';

/** Indices of a type-1 study against a spread of `spread` standard deviations. */
export interface Type1Indices {
  /** 0.2 T / (spread s); null (undefined) without spread of the readings. */
  readonly cg: number | null;
  /** (0.1 T - |bias|) / (spread / 2 s); below zero when the bias is larger than a tenth of the tolerance. */
  readonly cgk: number | null;
  /** 20 / Cg: the spread in percent of the tolerance. */
  readonly percentRepeatability: number | null;
  /** 20 / Cgk; null when Cgk is not above zero. */
  readonly percentRepeatabilityAndBias: number | null;
}

/** One reference part measured many times by one appraiser: repeatability and bias of the gauge itself. */
export interface GaugeType1 extends Bias {
  readonly mean: number;
  /** Against a spread of six standard deviations. */
  readonly six: Type1Indices;
  /** Against a spread of four standard deviations. */
  readonly four: Type1Indices;
}

/**
 * Type-1 study: Cg and Cgk of `readings` of one part with the value `reference` for a tolerance width T, with a spread of
 * six and of four standard deviations (ISO 22514-7, capability of a measuring system, Cg and Cgk; 0.2 T as common practice
 * has it, from memory), and the bias with its test and bounds (`bias`).
 *
 * @throws QualityError `empty`, `not-finite`, `out-of-range` (tolerance width not above zero, confidence)
 */
export function gaugeType1(
  readings: Values,
  reference: number,
  toleranceWidth: number,
  confidence = 0.95,
  key = 'readings',
): GaugeType1 {
  checkPositive(toleranceWidth, 'toleranceWidth');
  const ofBias = bias(readings, reference, confidence, key);
  const indices = (spread: number): Type1Indices => type1Indices(ofBias, toleranceWidth, spread);
  return { ...ofBias, mean: mean(readings, key), six: indices(6), four: indices(4) };
}

function type1Indices({ sd, bias: offset }: Bias, width: number, spread: number): Type1Indices {
  if (sd === null || sd === 0) {
    return { cg: null, cgk: null, percentRepeatability: null, percentRepeatabilityAndBias: null };
  }
  const cg = (0.2 * width) / (spread * sd);
  const cgk = (0.1 * width - Math.abs(offset)) / ((spread / 2) * sd);
  return {
    cg,
    cgk,
    percentRepeatability: 20 / cg,
    percentRepeatabilityAndBias: cgk > 0 ? 20 / cgk : null,
  };
}
