import { z } from 'zod';
import { pointOfStep, type TakenPoint } from '../profile/audit-points.ts';
import { guardBand, marginOf, outputLimits } from '../profile/limit.ts';
import type { Plan } from '../profile/plan.ts';
import { DecisionRule } from '../profile/schema.ts';
import { normalisedOutput, outputAt, pressureFrom, slopeVPerKpa } from '../profile/transfer.ts';
import type { ReasonCode } from '../reasons.ts';
import { kept, significant } from '../units.ts';
import type { Measured } from '../units.ts';
import { ratedLeak } from './leak.ts';
import { place, printable } from './reading.ts';
import type { Reading, StepId } from './reading.ts';

/** One number of the sum behind a judgement: its name, its value, its unit; no unit is an empty text. */
const Term = z.tuple([printable, z.number(), z.union([z.literal(''), printable])]).readonly();
type Term = z.infer<typeof Term>;

/**
 * One reading against its limits. `low` and `high` are the specification's; `guard` is what the rule takes off each.
 * `margin` is the distance to the nearer specification limit over half the tolerance; one-sided (limit - value) / limit.
 * This schema is what is stored, and the only source of the type; judging parses nothing.
 */
export const Judgement = z.strictObject({
  ...place,
  quantity: z.enum(['supply-current', 'output', 'leak', 'lag', 'noise']),
  value: z.number(),
  u: z.number(),
  unit: printable,
  low: z.number().nullable(),
  high: z.number().nullable(),
  guard: z.number(),
  margin: z.number(),
  verdict: z.enum(['pass', 'fail']),
  /** Inside the specification but not inside what the rule accepts. */
  inGuardBand: z.boolean(),
  rule: DecisionRule,
  arithmetic: z.array(Term).max(50).readonly(),
});
export type Judgement = Readonly<z.infer<typeof Judgement>>;
export type Quantity = Judgement['quantity'];

type Of<K extends Reading['kind']> = Extract<Reading, { kind: K }>;

/** Judges every reading of a cycle against its plan: pure, so that stored readings can be judged again. */
export function judge(plan: Plan, readings: readonly Reading[]): Judgement[] {
  return readings.map((reading) => judgeReading(plan, reading));
}

/** One reading against the limits that the plan derives for it. */
export function judgeReading(plan: Plan, reading: Reading): Judgement {
  switch (reading.kind) {
    case 'current':
      return judgeCurrent(plan, reading);
    case 'output':
      return reading.step === 'ambient-check' ? judgePlausibility(plan, reading) : judgeOutput(plan, reading);
    case 'leak':
      return judgeLeak(plan, reading);
    case 'lag':
      return judgeLag(plan, reading);
    case 'noise':
      return judgeNoise(plan, reading);
  }
}

/** The reason that a failing reading of one kind gives by itself; null where several readings have to be seen together. */
export function reasonOf(reading: Reading): ReasonCode | null {
  switch (reading.kind) {
    case 'current':
    case 'output':
      return null;
    case 'leak':
      return reading.ended === 'measured' ? 'leak' : 'gross-leak';
    case 'lag':
      return 'slow';
    case 'noise':
      return 'noisy';
  }
}

function judgeCurrent(plan: Plan, reading: Of<'current'>): Judgement {
  const { low, high } = plan.profile.content.supply.currentMa;
  return against(plan.rule, reading, 'supply-current', reading.supplyMa, 'mA', { low, high }, [
    term('supply', reading.supplyV.value, 'V'),
  ]);
}

/**
 * The output at a pressure point, in V at nominal supply and exactly at the point. Its uncertainty is that of output,
 * supply, reference and of the part's temperature where the allowed band depends on it (JCGM 100 5.1.2).
 */
