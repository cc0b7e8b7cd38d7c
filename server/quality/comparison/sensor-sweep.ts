import { checkFinite, checkPositive, checkRange } from '../checks.ts';
import { QualityError } from '../errors.ts';
import { mean } from '../moments.ts';

/** One reading of a sensor under a known pressure. */
export interface SweepReading {
  readonly pressureKpa: number;
  readonly outputV: number;
  /** Supply measured with this reading; absent when it was the nominal one. */
  readonly supplyV?: number | undefined;
}

/** Readings with rising pressure and then with falling pressure; either may be empty. */
export interface SweepCycle {
  readonly up: readonly SweepReading[];
  readonly down: readonly SweepReading[];
}

/** The nominal characteristic of a ratiometric sensor: output = supply (a pressure + b). */
export interface TransferFunction {
  readonly vsNominalV: number;
  /** 1/kPa, not zero; negative for a falling characteristic. */
  readonly a: number;
  /** Without dimension: share of the supply at 0 kPa. */
  readonly b: number;
}

type Direction = 'up' | 'down';

/** A reading as the statistics use it. */
export interface NormalizedReading {
  readonly direction: Direction;
  readonly pressureKpa: number;
  /** Output at the nominal supply, V. */
  readonly outputV: number;
  /** The pressure that this reading counts as being at, kPa; see `atPoints`. */
  readonly pointKpa: number;
  /** What the output would have been exactly there, V. */
  readonly pointV: number;
  /** Pressure that the nominal characteristic reads out of the output, minus the true pressure, kPa. */
  readonly errorKpa: number;
}

/** Mean output at each pressure, all lists in the order of `pressuresKpa`, rising. */
export interface SweepCurve {
  readonly pressuresKpa: readonly number[];
  /** V; null where no reading was taken upwards. */
  readonly meanUpV: readonly (number | null)[];
  readonly meanDownV: readonly (number | null)[];
  /** Mean of the up and the down mean, or the one that exists, V. */
  readonly meanV: readonly number[];
}

/** Largest size of a quantity whose square and quotients still fit a double; no unit of the trade comes near. */
const LARGEST = 1e50;

/**
 * Readings in the order taken (cycle by cycle, up before down), each brought to the nominal supply: a ratiometric output
 * goes with its supply, so output * nominal / measured supply is what the nominal supply would have given.
 *
 * @throws QualityError `empty` (no reading), `not-finite`, `out-of-range` (a supply not above 0, `a` = 0, sizes beyond 1e50)
 */
export function normalizedReadings(transfer: TransferFunction, cycles: readonly SweepCycle[]): NormalizedReading[] {
  checkTransfer(transfer);
  const readings = cycles.flatMap((cycle, at) =>
    (['up', 'down'] as const).flatMap((direction) =>
      cycle[direction].map((reading, i) =>
        normalized(transfer, direction, reading, `cycles[${at}].${direction}[${i}]`),
      ),
    ),
  );
  if (readings.length === 0) throw new QualityError('empty', 'cycles', 'cycles hold no reading; at least two wanted');
  return readings;
}

function checkTransfer({ vsNominalV, a, b }: TransferFunction): void {
  checkSize(vsNominalV, 'vsNominalV');
  checkPositive(vsNominalV, 'vsNominalV');
  checkSize(b, 'b');
  checkSize(a, 'a');
  if (Math.abs(a) < 1 / LARGEST) {
    throw new QualityError('out-of-range', 'a', `a is ${a}; a slope that is not zero wanted`);
  }
}

function checkSize(value: number, key: string): void {
  checkRange(value, key, -LARGEST, LARGEST);
}

function normalized(
  { vsNominalV, a, b }: TransferFunction,
  direction: Direction,
  { pressureKpa, outputV, supplyV = vsNominalV }: SweepReading,
  key: string,
): NormalizedReading {
  checkSize(pressureKpa, `${key}.pressureKpa`);
  checkSize(outputV, `${key}.outputV`);
  checkFinite(supplyV, `${key}.supplyV`);
  checkPositive(supplyV, `${key}.supplyV`);
  checkRange(supplyV, `${key}.supplyV`, 1 / LARGEST, LARGEST);
  const atNominalV = supplyV === vsNominalV ? outputV : (outputV * vsNominalV) / supplyV;
  return {
    direction,
    pressureKpa,
    outputV: atNominalV,
    pointKpa: pressureKpa,
    pointV: atNominalV,
    errorKpa: (outputV / supplyV - b) / a - pressureKpa,
  };
}

/**
 * Gathers readings whose pressures lie within `withinKpa` of one another into one point, the mean of their pressures, and
 * brings each output there along the nominal slope: no controller meets a pressure twice to the last digit, and up and down
 * can only be compared at the same one. With 0 only equal pressures are one point. The straight lines and the errors keep
 * to the pressures that were there.
 *
 * @throws QualityError `not-finite`, `out-of-range`
 */
export function atPoints(
  readings: readonly NormalizedReading[],
  { vsNominalV, a }: TransferFunction,
  withinKpa: number,
): NormalizedReading[] {
  checkRange(withinKpa, 'withinKpa', 0, LARGEST);
  const rising = [...new Set(readings.map((each) => each.pressureKpa))].sort((p, q) => p - q);
  const groups: number[][] = [];
  for (const pressureKpa of rising) {
    const group = groups.at(-1);
    if (group !== undefined && pressureKpa - (group[0] ?? pressureKpa) <= withinKpa) group.push(pressureKpa);
    else groups.push([pressureKpa]);
  }
  const pointOf = new Map(groups.flatMap((group) => group.map((pressureKpa) => [pressureKpa, mean(group)] as const)));
  return readings.map((each) => {
    const pointKpa = pointOf.get(each.pressureKpa) ?? each.pressureKpa;
    return { ...each, pointKpa, pointV: each.outputV + vsNominalV * a * (pointKpa - each.pressureKpa) };
  });
}

/** The values that `of` takes from the readings at one point, in order; of one direction when it is given. */
export function at(
  readings: readonly NormalizedReading[],
  pressureKpa: number,
  of: 'pointV' | 'errorKpa',
  direction?: Direction,
): number[] {
  return readings
    .filter((each) => each.pointKpa === pressureKpa && (direction === undefined || each.direction === direction))
    .map((each) => each[of]);
}

/** Mean up, mean down and mean curve over the cycles, at the points. */
export function sweepCurve(readings: readonly NormalizedReading[]): SweepCurve {
  const pressuresKpa = [...new Set(readings.map((each) => each.pointKpa))].sort((p, q) => p - q);
  const meanOf = (pressureKpa: number, direction: Direction): number | null => {
    const outputs = at(readings, pressureKpa, 'pointV', direction);
    return outputs.length === 0 ? null : mean(outputs);
  };
  const meanUpV = pressuresKpa.map((each) => meanOf(each, 'up'));
  const meanDownV = pressuresKpa.map((each) => meanOf(each, 'down'));
  const meanV = pressuresKpa.map((_, i) => mean([meanUpV[i] ?? null, meanDownV[i] ?? null].filter((v) => v !== null)));
  return { pressuresKpa, meanUpV, meanDownV, meanV };
}
