import type { PartModel } from '../../station/rig/simulated/part.ts';

/** A ratiometric 1 bar part: transfer function of the component data sheet (a = 0.009/kPa, b = -0.095, 15 to 115 kPa). */
export const oneBar: PartModel = {
  transfer: { kind: 'ratiometric', slopePerKpa: 0.009, offsetRatio: -0.095 },
  nominalV: 5,
  load: { ohm: 51_000, to: 'ground' },
  clamps: { low: 0.02, high: 0.98 },
  ratedKpaAbs: { low: 15, high: 115 },
  errorBandKpa: 1.5,
  currentMa: { low: 4, high: 10 },
  leakRatedKpaAbs: 150,
};

/** A ratiometric 3 bar part with a pull-up. */
export const threeBar: PartModel = {
  transfer: { kind: 'ratiometric', slopePerKpa: 0.00318, offsetRatio: -0.00353 },
  nominalV: 5,
  load: { ohm: 10_000, to: 'supply' },
  clamps: { low: 0.02, high: 0.98 },
  ratedKpaAbs: { low: 20, high: 304 },
  errorBandKpa: 4.26,
  currentMa: { low: 3, high: 9 },
  leakRatedKpaAbs: 300,
};

/** A part with a regulated 1 to 4.5 V output from a 12 V supply. */
export const regulated: PartModel = {
  transfer: { kind: 'regulated', slopeVPerKpa: 0.0175, offsetV: 1 },
  nominalV: 12,
  load: { ohm: 10_000, to: 'ground' },
  clamps: { low: 0.9, high: 4.7 },
  ratedKpaAbs: { low: 10, high: 200 },
  errorBandKpa: 3,
  currentMa: { low: 5, high: 15 },
  leakRatedKpaAbs: 200,
};
