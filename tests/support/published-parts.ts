import type { TransferFunction } from '../../station/profile/schema.ts';

/**
 * Transfer functions of published data sheets: the independent side of checks, never of a profile. V = Vs (a P + b);
 * where a sheet gives volts per bar at 5 V, both are over 5 V.
 */
const SHEETS = {
  MPXA6115A: { slopePerKpa: 0.009, offsetRatio: -0.095 },
  MPX4115A: { slopePerKpa: 0.009, offsetRatio: -0.095 },
  MPX4250A: { slopePerKpa: 0.004, offsetRatio: -0.04 },
  MPXH6300A: { slopePerKpa: 0.00318, offsetRatio: -0.00353 },
  MPXH6400A: { slopePerKpa: 0.002421, offsetRatio: -0.00842 },
  'PST 1': { slopePerKpa: 0.04048 / 5, offsetRatio: -0.00476 / 5 },
  'PST 3': { slopePerKpa: 0.01518 / 5, offsetRatio: 0.09643 / 5 },
  KP212K1409: { slopePerKpa: 0.008, offsetRatio: -0.02 },
} as const;

export const sheet = (part: keyof typeof SHEETS): TransferFunction => ({ kind: 'ratiometric', ...SHEETS[part] });

export const published: readonly TransferFunction[] = (Object.keys(SHEETS) as (keyof typeof SHEETS)[]).map(sheet);
