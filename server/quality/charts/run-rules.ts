import { checkFinite, checkPositive, checkValues } from '../checks.ts';
import type { Values } from '../checks.ts';
import { distanceFrom } from '../numeric/decimal-distance.ts';

/**
 * Tests for special causes on a Shewhart chart, each by its name: Nelson, "The Shewhart control chart - tests for
 * special causes", Journal of Quality Technology 16 (1984) 237-239, and the Western Electric "Statistical Quality
 * Control Handbook" (1956), part B, with their differing lengths of run and trend side by side. "Beyond" and "inside"
 * are strict.
 */
export const RUN_RULES = [
  'beyond_3_sigma',
  'two_of_three_beyond_2_sigma',
  'four_of_five_beyond_1_sigma',
  'eight_same_side',
  'nine_same_side',
  'six_trend',
  'seven_trend',
  'fourteen_alternating',
  'fifteen_within_1_sigma',
  'eight_beyond_1_sigma_either_side',
  'two_of_three_window_only',
  'four_of_five_window_only',
] as const;

export type RunRule = (typeof RUN_RULES)[number];

/** A rule that fires. */
export interface RunSignal {
  /** Position of the point at which the rule fires, from 0. */
  readonly index: number;
  readonly rule: RunRule;
  /** Positions of the points that made it fire, ascending; the last is not always `index` (the window-only rules). */
  readonly points: readonly number[];
}

/** Positions of firing for each rule that was asked for. */
export type RunFirings = Readonly<Partial<Record<RunRule, readonly number[]>>>;

/**
 * Where each rule fires, as ascending positions from 0. What each rule means is said beside it in `MEANINGS`; no value
 * at all gives empty lists.
 *
 * A value is compared with a limit as the decimals that the numbers are written with, so 10.3 is on the limit 10 + 3 x
 * 0.1 and not beyond it, although the nearest binary numbers are not quite.
 *
 * @param center center line, unit of the values
 * @param sigma standard deviation of a plotted point, unit of the values
 * @throws QualityError `not-finite`; `out-of-range` for a sigma that is not above 0
 */
export function runRuleFirings(
  values: Values,
  { center, sigma }: { readonly center: number; readonly sigma: number },
  rules: readonly RunRule[] = RUN_RULES,
): RunFirings {
  checkFinite(center, 'center');
  checkPositive(sigma, 'sigma');
  if (values.length > 0) checkValues(values, 'values');
  const bands = sigmaBands(values, center, sigma);
  const wanted = new Set(rules);
  return Object.fromEntries(
    RUN_RULES.filter((rule) => wanted.has(rule)).map((rule) => [rule, firings(MEANINGS[rule], values, bands)]),
  );
}

/**
 * As `runRuleFirings`, each firing with the points that made it; by position, at one position in the order of the
 * rules.
 */
export function runRuleSignals(
  values: Values,
  chart: { readonly center: number; readonly sigma: number },
  rules: readonly RunRule[] = RUN_RULES,
): readonly RunSignal[] {
  const found = runRuleFirings(values, chart, rules);
  const bands = sigmaBands(values, chart.center, chart.sigma);
  const byRule = RUN_RULES.map((rule) => ({ rule, fired: found[rule] ?? [], next: 0 }));
  const signals: RunSignal[] = [];
  for (let index = 0; index < values.length; index += 1) {
    for (const each of byRule) {
      if (each.fired[each.next] !== index) continue;
      each.next += 1;
      signals.push({ index, rule: each.rule, points: pointsOf(MEANINGS[each.rule], bands, index) });
    }
  }
  return signals;
}

/** So many points in a row of one sort; the sort is a sign, 0 belongs to none and breaks the run. */
interface Run {
  readonly form: 'run';
  readonly points: number;
  readonly sort: (band: number) => number;
}

/** So many points in a row that all rise or all fall, or that rise and fall by turns; an equal neighbour breaks it. */
interface Steps {
  readonly form: 'trend' | 'alternation';
  readonly points: number;
}

/** At least `needed` of the last `of` points in or beyond a band on one side. */
interface Share {
  readonly form: 'share';
  readonly needed: number;
  readonly of: number;
  readonly band: number;
  /**
   * Any complete window counts; else the last point is one of those beyond, and a window may begin before the series.
   */
  readonly windowOnly: boolean;
}

/** How far from the center a point is; the sign of a band is the side. On a line is not beyond it. */
const INSIDE_1 = 1;
const ON_1 = 2;
const BEYOND_1 = 3;
const BEYOND_2 = 4;
const BEYOND_3 = 5;

const side = (band: number): number => Math.sign(band);

