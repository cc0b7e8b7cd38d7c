import type { Judgement } from '../../station/cycle/judge.ts';

/** Characters of a bar; odd, so that a centred reading has one of its own. */
const WIDTH = 37;
/** The track reaches this many half-tolerances to either side. */
const REACH = 1.25;

/**
 * One reading in its tolerance, as text: `[` and `]` are the limits, `/` is what the guard band takes off, `|` the
 * reading with its uncertainty (U, k = 2) as `-`. A reading off the track is an arrow at the side it left by. A
 * one-sided tolerance is open on the left, where it starts at zero.
 */
export function toleranceBar(judgement: Judgement): string {
  const { value, u, low, high, guard } = judgement;
  const oneSided = low === null;
  const from = low ?? 0;
  const to = high ?? from;
  const half = (to - from) / 2;
  const centre = oneSided ? half : (from + to) / 2;
  const column = (x: number): number => Math.round(((x - centre) / (half * REACH) / 2 + 0.5) * (WIDTH - 1));
  const cells = Array.from({ length: WIDTH }, () => ' ');
  const put = (at: number, mark: string): void => {
    if (at >= 0 && at < WIDTH) cells[at] = mark;
  };
  const [first, last] = [column(from), column(to)];
  for (let at = first; at <= last; at += 1) put(at, '.');
  if (!oneSided) put(column(centre), ':');
  for (let at = first; at < column(from + guard) && !oneSided; at += 1) put(at, '/');
  for (let at = last; at > column(to - guard); at -= 1) put(at, '/');
  if (!oneSided) put(first, '[');
  put(last, ']');
  for (let at = column(value - 2 * u); at <= column(value + 2 * u); at += 1)
    if (cells[at] !== '[' && cells[at] !== ']') put(at, '-');
  const mark = column(value);
  if (mark < 0) put(0, '<');
  else if (mark >= WIDTH) put(WIDTH - 1, '>');
  else put(mark, '|');
  return cells.join('');
}
