import { z } from 'zod';
import { ConditionId, CycleKind, PartNumber } from '../../station/profile/schema.ts';
import type { CycleRecord } from '../../station/cycle/record.ts';
import { StoreError } from './errors.ts';
import { Actor, CycleRecordFormat, auditPlace, facts, hash, id, instant, load, origin, text } from './record-format.ts';

/** What each kind of entry holds, format 1. Schemas change nothing: what passes is stored as it came. */

const Server = z.strictObject({ server: id, createdAt: instant, program: text });

/** Everything known when a cycle starts: enough to close it, should it be cut off. */
const CycleOpened = z.strictObject({
  cycle: id,
  station: id,
  origin,
  kind: CycleKind,
  lot: text,
  load,
  plan: hash,
  openedAt: instant,
  openedMonotonicMs: z.number(),
  program: text,
  actor: Actor,
  seed: z.number().int().nullable(),
  audit: auditPlace.optional(),
});

/** Who did what to what: anything that people change or acknowledge. `action` is a code of the job that wrote it. */
const Journal = z.strictObject({
  action: id,
  subject: text,
  facts,
  comment: text.nullable(),
  actor: Actor,
});

const ProfileIssue = z.strictObject({
  partNumber: PartNumber,
  revision: z.number().int().min(1),
  content: hash,
  actor: Actor,
});

const RigIssue = z.strictObject({
  station: id,
  issue: z.number().int().min(1),
  content: hash,
  actor: Actor,
});

const Disposition = z.strictObject({
  partNumber: PartNumber,
  lot: text,
  decision: z.enum(['accept', 'hold', 'reject']),
  reason: text,
  /** The customer's reference of the concession under which it was accepted; null otherwise. */
  concession: text.nullable(),
  /** What the concession covers: parts, and until when; null where it says nothing. */
  terms: z.strictObject({ quantity: z.number().int().min(1).nullable(), until: instant.nullable() }).optional(),
  /** The audit that it rests on. */
  audit: id.optional(),
  /** The lot for whose sake this one is held; null: for its own. Entries from before this key have it in the reason only. */
  neighbourOf: text.nullable().optional(),
  /** When it was decided, where it was not when it was stored. */
  decidedAt: instant.optional(),
  actor: Actor,
});

const sampling = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('zero-acceptance'),
    confidence: z.number().gt(0.5).lt(1),
    badShare: z.number().gt(0).lt(1),
  }),
  z.strictObject({
    kind: z.literal('attributes'),
    n: z.number().int().min(1).max(10_000),
    c: z.number().int().min(0).max(1000),
    reference: text.nullable(),
  }),
  z.strictObject({
    kind: z.literal('variables'),
    n: z.number().int().min(3).max(10_000),
    k: z.number().gt(0).lt(10),
    reference: text.nullable(),
  }),
  z.strictObject({ kind: z.literal('fixed'), n: z.number().int().min(1).max(10_000) }),
]);

/** How samples of a part number are drawn from now on. */
const SamplingPlanEntry = z.strictObject({ partNumber: PartNumber, plan: sampling, reason: text, actor: Actor });

/** When it happened, where it was not when it was stored: a history that is written down later. */
const happenedAt = instant.optional();
const ofAudit = { audit: id, actor: Actor, happenedAt };
/**
 * What happens to an audit beside its cycles, in order: the draw first, before any result. Loads and stages count from
 * 1, nests by their place in `load`.
 */
const Audit = z.discriminatedUnion('act', [
  z.strictObject({
    ...ofAudit,
    act: z.literal('drawn'),
    station: id,
    partNumber: PartNumber,
    lot: text,
    profile: hash,
    /** What it was drawn by: under tightened inspection the tightened plan. */
    plan: sampling,
    /** How strictly its part number was inspected by attributes at the draw; drawn under none other than normal without it. */
    severity: z.enum(['normal', 'tightened']).optional(),
    method: text,
    seed: text,
    /** The parts of which it was drawn: how many, and the SHA-256 of their serials, sorted, one a line. */
    lotSize: z.number().int().min(1),
    lotHash: hash,
    serials: z.array(text).min(1).max(10_000),
    conditions: z.array(ConditionId).min(1).max(10),
  }),
  z.strictObject({ ...ofAudit, act: z.literal('found'), serial: text }),
  z.strictObject({ ...ofAudit, act: z.literal('missing'), serial: text, reason: text }),
  z.strictObject({ ...ofAudit, act: z.literal('load'), load: z.number().int().min(1).max(1000), places: load }),
  z.strictObject({
    ...ofAudit,
    act: z.literal('interrupted'),
    load: z.number().int().min(1).max(1000),
    stage: z.number().int().min(1).max(20),
    why: text,
  }),
  z.strictObject({
    ...ofAudit,
    act: z.literal('resumed'),
    load: z.number().int().min(1).max(1000),
    stage: z.number().int().min(1).max(20),
  }),
  z.strictObject({
    ...ofAudit,
    act: z.literal('opened'),
    load: z.number().int().min(1).max(1000),
    airC: z.number(),
    dewPointC: z.number(),
  }),
  z.strictObject({ ...ofAudit, act: z.literal('abandoned'), reason: text }),
]);

