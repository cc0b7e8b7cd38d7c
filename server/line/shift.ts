import { assert } from '../../station/assert.ts';

/** When shifts begin: local times `HH:MM` in an IANA time zone. */
export interface Shifts {
  readonly zone: string;
  readonly starts: readonly string[];
}

const DAY_MIN = 24 * 60;
const MIN_MS = 60_000;

/**
 * The begin of the shift that an instant lies in, and that of the next one. A day on which the clocks are moved has a
 * shift that is an hour longer or shorter; its begin keeps its local time.
 */
export function shiftOf(now: Date, shifts: Shifts): { readonly from: Date; readonly until: Date } {
  assert(shifts.starts.length > 0, 'a day has a shift');
  const starts = shifts.starts.map(minutesOf).sort((a, b) => a - b);
  const at = localMinutes(now, shifts.zone);
  const before = starts.filter((start) => start <= at).at(-1) ?? (starts.at(-1) ?? 0) - DAY_MIN;
  const after = starts.find((start) => start > at) ?? (starts[0] ?? 0) + DAY_MIN;
  return { from: atLocal(now, at, before, shifts.zone), until: atLocal(now, at, after, shifts.zone) };
}

/** The whole minute at which the zone's clocks show `wanted`, counted from the instant at which they show `at`. */
function atLocal(now: Date, at: number, wanted: number, zone: string): Date {
  const guess = new Date(Math.floor(now.getTime() / MIN_MS) * MIN_MS + (Math.floor(wanted) - Math.floor(at)) * MIN_MS);
  // Between the two the clocks may have been moved: by then they are off by so much.
  const off = (((Math.floor(localMinutes(guess, zone)) - wanted) % DAY_MIN) + DAY_MIN) % DAY_MIN;
  const moved = new Date(guess.getTime() - (off > DAY_MIN / 2 ? off - DAY_MIN : off) * MIN_MS);
  // A time that a spring night skips is shown by no instant: the shift begins that much after the skip.
  return Math.floor(localMinutes(moved, zone)) === ((wanted % DAY_MIN) + DAY_MIN) % DAY_MIN ? moved : guess;
}

function minutesOf(text: string): number {
  const [hours, minutes] = text.split(':').map(Number);
  return (hours ?? 0) * 60 + (minutes ?? 0);
}

function localMinutes(instant: Date, zone: string): number {
  const parts = new Intl.DateTimeFormat('en-GB', {
    timeZone: zone,
    hour: '2-digit',
    minute: '2-digit',
    second: '2-digit',
    hourCycle: 'h23',
  }).formatToParts(instant);
  const part = (type: string): number => Number(parts.find((each) => each.type === type)?.value ?? 0);
  return part('hour') * 60 + part('minute') + part('second') / 60;
}
