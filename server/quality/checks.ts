import { QualityError } from './errors.ts';

/** Readings of one quantity in one unit, in the order they were taken. */
export type Values = ArrayLike<number>;

/** Every value finite and at least `atLeast` of them, or a QualityError (`empty`, `too-few`, `not-finite`) naming `key`. */
export function checkValues(values: Values, key: string, atLeast = 1): void {
  if (values.length === 0) throw new QualityError('empty', key, `${key} is empty; at least ${atLeast} wanted`);
  if (values.length < atLeast) {
    throw new QualityError('too-few', key, `${key} has ${values.length} values; at least ${atLeast} wanted`);
  }
  for (let i = 0; i < values.length; i += 1) {
    const value = values[i] ?? Number.NaN;
    if (!Number.isFinite(value)) checkFinite(value, `${key}[${i}]`);
  }
}

/** A finite number, or a QualityError (`not-finite`). */
export function checkFinite(value: number, key: string): void {
  if (!Number.isFinite(value)) throw new QualityError('not-finite', key, `${key} is ${value}; a finite number wanted`);
}

/** A number from `low` to `high`, both included, or a QualityError (`not-finite`, `out-of-range`). */
export function checkRange(value: number, key: string, low: number, high: number): void {
  checkFinite(value, key);
  if (value < low || value > high) {
    throw new QualityError('out-of-range', key, `${key} is ${value}; ${low} to ${high} wanted`);
  }
}

/** A finite number above zero, or a QualityError (`not-finite`, `out-of-range`). */
export function checkPositive(value: number, key: string): void {
  checkFinite(value, key);
  if (value <= 0) throw new QualityError('out-of-range', key, `${key} is ${value}; above 0 wanted`);
}

/** Most degrees of freedom, parts or counts of a distribution: beyond, a single value would take seconds, and say nothing new. */
export const LARGEST_COUNT = 1e10;

/** Fewest degrees of freedom: below, a distribution has all its weight beyond the numbers. */
const FEWEST_FREEDOM = 1e-3;

/** Degrees of freedom: 0.001 to 1e10, or a QualityError (`not-finite`, `out-of-range`). */
export function checkFreedom(df: number, key: string): void {
  checkPositive(df, key);
  checkRange(df, key, FEWEST_FREEDOM, LARGEST_COUNT);
}

/** A probability strictly between 0 and 1, or a QualityError. */
export function checkProbability(value: number, key: string): void {
  checkFinite(value, key);
  if (value <= 0 || value >= 1) {
    throw new QualityError('out-of-range', key, `${key} is ${value}; above 0 and below 1 wanted`);
  }
}

/** A whole number from `low` to `high`, both included, or a QualityError (`not-finite`, `not-whole`, `out-of-range`). */
export function checkWhole(value: number, key: string, low: number, high: number = Number.MAX_SAFE_INTEGER): void {
  checkFinite(value, key);
  if (!Number.isInteger(value)) throw new QualityError('not-whole', key, `${key} is ${value}; a whole number wanted`);
  if (value < low || value > high) {
    const wanted = high === Number.MAX_SAFE_INTEGER ? `${low} or more` : `${low} to ${high}`;
    throw new QualityError('out-of-range', key, `${key} is ${value}; ${wanted} wanted`);
  }
}

/** Specification limits; a missing one is null. At least one, the lower below the upper, or a QualityError. */
export function checkLimits(lower: number | null, upper: number | null, keys = { lower: 'lsl', upper: 'usl' }): void {
  if (lower === null && upper === null) {
    throw new QualityError('no-limit', keys.lower, `${keys.lower} and ${keys.upper} are both missing; one wanted`);
  }
  if (lower !== null) checkFinite(lower, keys.lower);
  if (upper !== null) checkFinite(upper, keys.upper);
  if (lower !== null && upper !== null && lower >= upper) {
    throw new QualityError('crossed-limits', keys.lower, `${keys.lower} ${lower} is not below ${keys.upper} ${upper}`);
  }
}
