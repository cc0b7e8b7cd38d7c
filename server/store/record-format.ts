import { z } from 'zod';
import { FAULTS } from '../../station/faults.ts';
import { REASONS } from '../../station/reasons.ts';
import { ConditionId, CycleKind } from '../../station/profile/schema.ts';
import type { SoakProof } from '../../station/soak/soak.ts';
import type { PhaseId } from '../../station/profile/plan.ts';
import { Judgement } from '../../station/cycle/judge.ts';
import { Reading, place, printable } from '../../station/cycle/reading.ts';
import type { CycleRecord } from '../../station/cycle/record.ts';

/**
 * Format 1 of what is kept of a cycle, as schemas that change nothing: what passes is stored as it came. A number is
 * finite, a text has no control characters and no half characters, a time is UTC with milliseconds.
 */

export const text = printable;
export const id = z.string().regex(/^[A-Za-z0-9][A-Za-z0-9._:-]{0,99}$/, 'letters, digits, . _ : -, at most 100');
export const hash = z.string().regex(/^[0-9a-f]{64}$/, '64 hexadecimal digits');
export const instant = z
  .string()
  .regex(/^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{3}Z$/, 'UTC with milliseconds');
export const { nest } = place;
export const facts = z.record(text, z.union([z.number(), text]));
export const load = z.array(text.nullable()).min(1).max(64);
export const origin = z.enum(['real', 'simulated']);

/** Who did it, and how sure that is. */
export const Actor = z.strictObject({ name: text, role: text, proof: z.enum(['stated', 'pin', 'token']) });
export type Actor = z.infer<typeof Actor>;

const codes = <T extends string>(table: Readonly<Record<T, unknown>>) => z.enum(Object.keys(table) as [T, ...T[]]);

const phase: z.ZodType<PhaseId> = z.union([
  z.enum(['ready', 'clamp', 'contact', 'ambient-check', 'fill', 'stabilise', 'measure', 'vent', 'release']),
  z.templateLiteral(['point:', z.string().min(1).max(100)]),
]);

const why = z.discriminatedUnion('by', [
  z.strictObject({ by: z.literal('part'), code: codes(REASONS), facts }),
  z.strictObject({ by: z.literal('station'), code: text, facts }),
]);

/** A pass has no reason against it; whatever is not a pass has one. */
const result = z
  .strictObject({ nest, serial: text, verdict: z.enum(['pass', 'fail', 'none']), why: z.array(why).max(100) })
  .refine(({ verdict, why }) => (verdict === 'pass') === (why.length === 0), 'a verdict and its reasons contradict');

const fault = z.strictObject({ code: codes(FAULTS), phase: text, nest: nest.nullable(), facts });

const span = z.strictObject({ low: z.number(), high: z.number() });
const lags = z.strictObject({ shellS: z.number().positive(), coreS: z.number().positive() });
const soakState = z.strictObject({ airC: z.number(), shellC: span, coreC: span });
const SoakProofFormat: z.ZodType<SoakProof> = z.strictObject({
  condition: ConditionId,
  targetC: z.number(),
  lags,
  from: soakState,
  state: soakState,
  tookMs: z.number().min(0),
  inBandMs: z.number().min(0),
});

/** The audit that a cycle is part of, with its load and stage, from 1. */
export const auditPlace = z.strictObject({
  audit: id,
  load: z.number().int().min(1).max(1000),
  stage: z.number().int().min(1).max(20),
});

export const CycleRecordFormat: z.ZodType<CycleRecord> = z.strictObject({
  measurement: z.strictObject({
    format: z.literal(1),
    kind: CycleKind,
    plan: hash,
    load,
    soak: SoakProofFormat.optional(),
    phases: z.array(z.strictObject({ phase, fromMs: z.number(), toMs: z.number() })).max(1000),
    readings: z.array(Reading).max(10_000),
    judgements: z.array(Judgement).max(10_000),
    results: z.array(result).max(64),
    faults: z.array(fault).max(1000),
    vented: z.boolean(),
  }),
  circumstances: z.strictObject({
    cycle: id,
    station: id,
    origin,
    lot: text,
    openedAt: instant,
    openedMonotonicMs: z.number(),
    closedAt: instant,
    closedMonotonicMs: z.number(),
    program: text,
    trace: hash.nullable(),
    barometerKpaAbs: z.number().nullable(),
    roomC: z.number().nullable(),
    actor: Actor,
    seed: z.number().int().nullable(),
    audit: auditPlace.optional(),
  }),
});
