import type { Measured } from '../units.ts';

/** Mean of one channel over a block. */
export function meanOf(samples: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < samples.length; i += 1) sum += samples[i] ?? 0;
  return sum / samples.length;
}

/** Running mean and scatter of one quantity (shifted by its first value, so that nothing cancels). */
export class Mean {
  #n = 0;
  #shift = 0;
  #sum = 0;
  #squares = 0;

  add(value: number): void {
    if (this.#n === 0) this.#shift = value;
    const d = value - this.#shift;
    this.#n += 1;
    this.#sum += d;
    this.#squares += d * d;
  }

  addAll(samples: Float64Array): void {
    for (let i = 0; i < samples.length; i += 1) this.add(samples[i] ?? 0);
  }

  get n(): number {
    return this.#n;
  }

  get mean(): number {
    return this.#shift + this.#sum / this.#n;
  }

  /** Sum of squares about the mean. */
  get squares(): number {
    return Math.max(0, this.#squares - (this.#sum * this.#sum) / this.#n);
  }

  /** Standard deviation of a single value (n - 1); 0 for fewer than two. */
  get sd(): number {
    return this.#n < 2 ? 0 : Math.sqrt(this.squares / (this.#n - 1));
  }

  /** Mean with its standard uncertainty: what the noise leaves after n values, and the instrument's own. */
  measured(instrumentU: number): Measured {
    return { value: this.mean, u: Math.hypot(this.sd / Math.sqrt(this.#n), instrumentU) };
  }
}
