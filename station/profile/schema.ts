import { z } from 'zod';

/**
 * What a profile says, as it is stored and hashed: numbers in house units (kPa absolute, V, mA, Ω, °C, ms, std cm³/min),
 * no default anywhere. A profile file writes the same with units in the values; `file.ts` turns it into this.
 */

const text = z.string().trim().min(1).max(200);
const id = z.string().regex(/^[a-z0-9][a-z0-9-]{0,30}$/, 'small letters, digits and hyphens, at most 31');
const positive = z.number().positive();
const notNegative = z.number().min(0);
const kPaAbs = z.number().min(0).max(2000);
const celsius = z.number().min(-80).max(200);
const ms = z.number().int().min(0).max(600_000);
const wholeBlocksMs = ms.multipleOf(20);
const method = <T extends string>(name: T) => z.strictObject({ name: z.literal(name), version: z.literal(1) });

export const PartNumber = z
  .string()
  .regex(/^AQ-[0-9]{4}$/, 'AQ- and four digits')
  .brand('PartNumber');
export type PartNumber = z.infer<typeof PartNumber>;

/** The signal that the part makes of a pressure, at the stated load. */
export const TransferFunction = z.discriminatedUnion('kind', [
  /** V = Vs (a P + b): slope a in 1/kPa, offset b a fraction of the supply. */
  z.strictObject({ kind: z.literal('ratiometric'), slopePerKpa: z.number().min(1e-4), offsetRatio: z.number() }),
  /** V = V0 + k P: slope k in V/kPa, offset V0 in V, whatever the supply. */
  z.strictObject({ kind: z.literal('regulated'), slopeVPerKpa: z.number().min(1e-3), offsetV: z.number() }),
]);
export type TransferFunction = z.infer<typeof TransferFunction>;

/** Temperature in °C and the factor on the pressure error there, 1 where the error is narrowest; linear between. */
export const FactorPoint = z.strictObject({ partC: celsius, factor: z.number().min(1).max(20) });
export type FactorPoint = z.infer<typeof FactorPoint>;

/** A pressure point: an absolute pressure, or whatever the barometer says when it is read. */
export const PressurePoint = z.strictObject({
  id,
  at: z.discriminatedUnion('kind', [
    z.strictObject({ kind: z.literal('absolute'), kPaAbs }),
    z.strictObject({ kind: z.literal('barometer') }),
  ]),
  /** From which side the pressure arrives: hysteresis makes the two differ. */
  branch: z.enum(['falling', 'rising']),
  method: method('simultaneous-reference'),
  dwellMs: ms,
  apertureMs: ms.min(20),
});
export type PressurePoint = z.infer<typeof PressurePoint>;

export const ConditionId = z.enum(['cold', 'ambient', 'hot']);
export type ConditionId = z.infer<typeof ConditionId>;

export const CycleKind = z.enum(['line', 'audit', 'master', 'study', 'return']);
export type CycleKind = z.infer<typeof CycleKind>;

/**
 * How the station's uncertainty enters a judgement. `guard-band`: limits move inwards by factor × u on each reading
 * (JCGM 106; factor 1.645 is 95 % one-sided). `simple`: limits as they stand, uncertainty shown.
 */
export const DecisionRule = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('guard-band'), factor: positive.max(4) }),
  z.strictObject({ kind: z.literal('simple') }),
]);
export type DecisionRule = z.infer<typeof DecisionRule>;

export const LeakHold = z.strictObject({
  method: method('pressure-decay'),
  testKpaAbs: kPaAbs,
  /** Rated from testKpaAbs to 101.325 kPa, dry air, 20 °C and 101.325 kPa standard conditions. */
  limitStdCm3PerMin: positive,
  /** At or above this the nest is shut off at once and the cycle goes on without it. */
  grossStdCm3PerMin: positive,
  /** In whole blocks of samples, so that a hold is compared with sealed ones block by block. */
  fillMs: wholeBlocksMs.min(40),
  stabiliseMs: wholeBlocksMs,
  measureMs: wholeBlocksMs.min(100),
});
export type LeakHold = z.infer<typeof LeakHold>;