function judgeOutput(plan: Plan, reading: Of<'output'>): Judgement {
  const profile = plan.profile.content;
  const { nominalV } = profile.supply;
  const point = pointOf(plan, reading.step);
  const pointKpaAbs = point.at.kind === 'absolute' ? point.at.kPaAbs : reading.barometerKpaAbs.value;
  const limits = outputLimits(profile, pointKpaAbs, reading.partC.value);
  const value = normalised(plan, reading, pointKpaAbs);
  const bandUV = bandSlopeV(plan, reading, pointKpaAbs) * reading.partC.u;
  const u = Math.hypot(outputU(plan, reading), bandUV);
  const errorKpa =
    pressureFrom(profile.transfer, reading.outputV.value, reading.supplyV.value) - reading.referenceKpaAbs.value;
  return against(plan.rule, reading, 'output', { value, u }, 'V', { low: limits.lowV, high: limits.highV }, [
    term('output as read', reading.outputV.value, 'V'),
    term('supply as read', reading.supplyV.value, 'V'),
    term('supply nominal', nominalV, 'V'),
    term('reference', reading.referenceKpaAbs.value, 'kPa abs'),
    term('point', pointKpaAbs, 'kPa abs'),
    term('error', errorKpa, 'kPa'),
    term('error band', profile.errorBand.kPa, 'kPa'),
    term('part temperature', reading.partC.value, '°C'),
    term('temperature factor', limits.factor, ''),
    term('allowed error', limits.bandKpa, 'kPa'),
    term('slope', limits.slopeVPerKpa, 'V/kPa'),
    term('expected output', limits.nominalV, 'V'),
    term('u of output', reading.outputV.u, 'V'),
    term('u of supply', reading.supplyV.u, 'V'),
    term('u of reference', reading.referenceKpaAbs.u, 'kPa'),
    term('u from part temperature', bandUV, 'V'),
  ]);
}

/** Before the fill: no specification but a question whether this can be the part that the profile is about. */
function judgePlausibility(plan: Plan, reading: Of<'output'>): Judgement {
  const profile = plan.profile.content;
  const { nominalV } = profile.supply;
  const pointKpaAbs = reading.barometerKpaAbs.value;
  const expectedV = outputAt(profile.transfer, pointKpaAbs, nominalV);
  const withinV = profile.ambientPlausibility.withinKpa * slopeVPerKpa(profile.transfer, nominalV);
  const value = normalised(plan, reading, pointKpaAbs);
  return against(
    { kind: 'simple' },
    reading,
    'output',
    { value, u: outputU(plan, reading) },
    'V',
    { low: expectedV - withinV, high: expectedV + withinV },
    [
      term('output as read', reading.outputV.value, 'V'),
      term('supply as read', reading.supplyV.value, 'V'),
      term('reference', reading.referenceKpaAbs.value, 'kPa abs'),
      term('expected output', expectedV, 'V'),
      term('plausible within', profile.ambientPlausibility.withinKpa, 'kPa'),
    ],
  );
}

function judgeLeak(plan: Plan, reading: Of<'leak'>): Judgement {
  const hold = plan.profile.content.leakHold;
  const { stdCm3PerMin, flowStdCm3PerMin, factor } = ratedLeak(reading, hold);
  return against(plan.rule, reading, 'leak', stdCm3PerMin, 'std cm3/min', { low: null, high: hold.limitStdCm3PerMin }, [
    term('fall', -reading.slopePaPerS.value, 'Pa/s'),
    term('fall of the sealed nest', -reading.sealedPaPerS.value, 'Pa/s'),
    term('u of the falls', Math.hypot(reading.slopePaPerS.u, reading.sealedPaPerS.u), 'Pa/s'),
    term('volume', reading.volumeM3.value * 1e6, 'cm3'),
    term('u of volume', reading.volumeM3.u * 1e6, 'cm3'),
    term('flow', reading.flowPaM3PerS.value, 'Pa m3/s'),
    term('gas temperature', reading.gasC.value, '°C'),
    term('flow at 20 °C and 101.325 kPa', flowStdCm3PerMin, 'std cm3/min'),
    term('pressure held', reading.testKpaAbs.value, 'kPa abs'),
    term('ambient', reading.ambientKpaAbs.value, 'kPa abs'),
    term('rated from', hold.testKpaAbs, 'kPa abs'),
    term('rating factor', factor, ''),
  ]);
}

