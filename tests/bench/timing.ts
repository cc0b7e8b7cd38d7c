/** CPU time of this process over a piece of work, ms. */
export function cpuMs(work: () => unknown): number {
  const from = process.cpuUsage();
  work();
  const { user, system } = process.cpuUsage(from);
  return (user + system) / 1000;
}

/** The middle of the values, the upper one of two; NaN of none. */
export function median(values: readonly number[]): number {
  const sorted = values.toSorted((a, b) => a - b);
  return sorted[sorted.length >> 1] ?? Number.NaN;
}
