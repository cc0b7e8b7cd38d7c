import type { FaultText } from './part-fault.ts';

/**
 * Everything that can be made to go wrong with the simulated rig, as data. `unit` is that of a fault's size; null where
 * a fault has no size. `nest` says whether it strikes one nest (and may name it) or the whole rig.
 */
export const RIG_FAULTS = {
  'guard-open': { unit: null, nest: false, says: 'The guard is open' },
  'stop-chain-open': { unit: null, nest: false, says: 'The stop chain is open' },
  'air-lost': { unit: null, nest: false, says: 'Compressed air is gone' },
  'vacuum-lost': { unit: null, nest: false, says: 'Vacuum is gone' },
  'clamp-jammed': { unit: null, nest: false, says: 'The clamps move but never report closed' },
  'supply-lost': { unit: null, nest: true, says: 'A nest (or every nest) gets no supply voltage' },
  'supply-readback-offset': {
    unit: 'V',
    from: -30,
    to: 30,
    nest: true,
    says: 'The supply is read back wrong by so much',
  },
  'reference-silent': { unit: null, nest: true, says: 'A nest reference does not answer' },
  'reference-stuck': { unit: null, nest: true, says: 'A nest reference repeats its last reading' },
  'reference-drift': { unit: 'Pa/s', from: -100000, to: 100000, nest: true, says: 'A nest reference drifts' },
  'reference-offset': { unit: 'kPa', from: -500, to: 500, nest: true, says: 'A nest reference reads wrong by so much' },
  'controller-silent': { unit: null, nest: false, says: 'The pressure controller does not answer' },
  'controller-stuck': { unit: null, nest: false, says: "The controller's transducer repeats its last reading" },
  'controller-drift': {
    unit: 'Pa/s',
    from: -100000,
    to: 100000,
    nest: false,
    says: "The controller's transducer drifts",
  },
  'controller-offset': {
    unit: 'kPa',
    from: -500,
    to: 500,
    nest: false,
    says: "The controller's transducer reads wrong by so much",
  },
  'barometer-silent': { unit: null, nest: false, says: 'The barometer does not answer' },
  'barometer-offset': { unit: 'kPa', from: -100, to: 100, nest: false, says: 'The barometer reads wrong by so much' },
  'output-silent': { unit: null, nest: true, says: 'The output meter of a nest does not answer' },
  'output-stuck': { unit: null, nest: true, says: 'The output meter of a nest repeats its last reading' },
  'output-offset': {
    unit: 'V',
    from: -30,
    to: 30,
    nest: true,
    says: 'The output meter of a nest reads wrong by so much',
  },
  'output-drift': { unit: 'V/s', from: -10, to: 10, nest: true, says: 'The output meter of a nest drifts' },
  'isolation-stuck-open': { unit: null, nest: true, says: 'The valve of a nest stays open' },
  'isolation-stuck-shut': { unit: null, nest: true, says: 'The valve of a nest stays shut' },
  'isolation-silent': { unit: null, nest: true, says: 'The valve of a nest does not answer a command' },
  'supply-valve-stuck-open': { unit: null, nest: false, says: 'The supply valve stays fully open' },
  'exhaust-stuck-shut': { unit: null, nest: false, says: 'The exhaust stays shut: nothing vents' },
  'inlet-blocked': { unit: null, nest: false, says: 'No air comes through the supply valve' },
  'vacuum-valve-stuck-shut': { unit: null, nest: false, says: 'The vacuum valve stays shut' },
} as const satisfies Record<string, FaultText & { readonly nest: boolean }>;

export type RigFaultKind = keyof typeof RIG_FAULTS;

/** A fault to strike the rig. Without a nest it strikes all of them, or the rig. `size` is in the unit of the table. */
export interface RigFault {
  readonly where: { readonly nest?: number };
  readonly what: RigFaultKind;
  readonly size: number;
}
