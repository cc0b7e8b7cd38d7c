import { checkAuditPoints } from './audit-checks.ts';
import { BAROMETER_KPA_ABS } from './barometer.ts';
import { checkConditions } from './condition.ts';
import { checkErrorBand } from './error-band.ts';
import { kPa, unless, volt } from './problem.ts';
import type { ContentProblem } from './problem.ts';
import { checkRoad } from './road.ts';
import type { ProfileContent } from './schema.ts';
import { clampsV, endPoints } from './transfer.ts';

/**
 * What is wrong between the numbers of a content that the schema has already accepted. Every problem names the numbers
 * that do not go together and says which would. An empty list is a profile that can be planned.
 */
export function checkContent(content: ProfileContent): ContentProblem[] {
  const crossed = checkOrder(content);
  // With limits that cross, whatever is derived from them would only repeat the mistake in other words.
  if (crossed.length > 0) return crossed;
  return withoutConsequences([
    ...checkIdentity(content),
    ...checkSupply(content),
    ...checkRating(content),
    ...checkConditions(content),
    ...checkErrorBand(content),
    ...checkLeakHold(content),
    ...checkRoad(content),
    ...checkAuditPoints(content),
  ]);
}

/** Points are beyond the clamps of themselves, not because the transfer function, the clamps or the point are wrong. */
function withoutConsequences(problems: readonly ContentProblem[]): ContentProblem[] {
  const lineIsWrong = problems.some(({ code }) => code === 'clamp-unit' || code === 'rated-output-outside-clamps');
  const roadIsWrong = problems.some(({ code }) => code === 'point-branch' || code === 'point-duplicate');
  const namesAreWrong = problems.some(({ code }) => code === 'audit-point-unknown');
  const unrated = problems.filter(({ code }) => code === 'point-outside-rating').map(({ path }) => path.join());
  return problems.filter(
    ({ code, path }) =>
      !(code === 'point-beyond-clamps' && (lineIsWrong || unrated.includes(path.join()))) &&
      // A way back cannot be right where the way there is not.
      !(code === 'audit-point-branch' && roadIsWrong) &&
      !(code === 'audit-supply-place' && namesAreWrong),
  );
}

function checkOrder(content: ProfileContent): ContentProblem[] {
  const unit = content.clamps.unit === 'V' ? ' V' : '';
  const ranges = [
    { path: ['supply', 'allowedV'], range: content.supply.allowedV, unit: ' V' },
    { path: ['supply', 'currentMa'], range: content.supply.currentMa, unit: ' mA' },
    { path: ['ratedKpaAbs'], range: content.ratedKpaAbs, unit: ' kPa' },
    { path: ['clamps'], range: content.clamps, unit },
  ];
  return ranges.flatMap(({ path, range: { low, high }, unit }) =>
    unless(
      low < high,
      'limits-cross',
      path,
      `${low}${unit} is not below ${high}${unit}`,
      `the lowest first: ${Math.min(low, high)}${unit} to ${Math.max(low, high)}${unit}`,
    ),
  );
}

function checkIdentity({ serial, pressureClass, ratedKpaAbs }: ProfileContent): ContentProblem[] {
  const classKpa = Number(pressureClass.split(' ')[0]) * 100;
  const [least, most] = [classKpa * 0.85, classKpa * 1.25];
  return [
    ...(serial.rule === 'required' ? checkPattern(serial.pattern) : []),
    ...unless(
      ratedKpaAbs.high >= least && ratedKpaAbs.high <= most,
      'class-mismatch',
      ['pressureClass'],
      `a part rated to ${kPa(ratedKpaAbs.high)} is not of the ${pressureClass} class`,
      `rated to ${least} to ${kPa(most)} for ${pressureClass}`,
    ),
  ];
}

function checkPattern(pattern: string): ContentProblem[] {
  const path = ['serial', 'pattern'];
  const right = "a regular expression that the whole serial matches, such as '[A-Z0-9-]{5,20}'";
  try {
    const matchesNothing = new RegExp(`^(?:${new RegExp(pattern, 'u').source})$`, 'u').test('');
    return unless(!matchesNothing, 'serial-pattern', path, `"${pattern}" is also matched by no serial at all`, right);
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
    return [{ code: 'serial-pattern', path, wrong: `"${pattern}" is no regular expression`, right }];
  }
}