/** What an audit takes after the line's points. A line cycle knows nothing of it. */
export const AuditPoints = z.strictObject({
  /** Points of the line once more, in this order, each from the other side: what lies between is hysteresis. */
  wayBack: z.strictObject({ over: z.array(id).min(1).max(24), dwellMs: ms, apertureMs: ms.min(20) }).optional(),
  /** The output at a low and a high supply, while the pressure stands at a point: whether it follows the supply. */
  supply: z
    .strictObject({
      method: method('supply-step'),
      at: id,
      lowV: positive.max(60),
      highV: positive.max(60),
      settleMs: ms.min(20),
      apertureMs: ms.min(20),
    })
    .optional(),
});
export type AuditPoints = z.infer<typeof AuditPoints>;

export const ProfileContent = z.strictObject({
  format: z.literal(1),
  partNumber: PartNumber,
  title: text,
  pressureClass: z.enum(['1 bar', '2 bar', '3 bar']),
  /** Whether a serial is needed before the start; `pattern` is a regular expression that it matches whole. */
  serial: z.discriminatedUnion('rule', [
    z.strictObject({ rule: z.literal('required'), pattern: text }),
    z.strictObject({ rule: z.literal('unserialised') }),
  ]),
  /** The print that the numbers come from. */
  document: z.strictObject({ title: text, revision: text }),
  supply: z.strictObject({
    nominalV: positive.max(60),
    allowedV: z.strictObject({ low: positive, high: positive }),
    currentMa: z.strictObject({ low: notNegative, high: positive }),
    /** Below this no part draws current: nothing there, or no contact. */
    presentMa: positive,
    method: method('supply-current'),
    settleMs: ms,
    apertureMs: ms.min(20),
  }),
  load: z.strictObject({ ohm: positive, to: z.enum(['ground', 'supply']) }),
  transfer: TransferFunction,
  ratedKpaAbs: z.strictObject({ low: kPaAbs, high: kPaAbs }),
  errorBand: z.strictObject({
    kPa: z.number().min(0.01).max(1000),
    factors: z.array(FactorPoint).min(1).max(12),
  }),
  /** Never to be exceeded at the part, whatever fails. */
  overPressureKpaAbs: kPaAbs,
  /** Where the output saturates: fractions of the supply, or volts of a regulated part. */
  clamps: z.discriminatedUnion('unit', [
    z.strictObject({ unit: z.literal('ratio'), low: notNegative, high: positive.max(1) }),
    z.strictObject({ unit: z.literal('V'), low: notNegative, high: positive }),
  ]),
  /** Before any fill the output, read as a pressure, must be this near to the barometer. */
  ambientPlausibility: z.strictObject({
    method: method('decoded-pressure'),
    withinKpa: positive,
    apertureMs: ms.min(20),
  }),
  leakHold: LeakHold,
  points: z.array(PressurePoint).min(1).max(24),
  /** Absent in profiles that ask for none, and in all that were kept before there were any. */
  auditPoints: AuditPoints.optional(),
  lag: z.strictObject({
    method: method('lag-by-areas'),
    /** The point on whose arrival the lag is measured; at least 10 kPa of travel. */
    onPoint: id,
    limitMs: positive,
  }),
  /** Scatter (one standard deviation) of single output samples, in V at nominal supply, pooled over the points. */
  noise: z.strictObject({ method: method('pooled-scatter'), limitV: positive }),
  conditions: z
    .array(
      z.strictObject({
        id: ConditionId,
        targetC: celsius,
        toleranceC: positive,
        soakMs: z.number().int().min(0).max(86_400_000),
      }),
    )
    .min(1)
    .max(3),
  rules: z.record(CycleKind, DecisionRule),
});
export type ProfileContent = z.infer<typeof ProfileContent>;

/** One numbered, frozen issue of a profile. `hash` is that of the content's canonical JSON. */
export interface ProfileRevision {
  readonly revision: number;
  readonly content: ProfileContent;
  readonly hash: string;
}
