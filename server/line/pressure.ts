import type { Live, Look } from '../../station/host/message.ts';
import type { PhaseId } from '../../station/profile/plan.ts';
import type { LiveView } from './contract.ts';

/** Phases in which nothing has been filled yet. */
const BEFORE_THE_FILL: readonly PhaseId[] = ['ready', 'clamp', 'contact', 'ambient-check'];
const VENTED_WITHIN_KPA = 2;

/** A look that was taken before the vent, once the vent is measured. */
export const ventedNow = (before: LiveView): LiveView => ({
  ...before,
  pressure: { ...before.pressure, state: 'vented' },
  frame: null,
});

/** What a rig at rest shows. "Vented" is said of a measurement only. */
export function atRest({ barometerKpaAbs, nestKpaAbs, vented, inputs }: Look): LiveView {
  const known = nestKpaAbs.filter((kPa) => kPa !== null);
  const isKnown = barometerKpaAbs !== null && known.length === nestKpaAbs.length;
  return {
    pressure: {
      state: isKnown ? (vented ? 'vented' : 'present') : 'unknown',
      kPaAbs: isKnown ? Math.max(...known) : null,
      barometerKpaAbs,
    },
    guardShut: inputs?.guardShut ?? null,
    frame: null,
  };
}

/**
 * What a running test shows. From the fill to the measured vent pressure is present, also where it passes the
 * barometer's. `vented` is what the vent measured; null before.
 */
export function inTest(
  live: Live,
  during: { phase: PhaseId | null; vented: boolean | null; barometerKpaAbs: number | null; guardShut: boolean | null },
): LiveView {
  const nests = live.nests.map(({ referenceKpaAbs, outputV }) => ({ kPaAbs: referenceKpaAbs, outputV }));
  const highest = Math.max(live.controllerKpaAbs, ...nests.map(({ kPaAbs }) => kPaAbs));
  const { phase, vented, barometerKpaAbs, guardShut } = during;
  const isBefore = phase === null || BEFORE_THE_FILL.includes(phase);
  const isNear = barometerKpaAbs !== null && Math.abs(highest - barometerKpaAbs) <= VENTED_WITHIN_KPA;
  const state = vented === true || (isBefore && isNear) ? 'vented' : 'present';
  return {
    pressure: { state, kPaAbs: highest, barometerKpaAbs },
    guardShut,
    frame: { atMs: live.atMs, kPaAbs: live.controllerKpaAbs, nests },
  };
}
