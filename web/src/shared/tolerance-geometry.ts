/** A reading with its limits, as far as it is drawn. */
export interface Judged {
  readonly value: number;
  readonly u: number;
  readonly low: number | null;
  readonly high: number | null;
  readonly guard: number;
  readonly verdict: 'pass' | 'fail';
}

export interface BarGeometry {
  /** Where the allowed room begins and ends, px. */
  readonly left: number;
  readonly right: number;
  readonly guards: readonly { readonly from: number; readonly to: number }[];
  readonly target: number | null;
  readonly mark: number | null;
  readonly whisker: { readonly from: number; readonly to: number } | null;
  /** The reading lies beyond the end of the track, on this side. */
  readonly beyond: 'low' | 'high' | null;
}

/** The track reaches so many half-tolerances from the middle. */
const REACH = 1.2;

/**
 * Where everything of a tolerance bar lies on a track of `width` px. Two-sided: the middle of the limits in the middle,
 * the track 1.2 half-tolerances to each side. One-sided: zero where the room begins, no post there.
 */
export function barGeometry(reading: Judged | null, isOneSided: boolean, width: number): BarGeometry {
  const left = (width / 2) * (1 - 1 / REACH);
  const right = width - left;
  const target = isOneSided ? null : width / 2;
  const bare: BarGeometry = { left, right, guards: [], target, mark: null, whisker: null, beyond: null };
  if (reading === null || reading.high === null) return bare;
  const { value, u, guard, high } = reading;
  const low = reading.low ?? 0;
  if (!(high > low)) return bare;
  const at = (quantity: number): number => left + ((quantity - low) / (high - low)) * (right - left);
  const held = (x: number): number => Math.min(width, Math.max(0, x));
  const across = Math.min((guard / (high - low)) * (right - left), (right - left) / 2);
  const upper = { from: right - across, to: right };
  const guards = guard > 0 ? (isOneSided ? [upper] : [{ from: left, to: left + across }, upper]) : [];
  const mark = at(value);
  const beyond = mark > width ? 'high' : mark < 0 ? 'low' : null;
  const whisker = beyond === null ? { from: held(at(value - 2 * u)), to: held(at(value + 2 * u)) } : null;
  return { left, right, guards, target, mark, whisker, beyond };
}