/** How a station stands with a proof that it must hold before it judges. `until` is null when it does not expire. */
const Proof = z.strictObject({
  station: id,
  proof: z.enum(['master-check', 'calibration', 'characterisation']),
  state: z.enum(['valid', 'due', 'failed']),
  evidence: text,
  until: instant.nullable(),
  actor: Actor,
});

/** The wall clock says less than it did at the entry before. */
const ClockSetBack = z.strictObject({ from: instant, to: instant, monotonicMs: z.number() });

export type CycleOpened = z.infer<typeof CycleOpened>;
export type Journal = z.infer<typeof Journal>;
export type Disposition = z.infer<typeof Disposition>;
export type Proof = z.infer<typeof Proof>;
export type AuditAct = z.infer<typeof Audit>;
export type SamplingPlanEntry = z.infer<typeof SamplingPlanEntry>;

export interface Contents {
  readonly server: z.infer<typeof Server>;
  readonly 'cycle-opened': CycleOpened;
  readonly 'cycle-closed': CycleRecord;
  readonly journal: Journal;
  readonly 'profile-issue': z.infer<typeof ProfileIssue>;
  readonly 'rig-revision': z.infer<typeof RigIssue>;
  readonly disposition: Disposition;
  readonly proof: Proof;
  readonly 'sampling-plan': SamplingPlanEntry;
  readonly audit: AuditAct;
  readonly 'clock-set-back': z.infer<typeof ClockSetBack>;
}
export type EntryKind = keyof Contents;

/** A kind with its content: what an entry says. */
export type Said = { readonly [K in EntryKind]: { readonly kind: K; readonly content: Contents[K] } }[EntryKind];

type Readers = { readonly [K in EntryKind]: Readonly<Record<number, z.ZodType<Contents[K]>>> };

/**
 * Readers of every released format. A later format adds a number here and today's `FORMATS`; an older reader then turns
 * what was stored into today's type. None is ever removed: a part may come back years later.
 */
const READERS: Readers = {
  server: { 1: Server },
  'cycle-opened': { 1: CycleOpened },
  'cycle-closed': { 1: CycleRecordFormat },
  journal: { 1: Journal },
  'profile-issue': { 1: ProfileIssue },
  'rig-revision': { 1: RigIssue },
  disposition: { 1: Disposition },
  proof: { 1: Proof },
  'sampling-plan': { 1: SamplingPlanEntry },
  audit: { 1: Audit },
  'clock-set-back': { 1: ClockSetBack },
};

/** The format in which each kind is written today. */
export const FORMATS: Readonly<Record<EntryKind, number>> = {
  server: 1,
  'cycle-opened': 1,
  'cycle-closed': 1,
  journal: 1,
  'profile-issue': 1,
  'rig-revision': 1,
  disposition: 1,
  proof: 1,
  'sampling-plan': 1,
  audit: 1,
  'clock-set-back': 1,
};

export const isEntryKind = (kind: string): kind is EntryKind => Object.hasOwn(READERS, kind);

/** Throws `invalid-content` with the first place where a content does not fit today's format of its kind. */
export function checkContent<K extends EntryKind>(kind: K, content: Contents[K]): void {
  parsed(READERS[kind][FORMATS[kind]], content, kind);
}

/**
 * What the stored text of an entry says, in today's type. Throws `unknown-format` when there is no reader, `damaged`
 * when the text is not JSON, and `invalid-content` when it does not fit its format.
 */
export function readContent(kind: string, format: number, content: string): Said {
  const reader = isEntryKind(kind) ? READERS[kind][format] : undefined;
  if (reader === undefined)
    throw new StoreError('unknown-format', `no reader for format ${format} of ${kind}`, { facts: { kind, format } });
  return { kind, content: parsed<unknown>(reader, fromJson(content), kind) } as Said;
}

/** The value of a stored JSON text. Throws `damaged`. */
export function fromJson(stored: string): unknown {
  try {
    return JSON.parse(stored) as unknown;
  } catch (cause) {
    throw new StoreError('damaged', 'a stored content is not JSON', { cause });
  }
}

/** Throws `invalid-content`, naming the kind and the first place that does not fit. */
export function parsed<T>(schema: z.ZodType<T> | undefined, value: unknown, kind: string): T {
  if (schema === undefined) throw new StoreError('unknown-format', `no schema for today's format of ${kind}`);
  const outcome = schema.safeParse(value);
  if (outcome.success) return outcome.data;
  const issue = outcome.error.issues[0];
  throw new StoreError(
    'invalid-content',
    `${kind}: ${issue?.path.join('.') ?? ''}: ${issue?.message ?? 'does not fit'}`,
    {
      cause: outcome.error,
      facts: { kind, place: issue?.path.join('.') ?? '' },
    },
  );
}
