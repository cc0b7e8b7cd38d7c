import { z } from 'zod';
import { READS } from '../../station/profile/plan.ts';
import type { Plan } from '../../station/profile/plan.ts';
import {
  ConditionId,
  CycleKind,
  DecisionRule,
  ProfileContent,
  TransferFunction,
} from '../../station/profile/schema.ts';
import type { RigRevision } from '../../station/rig/revision.ts';
import { measured } from '../../station/cycle/reading.ts';
import { hash, id, nest, origin, text } from './record-format.ts';

/** Format 1 of what is stored by its hash: plans, profile contents, rig revisions. */

const range = z.strictObject({ low: z.number(), high: z.number() });

const RigRevisionFormat: z.ZodType<RigRevision> = z.strictObject({
  format: z.literal(1),
  station: id,
  issue: z.number().int().min(1),
  origin,
  nests: z.number().int().min(1).max(64),
  chamber: z.boolean(),
  sampleHz: z.number().positive(),
  loads: z.array(z.strictObject({ ohm: z.number().positive(), to: z.enum(['ground', 'supply']) })).max(50),
  pressureKpaAbs: range,
  transducerKpaAbs: z.number(),
  instruments: z.strictObject({
    referenceKpa: z.number(),
    controllerKpa: z.number(),
    barometerKpa: z.number(),
    outputV: z.number(),
    outputRelative: z.number(),
    supplyV: z.number(),
    supplyRelative: z.number(),
    currentMa: z.number(),
    roomC: z.number(),
    partC: z.number(),
    skewMs: z.number(),
  }),
  characters: z
    .array(
      z.strictObject({
        nest,
        partNumber: text,
        hold: hash,
        volumeM3: measured,
        sealedPaPerS: z.strictObject({ mean: z.number(), sd: z.number(), holds: z.number().int() }),
        curveStepMs: z.number().positive(),
        sealedCurvePa: z.array(z.number()).max(100_000),
        sealedCurveSdPa: z.array(z.number()).max(100_000),
      }),
    )
    .max(1000),
});

const PlanFormat: z.ZodType<Plan> = z.strictObject({
  format: z.literal(1),
  kind: CycleKind,
  condition: ConditionId,
  rule: DecisionRule,
  steps: z
    .array(
      z.strictObject({
        step: text,
        reads: z.enum(READS),
        method: z.strictObject({ name: id, version: z.number().int().min(1) }),
      }),
    )
    .max(100),
  profile: z.strictObject({ revision: z.number().int().min(1), hash, content: ProfileContent }),
  rig: z.strictObject({ hash, revision: RigRevisionFormat }),
  others: z
    .array(
      z.strictObject({
        partNumber: text,
        pressureClass: text,
        transfer: TransferFunction,
        errorKpa: z.number(),
      }),
    )
    .max(1000),
});

/** The three kinds of document and what each holds. */
export interface Documents {
  readonly plan: Plan;
  readonly profile: ProfileContent;
  readonly rig: RigRevision;
}
export type DocumentKind = keyof Documents;

/** Readers of every released format, by kind and the `format` that the document itself carries. */
export const DOCUMENT_READERS: { readonly [K in DocumentKind]: Readonly<Record<number, z.ZodType<Documents[K]>>> } = {
  plan: { 1: PlanFormat },
  profile: { 1: ProfileContent },
  rig: { 1: RigRevisionFormat },
};
