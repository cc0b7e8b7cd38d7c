import { z } from 'zod';

/** The step of a plan that a reading was taken in; a pressure point's step is its id. */
export type StepId = string;

/** A value with its standard uncertainty, as it is stored. */
export const measured = z.strictObject({ value: z.number(), u: z.number() }).readonly();

/** A text as it is stored: no control characters, no half characters. */
export const printable = z.string().regex(/^[^\p{Cc}\p{Cs}]{1,500}$/u, 'printable, 1 to 500 characters');

/** Where something was measured or judged: the nest, and the step of the plan. */
export const place = {
  nest: z.number().int().min(0).max(63),
  step: printable,
};

const taken = {
  ...place,
  /** Of the cycle, ms. */
  fromMs: z.number(),
  toMs: z.number(),
};

/** The output read together with everything that it is judged by. */
const output = z.strictObject({
  ...taken,
  kind: z.literal('output'),
  outputV: measured,
  supplyV: measured,
  referenceKpaAbs: measured,
  barometerKpaAbs: measured,
  partC: measured,
});

const leak = z.strictObject({
  ...taken,
  kind: z.literal('leak'),
  /** Flow out of the nest at the gas temperature, the nest's own sealed fall taken off. */
  flowPaM3PerS: measured,
  testKpaAbs: measured,
  ambientKpaAbs: measured,
  gasC: measured,
  /** How it was found: measured at the end of the hold, shut off early, or the nest never took the pressure. */
  ended: z.enum(['measured', 'gross', 'refused']),
  /** What the flow was computed from: slope seen and slope of the sealed nest in Pa/s, volume in m³. */
  slopePaPerS: measured,
  sealedPaPerS: measured,
  volumeM3: measured,
});

/**
 * What was measured together in one nest: enough to judge it again under another profile. Values are means over
 * fromMs … toMs of the cycle; u is their standard uncertainty in the same unit. This schema is what is stored, and the
 * only source of the type; nothing is parsed while a cycle runs.
 */
export const Reading = z.discriminatedUnion('kind', [
  z.strictObject({
    ...taken,
    kind: z.literal('current'),
    supplyMa: measured,
    outputV: measured,
    supplyV: measured,
  }),
  output,
  leak,
  z.strictObject({ ...taken, kind: z.literal('lag'), lagMs: measured, travelKpa: measured }),
  z.strictObject({ ...taken, kind: z.literal('noise'), scatterV: measured }),
]);
export type Reading = Readonly<z.infer<typeof Reading>>;

/** A reading without where and when. */
export type ReadingValues = Reading extends infer R ? (R extends Reading ? Omit<R, keyof typeof taken> : never) : never;