function judgeLag(plan: Plan, reading: Of<'lag'>): Judgement {
  const { limitMs } = plan.profile.content.lag;
  return against(plan.rule, reading, 'lag', reading.lagMs, 'ms', { low: null, high: limitMs }, [
    term('travel of the output', reading.travelKpa.value, 'kPa'),
  ]);
}

function judgeNoise(plan: Plan, reading: Of<'noise'>): Judgement {
  const { limitV } = plan.profile.content.noise;
  return against(plan.rule, reading, 'noise', reading.scatterV, 'V', { low: null, high: limitV }, []);
}

/** A value passes when it lies inside its limits less the guard band; a value exactly there is inside. */
function against(
  rule: DecisionRule,
  reading: Reading,
  quantity: Quantity,
  value: Measured,
  unit: string,
  limits: { low: number | null; high: number | null },
  arithmetic: readonly Term[],
): Judgement {
  const { low, high } = limits;
  const guard = guardBand(rule, value.u);
  const inside = (band: number): boolean =>
    (low === null || value.value >= low + band) && (high === null || value.value <= high - band);
  const verdict = inside(guard) ? 'pass' : 'fail';
  return {
    nest: reading.nest,
    step: reading.step,
    quantity,
    ...kept(value),
    unit,
    low: low === null ? null : significant(low, 10),
    high: high === null ? null : significant(high, 10),
    guard: significant(guard, 5),
    margin: significant(marginOf(value.value, low, high), 6),
    verdict,
    inGuardBand: verdict === 'fail' && inside(0),
    rule,
    arithmetic,
  };
}

const term = (name: string, value: number, unit: string): Term => [name, significant(value, 7), unit];

/** Volts at nominal supply and exactly at a pressure in kPa absolute. */
function normalised(plan: Plan, reading: Of<'output'>, pointKpaAbs: number): number {
  const { transfer, supply } = plan.profile.content;
  return normalisedOutput(transfer, {
    outputV: reading.outputV.value,
    supplyV: reading.supplyV.value,
    nominalV: supply.nominalV,
    referenceKpaAbs: reading.referenceKpaAbs.value,
    pointKpaAbs,
  });
}

/** Standard uncertainty of the normalised output, V: sensitivities of the formula times u of each input. */
function outputU(plan: Plan, reading: Of<'output'>): number {
  const { transfer, supply } = plan.profile.content;
  const slope = slopeVPerKpa(transfer, supply.nominalV);
  const { outputV, supplyV, referenceKpaAbs } = reading;
  if (transfer.kind === 'regulated') return Math.hypot(outputV.u, slope * referenceKpaAbs.u);
  const scale = supply.nominalV / supplyV.value;
  const ratio = outputV.value / supplyV.value;
  return Math.hypot(scale * outputV.u, scale * ratio * supplyV.u, slope * referenceKpaAbs.u);
}

/** How fast a limit moves with the part's temperature, V/K: the steeper side at the temperature measured. */
function bandSlopeV(plan: Plan, reading: Of<'output'>, pointKpaAbs: number): number {
  const profile = plan.profile.content;
  const { factors } = profile.errorBand;
  const lowest = factors[0]?.partC ?? reading.partC.value;
  const highest = factors[factors.length - 1]?.partC ?? reading.partC.value;
  const colder = Math.max(lowest, reading.partC.value - 0.5);
  const warmer = Math.min(highest, reading.partC.value + 0.5);
  if (warmer <= colder) return 0;
  const high = (partC: number): number => outputLimits(profile, pointKpaAbs, partC).highV;
  return Math.abs(high(warmer) - high(colder)) / (warmer - colder);
}

function pointOf(plan: Plan, step: StepId): TakenPoint {
  const point = pointOfStep(plan.profile.content, step);
  if (point === undefined) throw new RangeError(`the plan has no pressure point ${step}`);
  return point;
}
