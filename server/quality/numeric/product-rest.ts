/** 2^27 + 1 splits the 53 bits of a double into halves whose products are exact. */
const SPLIT = 134_217_729;
const LARGEST = 1e150;

/**
 * What the rounded product of two doubles is short of the exact one: a b = product + rest. Dekker, "A floating-point
 * technique for extending the available precision", Numerische Mathematik 18 (1971) 224-242. Zero where the halves would
 * overflow.
 */
export function productRest(a: number, b: number, product: number): number {
  if (Math.abs(a) > LARGEST || Math.abs(b) > LARGEST || !Number.isFinite(product)) return 0;
  const aHigh = SPLIT * a - (SPLIT * a - a);
  const aLow = a - aHigh;
  const bHigh = SPLIT * b - (SPLIT * b - b);
  const bLow = b - bHigh;
  return aLow * bLow - (product - aHigh * bHigh - aLow * bHigh - aHigh * bLow);
}
