import { BAROMETER_KPA_ABS } from './barometer.ts';
import { largestFactor } from './limit.ts';
import { kPa, unless, volt } from './problem.ts';
import type { ContentProblem } from './problem.ts';
import type { ProfileContent } from './schema.ts';
import { clampsV, outputAt, slopeVPerKpa } from './transfer.ts';

/** What is wrong with an error band: its factors, and whatever it is too wide for at its widest. */
export function checkErrorBand(content: ProfileContent): ContentProblem[] {
  const { errorBand, conditions } = content;
  const { factors } = errorBand;
  const unsorted = factors.flatMap(({ partC }, index) => {
    const before = factors[index - 1];
    if (before === undefined) return [];
    return unless(
      before.partC < partC,
      'factors-unsorted',
      ['errorBand', 'factors', index],
      `${partC} °C comes after ${before.partC} °C`,
      'each temperature once, the coldest first',
    );
  });
  if (unsorted.length > 0) return unsorted;
  const [lowC, highC] = [factors.at(0)?.partC ?? Infinity, factors.at(-1)?.partC ?? -Infinity];
  const uncovered = conditions.flatMap(({ id, targetC, toleranceC }) =>
    unless(
      targetC - toleranceC >= lowC && targetC + toleranceC <= highC,
      'factors-do-not-cover',
      ['errorBand', 'factors'],
      `the factors go from ${lowC} °C to ${highC} °C, and ${id} with its tolerance from ${targetC - toleranceC} °C to ${targetC + toleranceC} °C`,
      `factors from ${Math.min(lowC, targetC - toleranceC)} °C to ${Math.max(highC, targetC + toleranceC)} °C, or a tighter tolerance`,
    ),
  );
  return uncovered.length > 0 ? uncovered : checkWidestBand(content);
}

/** The band at its widest, over all conditions, still has to fit where it is used. */
function checkWidestBand(content: ProfileContent): ContentProblem[] {
  const { errorBand, conditions, transfer, supply, clamps, ambientPlausibility, noise } = content;
  const widest = conditions.map(({ targetC, toleranceC }) =>
    largestFactor(errorBand.factors, targetC - toleranceC, targetC + toleranceC),
  );
  const bandKpa = errorBand.kPa * Math.max(...widest);
  const slope = slopeVPerKpa(transfer, supply.nominalV);
  const { lowV, highV } = clampsV(clamps, supply.nominalV);
  const points = content.points.flatMap(({ id, at }, index) => {
    const [low, high] =
      at.kind === 'barometer' ? [BAROMETER_KPA_ABS.low, BAROMETER_KPA_ABS.high] : [at.kPaAbs, at.kPaAbs];
    const least = outputAt(transfer, low - bandKpa, supply.nominalV);
    const most = outputAt(transfer, high + bandKpa, supply.nominalV);
    const inner = {
      low: (lowV - outputAt(transfer, 0, supply.nominalV)) / slope + bandKpa,
      high: (highV - outputAt(transfer, 0, supply.nominalV)) / slope - bandKpa,
    };
    return unless(
      least > lowV && most < highV,
      'point-beyond-clamps',
      ['points', index, 'at'],
      `good parts may read ${volt(least)} to ${volt(most)} at ${id}, beyond the clamps at ${volt(lowV)} and ${volt(highV)}`,
      `a point between ${kPa(inner.low)} and ${kPa(inner.high)}`,
    );
  });
  return [
    ...points,
    ...unless(
      ambientPlausibility.withinKpa > bandKpa,
      'plausibility-too-narrow',
      ['ambientPlausibility', 'withinKpa'],
      `${kPa(ambientPlausibility.withinKpa)} would stop parts whose error is within the widest band, ${kPa(bandKpa)}`,
      `more than ${kPa(bandKpa)}`,
    ),
    ...unless(
      noise.limitV < errorBand.kPa * slope,
      'noise-limit',
      ['noise', 'limitV'],
      `scatter of ${volt(noise.limitV)} is as large as the error band, ${volt(errorBand.kPa * slope)}`,
      `below ${volt(errorBand.kPa * slope)}`,
    ),
  ];
}
