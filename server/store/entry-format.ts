import { z } from 'zod';
import { CycleKind, PartNumber } from '../../station/profile/schema.ts';
import type { CycleRecord } from '../../station/cycle/record.ts';
import { StoreError } from './errors.ts';
import { Actor, CycleRecordFormat, facts, hash, id, instant, load, origin, text } from './record-format.ts';

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
  /** The concession under which it was accepted; null otherwise. */
  concession: text.nullable(),
  actor: Actor,
});

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

export interface Contents {
  readonly server: z.infer<typeof Server>;
  readonly 'cycle-opened': CycleOpened;
  readonly 'cycle-closed': CycleRecord;
  readonly journal: Journal;
  readonly 'profile-issue': z.infer<typeof ProfileIssue>;
  readonly 'rig-revision': z.infer<typeof RigIssue>;
  readonly disposition: Disposition;
  readonly proof: Proof;
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
