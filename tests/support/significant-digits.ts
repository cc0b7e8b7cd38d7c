/** Significant digits on which two numbers agree: -log10 of the relative error (NIST StRD calls it LRE), 15 at most. */
export function significantDigits(got: number, certified: number): number {
  if (got === certified) return 15;
  const error = certified === 0 ? Math.abs(got) : Math.abs(got - certified) / Math.abs(certified);
  return Math.min(15, -Math.log10(error));
}
