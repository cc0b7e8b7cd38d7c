import type { Attempt, NestView } from './contract.ts';
import { Refusal } from './line.ts';
import type { Lock } from './lock.ts';

/** A part that was scanned for a nest. */
export interface Loaded {
  readonly serial: string;
  readonly attempt: Attempt;
  readonly wasJudged: boolean;
  readonly typed: boolean;
}

type Slot = { readonly is: 'open' } | { readonly is: 'empty' } | ({ readonly is: 'loaded' } & Loaded);

const OPEN: Slot = { is: 'open' };

/** The nests of a station before the start: which part is said to be where. Nests count from 1. */
export class Fixture {
  readonly #slots: Slot[];
  readonly #locks: (Lock | null)[];

  constructor(nests: number) {
    this.#slots = Array.from({ length: nests }, () => OPEN);
    this.#locks = Array.from({ length: nests }, () => null);
  }

  /** The nest that the next scan belongs to; null when none is open. */
  get fed(): number | null {
    const nest = this.#slots.findIndex((slot, at) => slot.is === 'open' && this.#locks[at] === null);
    return nest === -1 ? null : nest + 1;
  }

  get loaded(): readonly (Loaded & { readonly nest: number })[] {
    return this.#slots.flatMap((slot, at) => (slot.is === 'loaded' ? [{ ...slot, nest: at + 1 }] : []));
  }

  get open(): readonly number[] {
    return this.#slots.flatMap((slot, at) => (slot.is === 'open' && this.#locks[at] === null ? [at + 1] : []));
  }

  lockOf(nest: number): Lock | null {
    return this.#locks[nest - 1] ?? null;
  }

  /** Throws the Refusal `no-such-nest`. */
  check(nest: number): void {
    if (nest < 1 || nest > this.#slots.length) throw new Refusal('no-such-nest', { nest, nests: this.#slots.length });
  }

  put(nest: number, part: Loaded): void {
    this.#slots[nest - 1] = { is: 'loaded', ...part };
  }

  /** Opens a nest again. Throws the Refusals `no-such-nest`, `nothing-loaded`. */
  takeOut(nest: number): void {
    this.check(nest);
    if (this.#slots[nest - 1]?.is !== 'loaded') throw new Refusal('nothing-loaded', { nest });
    this.#slots[nest - 1] = OPEN;
  }

  /**
   * Leaves a nest empty in this load, or opens it again. Throws the Refusals `no-such-nest`, `nest-locked`, and
   * `nothing-loaded` when no part would be left to test.
   */
  leaveEmpty(nest: number): void {
    this.check(nest);
    if (this.lockOf(nest) !== null) throw new Refusal('nest-locked', { nest });
    const slot = this.#slots[nest - 1];
    if (slot?.is === 'empty') {
      this.#slots[nest - 1] = OPEN;
      return;
    }
    const left = this.#slots.filter((each, at) => at !== nest - 1 && each.is !== 'empty' && this.#locks[at] === null);
    if (left.length === 0) throw new Refusal('nothing-loaded', { nest });
    this.#slots[nest - 1] = { is: 'empty' };
  }

  clear(): void {
    this.#slots.fill(OPEN);
  }

  lock(nest: number, lock: Lock | null): void {
    this.#locks[nest - 1] = lock;
  }

  views(): NestView[] {
    const { fed } = this;
    return this.#slots.map((slot, at): NestView => {
      const lock = this.#locks[at] ?? null;
      const part = slot.is === 'loaded' ? slot : null;
      return {
        nest: at + 1,
        state: lock === null ? slot.is : 'locked',
        serial: part?.serial ?? null,
        attempt: part?.attempt ?? null,
        typed: part?.typed ?? false,
        isFed: fed === at + 1,
        lock,
      };
    });
  }
}
