/** A programmer's mistake, not a part's failure and not a station's fault. Stays on in production. */
export class AssertionError extends Error {
  override readonly name = 'AssertionError';
}

/** Stops on a broken premise rather than judging on it. */
export function assert(condition: boolean, premise: string): asserts condition {
  if (!condition) throw new AssertionError(`broken premise: ${premise}`);
}

/** The default branch of an exhaustive switch. */
export function unreachable(value: never): never {
  throw new AssertionError(`unexpected value: ${JSON.stringify(value)}`);
}

/** The element, or an assertion: for indexes that the surrounding code has already bounded. */
export function at<T>(list: readonly T[], index: number): T {
  const value = list[index];
  if (value === undefined) throw new AssertionError(`no element ${index} in a list of ${list.length}`);
  return value;
}