function checkSupply({ supply }: ProfileContent): ContentProblem[] {
  const { nominalV, allowedV, currentMa, presentMa } = supply;
  return [
    ...unless(
      nominalV >= allowedV.low && nominalV <= allowedV.high,
      'supply-outside-allowed',
      ['supply', 'nominalV'],
      `${nominalV} V is outside the allowed ${allowedV.low} V to ${allowedV.high} V`,
      `${allowedV.low} V to ${allowedV.high} V`,
    ),
    ...unless(
      presentMa < currentMa.low,
      'presence-not-below-current',
      ['supply', 'presentMa'],
      `${presentMa} mA is not below the lowest allowed current of ${currentMa.low} mA, so a part that draws too little would pass for no part`,
      `below ${currentMa.low} mA`,
    ),
  ];
}

function checkRating(content: ProfileContent): ContentProblem[] {
  const { transfer, clamps, ratedKpaAbs, supply, overPressureKpaAbs } = content;
  const unit = transfer.kind === 'ratiometric' ? 'ratio' : 'V';
  const ends = endPoints(transfer, ratedKpaAbs, supply.nominalV);
  const { lowV, highV } = clampsV(clamps, supply.nominalV);
  const { low, high } = BAROMETER_KPA_ABS;
  return [
    ...unless(
      clamps.unit === unit,
      'clamp-unit',
      ['clamps'],
      `the clamps of a ${transfer.kind} part are written as ${clamps.unit === 'V' ? 'volts' : 'fractions of the supply'}`,
      unit === 'V' ? 'volts, such as 0.1 V to 4.9 V' : 'fractions of the supply, such as 0.02 to 0.98',
    ),
    ...unless(
      ends.lowV > lowV && ends.highV < highV,
      'rated-output-outside-clamps',
      ['transfer'],
      `slope and offset give ${volt(ends.lowV)} at ${kPa(ratedKpaAbs.low)} and ${volt(ends.highV)} at ${kPa(ratedKpaAbs.high)}, ${Number((ends.slopeVPerKpa * 1000).toPrecision(6))} mV/kPa`,
      `both between the clamps, ${volt(lowV)} and ${volt(highV)}`,
    ),
    ...unless(
      ratedKpaAbs.low < low && ratedKpaAbs.high >= high,
      'rated-range-without-ambient',
      ['ratedKpaAbs'],
      `the rated range does not hold every barometer, ${low} to ${kPa(high)}, and every part is read at ambient`,
      `a range around ${low} to ${kPa(high)}`,
    ),
    ...unless(
      overPressureKpaAbs > ratedKpaAbs.high,
      'over-pressure',
      ['overPressureKpaAbs'],
      `${kPa(overPressureKpaAbs)} is not above the rated ${kPa(ratedKpaAbs.high)}`,
      `above ${kPa(ratedKpaAbs.high)}`,
    ),
    ...content.points.flatMap(({ id, at }, index) =>
      unless(
        at.kind === 'barometer' || (at.kPaAbs >= ratedKpaAbs.low && at.kPaAbs <= ratedKpaAbs.high),
        'point-outside-rating',
        ['points', index, 'at'],
        `${id} is outside the rated ${ratedKpaAbs.low} to ${kPa(ratedKpaAbs.high)}`,
        `${ratedKpaAbs.low} to ${kPa(ratedKpaAbs.high)}`,
      ),
    ),
  ];
}

function checkLeakHold({ leakHold, overPressureKpaAbs }: ProfileContent): ContentProblem[] {
  const { testKpaAbs, limitStdCm3PerMin: limit, grossStdCm3PerMin: gross } = leakHold;
  const { high } = BAROMETER_KPA_ABS;
  const path = ['leakHold', 'testKpaAbs'];
  return [
    ...unless(
      testKpaAbs > high,
      'leak-pressure',
      path,
      `${kPa(testKpaAbs)} is not above every barometer, and nothing would leak out`,
      `above ${kPa(high)}`,
    ),
    ...unless(
      testKpaAbs < overPressureKpaAbs,
      'leak-pressure',
      path,
      `${kPa(testKpaAbs)} is not below the over-pressure of ${kPa(overPressureKpaAbs)}`,
      `below ${kPa(overPressureKpaAbs)}`,
    ),
    ...unless(
      gross > limit,
      'gross-not-above-limit',
      ['leakHold', 'grossStdCm3PerMin'],
      `${gross} std cm³/min is not above the limit of ${limit} std cm³/min`,
      `more than ${limit} std cm3/min`,
    ),
  ];
}
