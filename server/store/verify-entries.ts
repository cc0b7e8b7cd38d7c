import type { Database as Connection } from 'better-sqlite3';
import { hashOf } from '../../station/hash.ts';
import type { Hash } from '../../station/hash.ts';
import { checkRecord } from './closing.ts';
import { sha256 } from './digest.ts';
import { readContent } from './entry-format.ts';
import type { CycleOpened } from './entry-format.ts';
import { NO_ENTRY, entryHash } from './ledger.ts';
import type { Entry } from './ledger.ts';
import type { DocumentKind } from './document-format.ts';
import { planFactsOf } from './projection.ts';
import type { Past } from './projection.ts';
import { saying } from './problem.ts';
import type { Problems } from './problem.ts';
import type { Noted } from './verify.ts';
import type { SoundDocument } from './verify-contents.ts';
import { IndexCheck } from './verify-indexes.ts';

interface Sound {
  readonly documents: Map<Hash, SoundDocument>;
  readonly traces: Map<Hash, { named: boolean }>;
  readonly noted: readonly Noted[];
}

interface EntryBytes {
  readonly sequence: bigint;
  readonly kind: unknown;
  readonly format: unknown;
  readonly at: unknown;
  readonly type: string;
  readonly bytes: Buffer | null;
  readonly content_hash: unknown;
  readonly previous_hash: unknown;
  readonly entry_hash: unknown;
}

const NEXT = `SELECT sequence, kind, format, at, typeof(content) AS type, CAST(content AS BLOB) AS bytes,
  content_hash, previous_hash, entry_hash FROM entry WHERE sequence > ? ORDER BY sequence LIMIT 1`;

/** Walks the chain and everything that rests on it. Returns how many entries there are and the last one's hash. */
export function verifyEntries(
  connection: Connection,
  sound: Sound,
  problems: Problems,
): { entries: number; head: string | null } {
  const walk = new Walk(sound, problems);
  const indexes = new IndexCheck(connection, problems);
  const next = connection.prepare<[bigint], EntryBytes>(NEXT).safeIntegers();
  let last = 0n;
  let entries = 0;
  const whole = problems.within('entry', () => {
    for (;;) {
      // Ends with the ledger: each round moves forward.
      const row = next.get(last);
      if (row === undefined) return;
      if (row.sequence !== last + 1n)
        problems.add('entry', `entries ${last + 1n} to ${row.sequence - 1n} are missing`, Number(last + 1n));
      last = row.sequence;
      entries += 1;
      const entry = walk.entryOf(row);
      if (entry === undefined) indexes.unknown = true;
      else
        try {
          indexes.expect(entry, walk);
        } catch (cause) {
          indexes.unknown = true;
          problems.add('index', saying(cause), entry.sequence);
        }
    }
  });
  // What the end of the ledger would tell is not known when the walk was cut off: the file cannot be read there.
  if (whole) {
    walk.finish();
    problems.within('index', () => {
      indexes.finish();
    });
  }
  return { entries, head: walk.head };
}

/** One walk from the first entry to the last, with what must be remembered on the way. */
class Walk implements Past {
  readonly #sound: Sound;
  readonly #problems: Problems;
  readonly #cycles = new Map<string, { readonly sequence: number; opening: CycleOpened | undefined }>();
  readonly #revisions = new Map<string, number>();
  readonly #plansFollowed = new Set<Hash>();
  readonly #noted: Map<number, Hash>;
  #at = '';
  head: string | null = null;

  constructor(sound: Sound, problems: Problems) {
    this.#sound = sound;
    this.#problems = problems;
    this.#noted = new Map(sound.noted.map(({ sequence, hash }) => [sequence, hash]));
  }

