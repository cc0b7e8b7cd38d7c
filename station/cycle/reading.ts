import type { Measured } from '../units.ts';

/** The step of a plan that a reading was taken in; a pressure point's step is its id. */
export type StepId = string;

/**
 * What was measured together in one nest: enough to judge it again under another profile. Values are means over
 * fromMs … toMs of the cycle; u is their standard uncertainty in the same unit.
 */
export type Reading = {
  readonly nest: number;
  readonly step: StepId;
  readonly fromMs: number;
  readonly toMs: number;
} & ReadingValues;

export type ReadingValues =
  | { readonly kind: 'current'; readonly supplyMa: Measured; readonly outputV: Measured; readonly supplyV: Measured }
  | {
      readonly kind: 'output';
      readonly outputV: Measured;
      readonly supplyV: Measured;
      readonly referenceKpaAbs: Measured;
      readonly barometerKpaAbs: Measured;
      readonly partC: Measured;
    }
  | {
      readonly kind: 'leak';
      /** Flow out of the nest at the gas temperature, the nest's own sealed fall taken off. */
      readonly flowPaM3PerS: Measured;
      readonly testKpaAbs: Measured;
      readonly ambientKpaAbs: Measured;
      readonly gasC: Measured;
      /** How it was found: measured at the end of the hold, shut off early, or the nest never took the pressure. */
      readonly ended: 'measured' | 'gross' | 'refused';
      /** What the flow was computed from: slope seen and slope of the sealed nest in Pa/s, volume in m³. */
      readonly slopePaPerS: Measured;
      readonly sealedPaPerS: Measured;
      readonly volumeM3: Measured;
    }
  | { readonly kind: 'lag'; readonly lagMs: Measured; readonly travelKpa: Measured }
  | { readonly kind: 'noise'; readonly scatterV: Measured };
