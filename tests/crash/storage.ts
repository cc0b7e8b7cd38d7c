import { dirname } from 'node:path';
import type { StorageEvent } from './recording.ts';

/** What becomes of one change that was not synced when the power went. */
export type Fate = 'kept' | 'dropped' | 'torn';

/** The smallest piece that a disk writes whole. */
const SECTOR_BYTES = 512;

type Change =
  | { readonly kind: 'write'; readonly offset: number; readonly data: Buffer }
  | { readonly kind: 'truncate'; readonly bytes: number };

/** A file's bytes apart from its name: what is certain, and what was done since. */
interface Body {
  certain: Buffer;
  readonly since: Change[];
}

/** A change of a folder: a name given to a body, or taken away. */
interface Naming {
  readonly folder: string;
  readonly path: string;
  readonly body: Body | undefined;
}

/**
 * Storage as the worst that POSIX allows: a sync makes the changes of one file or the names of one folder certain, and
 * nothing else does. Until then every change, of bytes or of names, may be there, not be there, or be there in part,
 * each for itself and in any order.
 */
export class Storage {
  readonly #names = new Map<string, Body>();
  readonly #certainNames = new Map<string, Body>();
  readonly #namings: Naming[] = [];

  apply(event: StorageEvent): void {
    switch (event.did) {
      case 'create':
        this.#name(event.path, { certain: Buffer.alloc(0), since: [] });
        return;
      case 'write':
        this.#body(event.path).since.push({ kind: 'write', offset: event.offset, data: event.data });
        return;
      case 'truncate':
        this.#body(event.path).since.push({ kind: 'truncate', bytes: event.bytes });
        return;
      case 'unlink':
        this.#name(event.path, undefined);
        return;
      case 'rename': {
        const body = this.#body(event.path);
        this.#name(event.to, body);
        this.#name(event.path, undefined);
        return;
      }
      case 'sync':
        this.#sync(event.path);
        return;
      case 'make folder':
        // The folder that holds the ledger is taken as there: without it there is nothing to open.
        return;
    }
  }

  /** The files as they would be found, each unsynced change having the fate that it is given. */
  image(fateOf: (change: { readonly last: boolean }) => Fate, draw: () => number): Map<string, Buffer> {
    const names = new Map(this.#certainNames);
    this.#namings.forEach(({ path, body }, index) => {
      if (fateOf({ last: index === this.#namings.length - 1 }) !== 'kept') return;
      if (body === undefined) names.delete(path);
      else names.set(path, body);
    });
    const files = new Map<string, Buffer>();
    for (const [path, body] of names) files.set(path, survivor(body, fateOf, draw));
    return files;
  }

  /** The files as the running program sees them. */
  seen(): Map<string, Buffer> {
    const all = [...this.#names].map(
      ([path, body]) =>
        [
          path,
          survivor(
            body,
            () => 'kept',
            () => 0,
          ),
        ] as const,
    );
    return new Map(all);
  }

  #body(path: string): Body {
    const body = this.#names.get(path);
    if (body === undefined) throw new Error(`${path} is changed before it is created`);
    return body;
  }

  #name(path: string, body: Body | undefined): void {
    if (body === undefined) this.#names.delete(path);
    else this.#names.set(path, body);
    this.#namings.push({ folder: dirname(path), path, body });
  }

  #sync(path: string): void {
    const body = this.#names.get(path);
    if (body !== undefined) {
      body.certain = survivor(
        body,
        () => 'kept',
        () => 0,
      );
      body.since.length = 0;
      return;
    }
    const certain = this.#namings.filter(({ folder }) => folder === path);
    for (const naming of certain) {
      if (naming.body === undefined) this.#certainNames.delete(naming.path);
      else this.#certainNames.set(naming.path, naming.body);
    }
    const open = this.#namings.filter(({ folder }) => folder !== path);
    this.#namings.splice(0, this.#namings.length, ...open);
  }
}

function survivor(body: Body, fateOf: (change: { readonly last: boolean }) => Fate, draw: () => number): Buffer {
  const { certain, since } = body;
  if (since.length === 0) return certain;
  const ends = since.map((change) => (change.kind === 'write' ? change.offset + change.data.length : change.bytes));
  const bytes = Buffer.alloc(Math.max(certain.length, ...ends));
  certain.copy(bytes);
  let length = certain.length;
  since.forEach((change, index) => {
    const fate = fateOf({ last: index === since.length - 1 });
    if (fate === 'dropped') return;
    if (change.kind === 'truncate') {
      bytes.fill(0, Math.min(change.bytes, length), length);
      length = change.bytes;
      return;
    }
    const end = change.offset + change.data.length;
    if (fate === 'kept') change.data.copy(bytes, change.offset);
    else {
      // What a longer file holds where nothing was written is anything.
      for (let at = length; at < end; at += 1) bytes[at] = Math.floor(draw() * 256);
      tear(bytes, change.offset, change.data, draw);
    }
    length = Math.max(length, end);
  });
  return bytes.subarray(0, length);
}

/** Some sectors of a write arrive and some do not. */
function tear(bytes: Buffer, offset: number, data: Buffer, draw: () => number): void {
  for (let at = offset; at < offset + data.length; ) {
    const end = Math.min((Math.floor(at / SECTOR_BYTES) + 1) * SECTOR_BYTES, offset + data.length);
    if (draw() < 0.5) data.copy(bytes, at, at - offset, end - offset);
    at = end;
  }
}
