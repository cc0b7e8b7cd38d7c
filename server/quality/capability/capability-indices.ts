/** Specification limits in the unit of the values; null where there is none on that side. */
export interface Limits {
  readonly lsl: number | null;
  readonly usl: number | null;
}

/** Capability indices, pure numbers; null (undefined) without the limit or without a spread. */
export interface CapabilityIndices {
  /** Both limits against the whole width: Cp, Pp. */
  readonly both: number | null;
  /** The distance to the upper limit: CPU, PPU. */
  readonly upper: number | null;
  /** The distance to the lower limit: CPL, PPL. */
  readonly lower: number | null;
  /** The smaller of `upper` and `lower`, of those that there are: Cpk, Ppk. */
  readonly nearer: number | null;
}

/**
 * Where the bulk of the values lies, in their unit: the center, and how far below and above it 99.73 % of them reach.
 */
export interface Reference {
  readonly center: number;
  readonly below: number;
  readonly above: number;
}

/**
 * Indices of the general geometric method of ISO 22514-2 (from memory, clause not checked): (U - L) over the width of
 * the 99.73 % reference interval, (U - X50) over its upper part, (X50 - L) over its lower part. For a normal
 * distribution the center is the mean and both parts are three standard deviations: Cp = (U - L)/(6 s), CPU = (U -
 * mean)/(3 s), CPL = (mean - L)/(3 s), Cpk the smaller (Kane, "Process capability indices", Journal of Quality
 * Technology 18 (1986) 41-52).
 */
export function capabilityIndices({ lsl, usl }: Limits, { center, below, above }: Reference): CapabilityIndices {
  const upper = usl === null ? null : quotient(usl - center, above);
  const lower = lsl === null ? null : quotient(center - lsl, below);
  return {
    both: lsl === null || usl === null ? null : quotient(usl - lsl, below + above),
    upper,
    lower,
    nearer: upper === null || lower === null ? (upper ?? lower) : Math.min(upper, lower),
  };
}

/** null for a width of zero, or one so small that the index is no number of the machine. */
function quotient(distance: number, width: number): number | null {
  const index = distance / width;
  return width > 0 && Number.isFinite(index) ? index : null;
}

/** Three standard deviations on either side. */
export function normalReference(mean: number, sd: number): Reference {
  return { center: mean, below: 3 * sd, above: 3 * sd };
}
