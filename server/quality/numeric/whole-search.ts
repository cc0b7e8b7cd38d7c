/** Smallest whole number from `low` to `high` for which `holds`, which once true stays true; null when there is none. */
export function smallestWhole(low: number, high: number, holds: (value: number) => boolean): number | null {
  if (low > high || !holds(high)) return null;
  let no = low - 1;
  let yes = high;
  while (yes - no > 1) {
    const middle = no + Math.floor((yes - no) / 2);
    if (holds(middle)) yes = middle;
    else no = middle;
  }
  return yes;
}

/**
 * The same where the answer is expected near `low`: the steps double until `holds`, so that it is never asked for numbers
 * far beyond the answer.
 */
export function smallestWholeNear(low: number, high: number, holds: (value: number) => boolean): number | null {
  let from = low;
  for (let step = 1; from <= high; step *= 2) {
    const to = Math.min(high, from + step - 1);
    if (holds(to)) return smallestWhole(from, to, holds);
    from = to + 1;
  }
  return null;
}
