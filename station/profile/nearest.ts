/**
 * The word of a list that a mistyped one most likely stands for, or null when none is near: at most a third of the
 * letters differ. Distance of Levenshtein: letters put in, left out or exchanged.
 */
export function nearest(word: string, list: readonly string[]): string | null {
  let best: string | null = null;
  let bestDistance = Math.max(1, Math.floor(word.length / 3)) + 1;
  for (const candidate of list) {
    const distance = distanceOf(word.toLowerCase(), candidate.toLowerCase());
    if (distance < bestDistance) {
      best = candidate;
      bestDistance = distance;
    }
  }
  return best;
}

function distanceOf(one: string, other: string): number {
  let row = Array.from({ length: other.length + 1 }, (_, index) => index);
  for (let index = 0; index < one.length; index++) {
    const next = [index + 1];
    for (let column = 1; column <= other.length; column++) {
      const exchanged = (row[column - 1] ?? 0) + (one[index] === other[column - 1] ? 0 : 1);
      next.push(Math.min(exchanged, (row[column] ?? 0) + 1, (next[column - 1] ?? 0) + 1));
    }
    row = next;
  }
  return row[other.length] ?? 0;
}
