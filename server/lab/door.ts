import type { SoakState } from '../../station/soak/core-observer.ts';
import type { DoorState, LabView } from './contract.ts';

/**
 * What may be touched, °C. Above: ISO 13732-1 gives 48 °C for ten minutes and 43 °C for eight hours on any material (from
 * memory). Below: what is colder than the room's dew point gathers water; the dew point is a setting, since the station
 * does not measure it.
 */
export const TOUCH_HIGH_C = 43;
const DEW_MARGIN_K = 1;

export const touchOf = (dewPointC: number): LabView['touch'] => ({
  lowC: dewPointC + DEW_MARGIN_K,
  highC: TOUCH_HIGH_C,
});

/** Whether a load may come out of a station at rest or on its way down: vented by measurement, and every part between the two wherever it may be. */
export function doorState(
  { lowC, highC }: LabView['touch'],
  at: {
    readonly isVented: boolean | null;
    readonly chamberC: number | null;
    readonly partC: readonly (number | null)[];
    readonly state: SoakState | null;
  },
): DoorState {
  if (at.isVented === null) return 'not-measured';
  if (!at.isVented) return 'pressure';
  const known = at.state;
  const temperatures = known === null ? [at.chamberC, ...at.partC] : temperaturesOf(known);
  if (temperatures.length === 0 || temperatures.some((each) => each === null)) return 'not-measured';
  const all = temperatures.filter((each) => each !== null);
  if (Math.max(...all) > highC) return 'too-hot';
  return Math.min(...all) < lowC ? 'too-cold' : 'ready';
}

const temperaturesOf = ({ airC, shellC, coreC }: SoakState): number[] => [
  airC,
  shellC.low,
  shellC.high,
  coreC.low,
  coreC.high,
];

/** Whether air and parts can be touched wherever they may be. */
export const isTouchable = ({ lowC, highC }: LabView['touch'], state: SoakState): boolean =>
  temperaturesOf(state).every((each) => each >= lowC && each <= highC);
