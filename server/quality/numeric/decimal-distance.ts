/**
 * A judge of distances from a center: called with a value and a whole factor, it gives the sign of |value - center| -
 * factor x width, that is 1 beyond the line, 0 exactly on it, -1 inside. The numbers count as the decimals that they
 * are written with (the shortest that read back as the same double): 10.3 lies exactly 3 x 0.1 from 10, although the
 * nearest doubles do not. Rounding therefore never moves a reading off a line or across it.
 *
 * @param center finite, in the unit of the values
 * @param width finite and above 0, in the unit of the values
 */
export function distanceFrom(center: number, width: number): (value: number, factor: number) => number {
  const decimals = { center: decimal(center), width: decimal(width) };
  // Readings come rounded: what lies on a line is the same few values again and again.
  const known = new Map<number, Map<number, number>>();

  const exactly = (value: number, factor: number): number => {
    const ofFactor = known.get(factor) ?? new Map<number, number>();
    known.set(factor, ofFactor);
    const found = ofFactor.get(value) ?? compareDecimals(decimal(value), decimals, factor);
    ofFactor.set(value, found);
    return found;
  };

  return (value, factor) => {
    const gap = Math.abs(value - center) - factor * width;
    // What the rounding of the inputs, of the difference and of the product can amount to.
    const doubt = 4 * Number.EPSILON * (Math.abs(value) + Math.abs(center) + factor * width);
    if (gap > doubt) return 1;
    return gap < -doubt ? -1 : exactly(value, factor);
  };
}

/** A number as whole digits times a power of ten. */
interface Decimal {
  readonly digits: bigint;
  readonly exponent: number;
}

function decimal(value: number): Decimal {
  const [mantissa = '0', power = '0'] = value.toExponential().split('e');
  const [whole = '0', fraction = ''] = mantissa.split('.');
  return { digits: BigInt(whole + fraction), exponent: Number(power) - fraction.length };
}

function compareDecimals(
  value: Decimal,
  { center, width }: { readonly center: Decimal; readonly width: Decimal },
  factor: number,
): number {
  const lowest = Math.min(value.exponent, center.exponent, width.exponent);
  const scaled = ({ digits, exponent }: Decimal): bigint => digits * 10n ** BigInt(exponent - lowest);
  const difference = scaled(value) - scaled(center);
  const distance = difference < 0n ? -difference : difference;
  const bound = scaled(width) * BigInt(factor);
  if (distance === bound) return 0;
  return distance > bound ? 1 : -1;
}