const MEANINGS: Readonly<Record<RunRule, Run | Steps | Share>> = {
  beyond_3_sigma: { form: 'run', points: 1, sort: (band) => (Math.abs(band) >= BEYOND_3 ? 1 : 0) },
  two_of_three_beyond_2_sigma: { form: 'share', needed: 2, of: 3, band: BEYOND_2, windowOnly: false },
  four_of_five_beyond_1_sigma: { form: 'share', needed: 4, of: 5, band: BEYOND_1, windowOnly: false },
  eight_same_side: { form: 'run', points: 8, sort: side },
  nine_same_side: { form: 'run', points: 9, sort: side },
  six_trend: { form: 'trend', points: 6 },
  seven_trend: { form: 'trend', points: 7 },
  fourteen_alternating: { form: 'alternation', points: 14 },
  fifteen_within_1_sigma: { form: 'run', points: 15, sort: (band) => (Math.abs(band) <= INSIDE_1 ? 1 : 0) },
  eight_beyond_1_sigma_either_side: { form: 'run', points: 8, sort: (band) => (Math.abs(band) >= BEYOND_1 ? 1 : 0) },
  two_of_three_window_only: { form: 'share', needed: 2, of: 3, band: BEYOND_2, windowOnly: true },
  four_of_five_window_only: { form: 'share', needed: 4, of: 5, band: BEYOND_1, windowOnly: true },
};

/** The signed band of every point; 0 is exactly on the center line. */
function sigmaBands(values: Values, center: number, sigma: number): Int8Array {
  const bands = new Int8Array(values.length);
  const compare = distanceFrom(center, sigma);
  for (let i = 0; i < bands.length; i += 1) {
    const value = values[i] ?? 0;
    if (value !== center) bands[i] = direction(center, value) * distanceBand(value, compare);
  }
  return bands;
}

function distanceBand(value: number, compare: (value: number, sigmas: number) => number): number {
  const fromOne = compare(value, 1);
  if (fromOne <= 0) return fromOne < 0 ? INSIDE_1 : ON_1;
  if (compare(value, 2) <= 0) return BEYOND_1;
  return compare(value, 3) <= 0 ? BEYOND_2 : BEYOND_3;
}

function firings(meaning: Run | Steps | Share, values: Values, bands: Int8Array): number[] {
  switch (meaning.form) {
    case 'run':
      return runFirings(meaning, bands);
    case 'share':
      return shareFirings(meaning, bands);
    case 'trend':
    case 'alternation':
      return stepFirings(meaning, values);
  }
}

function runFirings({ points, sort }: Run, bands: Int8Array): number[] {
  const fired: number[] = [];
  let length = 0;
  let before = 0;
  for (let i = 0; i < bands.length; i += 1) {
    const now = sort(bands[i] ?? 0);
    if (now === 0) length = 0;
    else length = now === before ? length + 1 : 1;
    before = now;
    if (length >= points) fired.push(i);
  }
  return fired;
}

function stepFirings({ form, points }: Steps, values: Values): number[] {
  const fired: number[] = [];
  const follows = form === 'trend' ? 1 : -1;
  let steps = 0;
  let before = 0;
  for (let i = 1; i < values.length; i += 1) {
    const now = direction(values[i - 1] ?? 0, values[i] ?? 0);
    if (now === 0) steps = 0;
    else steps = now === follows * before ? steps + 1 : 1;
    before = now;
    if (steps >= points - 1) fired.push(i);
  }
  return fired;
}

/** By comparison and not by a difference, which may be beyond the largest number. */
function direction(from: number, to: number): number {
  if (to === from) return 0;
  return to > from ? 1 : -1;
}

function shareFirings({ needed, of, band, windowOnly }: Share, bands: Int8Array): number[] {
  const fired: number[] = [];
  let above = 0;
  let below = 0;
  for (let i = 0; i < bands.length; i += 1) {
    const now = bands[i] ?? 0;
    const leaving = i >= of ? (bands[i - of] ?? 0) : 0;
    above += Number(now >= band) - Number(leaving >= band);
    below += Number(now <= -band) - Number(leaving <= -band);
    const fires = windowOnly
      ? i >= of - 1 && (above >= needed || below >= needed)
      : (now >= band && above >= needed) || (now <= -band && below >= needed);
    if (fires) fired.push(i);
  }
  return fired;
}

/**
 * Runs, trends and alternations are made by all points of their length; of a share, those beyond on the side in
 * question.
 */
function pointsOf(meaning: Run | Steps | Share, bands: Int8Array, index: number): number[] {
  const span = meaning.form === 'share' ? meaning.of : meaning.points;
  const points: number[] = [];
  if (meaning.form !== 'share') {
    for (let i = index - span + 1; i <= index; i += 1) points.push(i);
    return points;
  }
  for (const sign of [1, -1]) {
    for (let i = Math.max(0, index - span + 1); i <= index; i += 1) {
      if (sign * (bands[i] ?? 0) >= meaning.band) points.push(i);
    }
    // More than half of a window cannot be on both sides.
    if (points.length >= meaning.needed) break;
    points.length = 0;
  }
  return points;
}
