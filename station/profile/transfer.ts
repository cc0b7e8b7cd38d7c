import type { OutputLoad } from '../rig/port.ts';
import type { ProfileContent, TransferFunction } from './schema.ts';

/**
 * Output in V at a pressure in kPa absolute and a supply in V, on the straight line: ratiometric V = Vs (a P + b),
 * regulated V = V0 + k P. The form is the one of the published data sheets of integrated manifold sensors. The clamps
 * are not applied: outside them the line is not what the part shows (see `clampsV`).
 */
export function outputAt(transfer: TransferFunction, kPaAbs: number, supplyV: number): number {
  switch (transfer.kind) {
    case 'ratiometric':
      return supplyV * (transfer.slopePerKpa * kPaAbs + transfer.offsetRatio);
    case 'regulated':
      return transfer.offsetV + transfer.slopeVPerKpa * kPaAbs;
  }
}

/**
 * Pressure in kPa absolute that an output in V stands for: the inverse of `outputAt`. A ratiometric output without a
 * supply stands for none: throws a RangeError when `supplyV` is not above 0.
 */
export function pressureFrom(transfer: TransferFunction, outputV: number, supplyV: number): number {
  switch (transfer.kind) {
    case 'ratiometric':
      return (ratioOf(outputV, supplyV) - transfer.offsetRatio) / transfer.slopePerKpa;
    case 'regulated':
      return (outputV - transfer.offsetV) / transfer.slopeVPerKpa;
  }
}

/** Output per pressure in V/kPa at a supply in V: a Vs, or k whatever the supply. */
export function slopeVPerKpa(transfer: TransferFunction, supplyV: number): number {
  return transfer.kind === 'ratiometric' ? transfer.slopePerKpa * supplyV : transfer.slopeVPerKpa;
}

export interface OutputReading {
  readonly outputV: number;
  readonly supplyV: number;
  readonly nominalV: number;
  readonly referenceKpaAbs: number;
  readonly pointKpaAbs: number;
}

/**
 * The output in V as it would read at the nominal supply and exactly at the point: what is judged and shown.
 * Ratiometric Vn = Vnominal (V / Vs + a (Ppoint - Pref)); regulated Vn = V + k (Ppoint - Pref). It carries supply and
 * pressure along the part's nominal slope, so an error of the part stays and one of supply or controller goes.
 * Throws a RangeError when a ratiometric part had no supply.
 */
export function normalisedOutput(transfer: TransferFunction, reading: OutputReading): number {
  const shortKpa = reading.pointKpaAbs - reading.referenceKpaAbs;
  switch (transfer.kind) {
    case 'ratiometric':
      return reading.nominalV * (ratioOf(reading.outputV, reading.supplyV) + transfer.slopePerKpa * shortKpa);
    case 'regulated':
      return reading.outputV + transfer.slopeVPerKpa * shortKpa;
  }
}

/**
 * What a transfer function says at the ends of a rated range, at a supply in V, and the slope that follows from the two
 * ends in V/kPa: to be held against the print, whose rounded numbers contradict one another now and then.
 */
export function endPoints(
  transfer: TransferFunction,
  ratedKpaAbs: ProfileContent['ratedKpaAbs'],
  supplyV: number,
): { lowV: number; highV: number; slopeVPerKpa: number } {
  const lowV = outputAt(transfer, ratedKpaAbs.low, supplyV);
  const highV = outputAt(transfer, ratedKpaAbs.high, supplyV);
  return { lowV, highV, slopeVPerKpa: (highV - lowV) / (ratedKpaAbs.high - ratedKpaAbs.low) };
}

/** Lowest and highest output in V that the part can show at a supply in V. */
export function clampsV(clamps: ProfileContent['clamps'], supplyV: number): { lowV: number; highV: number } {
  const scale = clamps.unit === 'ratio' ? supplyV : 1;
  return { lowV: clamps.low * scale, highV: clamps.high * scale };
}

/**
 * Output in V at the load of a source of `openV` behind `sourceOhm`: the divider V R / (R + Rs) to ground, or
 * (V R + Vs Rs) / (R + Rs) to the supply (Kirchhoff). A transfer function holds at its stated load, so this is for
 * working out what another load or a contact resistance would do, never for correcting a reading.
 */
export function atLoad(openV: number, supplyV: number, sourceOhm: number, load: OutputLoad): number {
  const pulledV = load.to === 'ground' ? 0 : supplyV;
  return (openV * load.ohm + pulledV * sourceOhm) / (load.ohm + sourceOhm);
}

function ratioOf(outputV: number, supplyV: number): number {
  if (!(supplyV > 0)) throw new RangeError(`a ratiometric output cannot be read at a supply of ${supplyV} V`);
  return outputV / supplyV;
}
