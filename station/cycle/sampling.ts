import type { Rig, SampleBlock } from '../rig/port.ts';
import type { Watch } from './watch.ts';

/** Longest block asked for: what a command may have to wait before it takes effect. */
export const BLOCK_MS = 20;

/** Whoever looks at blocks as they pass by. The block is plain, cloneable and not written again. */
export type Onlooker = (block: SampleBlock, atMs: number) => void;

/**
 * How time passes in a cycle: block by block, each watched, shown to the onlooker and handed to whoever is measuring.
 * Renewing the dead-man here and nowhere else means that a cycle which stops asking for samples loses the rig.
 */
export class Sampling {
  readonly #rig: Rig;
  #stop: AbortSignal;
  readonly #watch: Watch;
  readonly #onlooker: Onlooker | undefined;
  readonly #stepMs: number;
  #firstMs: number | null = null;
  #nowMs = 0;

  constructor(rig: Rig, watch: Watch, stop: AbortSignal, onlooker?: Onlooker) {
    this.#rig = rig;
    this.#watch = watch;
    this.#stop = stop;
    this.#onlooker = onlooker;
    this.#stepMs = 1000 / rig.abilities.sampleHz;
  }

  /** Milliseconds since the first sample of the cycle, in the rig's own time. */
  get nowMs(): number {
    return this.#nowMs;
  }

  /** From now on another signal ends the sampling. */
  heed(stop: AbortSignal): void {
    this.#stop = stop;
  }

  /** Lets `forMs` pass. Each block goes to `take` after it was watched. Rejects with the stop's reason or a fault. */
  async pass(forMs: number, take?: (block: SampleBlock, endMs: number) => void): Promise<void> {
    for (let left = forMs; left > 0; left -= BLOCK_MS) {
      const block = await this.#acquire(left);
      this.#see(block);
      take?.(block, this.#nowMs);
    }
  }

  /** Lets blocks pass until `reached` says so of one, at most `limitMs`. Resolves with whether it did. */
  async until(limitMs: number, reached: (block: SampleBlock, endMs: number) => boolean): Promise<boolean> {
    for (let left = limitMs; left > 0; left -= BLOCK_MS) {
      const block = await this.#acquire(left);
      this.#see(block);
      if (reached(block, this.#nowMs)) return true;
    }
    return false;
  }

  /** The next block, of `left` milliseconds at most; not a promise of its own, for this is asked 50 times a second. */
  #acquire(left: number): Promise<SampleBlock> {
    this.#rig.renewDeadMan();
    return this.#rig.acquire(left < BLOCK_MS ? left : BLOCK_MS, this.#stop);
  }

  #see(block: SampleBlock): void {
    this.#firstMs ??= block.fromMs;
    this.#nowMs = block.fromMs - this.#firstMs + block.count * this.#stepMs;
    this.#onlooker?.(block, this.#nowMs);
    this.#watch.look(block);
  }
}
