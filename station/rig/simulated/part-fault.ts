import { unreachable } from '../../assert.ts';
import type { PartModel, PartTruth } from './part.ts';

/** What a fault is, and the unit of its size with the sizes that can be simulated; null where a fault has no size. */
export type FaultText = { readonly says: string } & (
  | { readonly unit: null }
  | { readonly unit: string; readonly from: number; readonly to: number }
);

/** Everything that can be made wrong with a simulated part, as data. */
export const PART_FAULTS = {
  leak: { unit: 'std cm3/min', from: 0, to: 100000, says: 'Part or seal leaks, as the profile rates it' },
  offset: { unit: 'kPa', from: -500, to: 500, says: 'Output is shifted by so much pressure' },
  span: { unit: '%', from: -100, to: 100, says: 'Output changes too much (or too little) with pressure' },
  'span-drift': {
    unit: '%/100 K',
    from: -20,
    to: 20,
    says: 'Output changes the less (or more) the warmer the part is',
  },
  slow: { unit: 's', from: 0, to: 60, says: 'Time constant of the pressure port' },
  noise: { unit: 'V', from: 0, to: 1, says: 'Scatter (one standard deviation) of output samples at nominal supply' },
  stuck: { unit: 'fraction of supply', from: 0, to: 1, says: 'Output stays where it is' },
  current: { unit: 'mA', from: 0, to: 1000, says: 'Supply current' },
  'output-open': { unit: null, says: 'Output not connected' },
  'output-short-to-ground': { unit: null, says: 'Output shorted to ground' },
  'output-short-to-supply': { unit: null, says: 'Output shorted to supply' },
  'supply-open': { unit: null, says: 'Supply not connected' },
  'ground-open': { unit: null, says: 'Ground not connected' },
  'other-class': { unit: null, says: 'A part of another part number' },
  'no-part': { unit: null, says: 'No part in the nest: nothing connected, nothing sealed' },
} as const satisfies Record<string, FaultText>;

export type PartFaultKind = keyof typeof PART_FAULTS;

/** A fault of the part in one nest. `size` is in the unit of the table, 0 where there is none. */
export type PartFault = { readonly where: { readonly nest: number } } & (
  | { readonly what: Exclude<PartFaultKind, 'other-class'>; readonly size: number }
  | { readonly what: 'other-class'; readonly model: PartModel }
);

/** The part with the fault in it; null when it is no part any more. */
export function spoilPart(part: PartTruth, fault: PartFault): PartTruth | null {
  switch (fault.what) {
    case 'leak':
      return { ...part, leakStdCm3PerMin: fault.size };
    case 'offset':
      return { ...part, offsetKpa: fault.size };
    case 'span':
      return { ...part, span: fault.size / 100 };
    case 'span-drift':
      return { ...part, spanPerK: part.spanPerK + fault.size / 100 / 100 };
    case 'slow':
      return { ...part, lagS: fault.size };
    case 'noise':
      return { ...part, noiseV: fault.size };
    case 'stuck':
      return { ...part, stuckAt: fault.size };
    case 'current':
      return { ...part, supplyMa: fault.size };
    case 'output-open':
    case 'output-short-to-ground':
    case 'output-short-to-supply':
    case 'supply-open':
    case 'ground-open':
      return { ...part, wiring: fault.what };
    case 'other-class':
      return { ...part, model: fault.model };
    case 'no-part':
      return null;
    default:
      return unreachable(fault);
  }
}

/** The parts of a load with their faults in them, one place a nest. */
export function spoilParts(parts: readonly (PartTruth | null)[], faults: readonly PartFault[]): (PartTruth | null)[] {
  return parts.map((part, nest) =>
    faults.reduce<PartTruth | null>(
      (spoilt, fault) => (spoilt === null || fault.where.nest !== nest ? spoilt : spoilPart(spoilt, fault)),
      part,
    ),
  );
}