  /** The entry of a row when it can be read, with every problem of it named. */
  entryOf(row: EntryBytes): Entry | undefined {
    const sequence = Number(row.sequence);
    const wrong = (what: string): void => {
      this.#problems.add('entry', what, sequence);
    };
    const { kind, format, at, type, bytes, content_hash, previous_hash, entry_hash } = row;
    const previous = this.head ?? NO_ENTRY;
    this.head = typeof entry_hash === 'string' ? entry_hash : null;
    if (
      typeof kind !== 'string' ||
      typeof format !== 'bigint' ||
      typeof at !== 'string' ||
      type !== 'text' ||
      bytes === null ||
      typeof content_hash !== 'string' ||
      typeof previous_hash !== 'string' ||
      typeof entry_hash !== 'string'
    ) {
      wrong('a stored value is of another type');
      return undefined;
    }
    const said = { sequence, kind, format: Number(format), at, content_hash, previous_hash };
    const contentFits = sha256(bytes) === content_hash;
    if (!contentFits) wrong('the content is not what was written');
    const chained = entryHash(said) === entry_hash;
    if (!chained) wrong('number, kind, format, time or a hash is not what was written');
    if (previous_hash !== previous) wrong('does not follow the entry before it');
    const noted = this.#noted.get(sequence);
    this.#noted.delete(sequence);
    if (noted !== undefined && noted !== entry_hash) wrong('is not the entry that was noted');
    if (at < this.#at && kind !== 'clock-set-back') wrong('is earlier than the entry before it');
    this.#at = at;
    if (!contentFits || !chained) return undefined;
    try {
      const entry: Entry = {
        sequence,
        at,
        hash: entry_hash,
        ...readContent(kind, said.format, bytes.toString('utf8')),
      };
      this.#follow(entry, wrong);
      return entry;
    } catch (cause) {
      wrong(saying(cause));
      return undefined;
    }
  }

  planFacts(hash: Hash): ReturnType<Past['planFacts']> {
    const document = this.#sound.documents.get(hash);
    if (document?.kind !== 'plan') throw new Error(`plan ${hash} is not there as it was written`);
    return planFactsOf(document.content);
  }

  openedSequence(cycle: string): number {
    const opened = this.#cycles.get(cycle);
    if (opened === undefined) throw new Error(`cycle ${cycle} was not opened`);
    return opened.sequence;
  }

  /** What can be said only at the end of the ledger. */
  finish(): void {
    for (const [hash, { kind, named }] of this.#sound.documents)
      if (!named) this.#problems.add('document', `no entry names ${kind} ${hash}`);
    for (const [hash, { named }] of this.#sound.traces)
      if (!named) this.#problems.add('trace', `no record names trace ${hash}`);
    for (const sequence of this.#noted.keys())
      this.#problems.add('entry', 'the ledger ends before an entry that was noted', sequence);
    if (this.head === null) this.#problems.add('entry', 'the ledger has no first entry', 1);
  }

  /** What an entry rests on. */
  #follow(entry: Entry, wrong: (what: string) => void): void {
    if ((entry.kind === 'server') !== (entry.sequence === 1))
      wrong('the first entry names the server, and no other does');
    switch (entry.kind) {
      case 'cycle-opened': {
        const { cycle, plan } = entry.content;
        if (this.#cycles.has(cycle)) wrong(`cycle ${cycle} is opened twice`);
        this.#cycles.set(cycle, { sequence: entry.sequence, opening: entry.content });
        this.#needs('plan', plan, wrong);
        this.#followPlan(plan, wrong);
        return;
      }
      case 'cycle-closed': {
        const { cycle, trace } = entry.content.circumstances;
        const opened = this.#cycles.get(cycle);
        if (opened === undefined) wrong(`cycle ${cycle} is closed without an opening`);
        else if (opened.opening === undefined) wrong(`cycle ${cycle} is closed twice`);
        else {
          checkRecord(entry.content, opened.opening);
          opened.opening = undefined;
        }
        const kept = trace === null ? undefined : this.#sound.traces.get(trace);
        if (kept !== undefined) kept.named = true;
        else if (trace !== null) wrong(`trace ${trace} is not there as it was written`);
        return;
      }
      case 'profile-issue': {
        const { partNumber, revision, content } = entry.content;
        // The profile's file says the number: it grows, and may leave some out.
        const before = this.#revisions.get(partNumber) ?? 0;
        if (revision <= before) wrong(`revision ${revision} of ${partNumber} follows revision ${before}`);
        this.#revisions.set(partNumber, revision);
        this.#needs('profile', content, wrong);
        return;
      }
      case 'rig-revision':
        this.#needs('rig', entry.content.content, wrong);
        return;
      case 'audit':
        if (entry.content.act === 'drawn') this.#needs('profile', entry.content.profile, wrong);
        return;
      case 'server':
      case 'sampling-plan':
      case 'journal':
      case 'disposition':
      case 'proof':
      case 'clock-set-back':
        return;
    }
  }

  /** A plan's own parts are what was issued under their hashes. */
  #followPlan(hash: Hash, wrong: (what: string) => void): void {
    const plan = this.#sound.documents.get(hash);
    if (plan?.kind !== 'plan' || this.#plansFollowed.has(hash)) return;
    this.#plansFollowed.add(hash);
    const { profile, rig } = plan.content;
    const issued = (kind: DocumentKind, part: Hash, content: unknown): boolean =>
      this.#sound.documents.get(part)?.kind === kind && hashOf(content) === part;
    if (!issued('profile', profile.hash, profile.content)) wrong(`the plan's profile ${profile.hash} is not issued`);
    if (!issued('rig', rig.hash, rig.revision)) wrong(`the plan's rig revision ${rig.hash} is not issued`);
  }

  #needs(kind: DocumentKind, hash: Hash, wrong: (what: string) => void): void {
    const document = this.#sound.documents.get(hash);
    if (document?.kind === kind) document.named = true;
    else wrong(`${kind} ${hash} is not there as it was written`);
  }
}
