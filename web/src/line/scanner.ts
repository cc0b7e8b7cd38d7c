/** How a scanner is told from a person. */
export interface ScannerRule {
  readonly suffixes: readonly string[];
  readonly gapMs: number;
}

/** What a key came to. `text`: what is typed so far, to be shown. `used` keys must not do anything else. */
export type Gathered =
  | { readonly type: 'scan'; readonly text: string }
  | { readonly type: 'typed'; readonly text: string }
  | { readonly type: 'text'; readonly text: string }
  | { readonly type: 'unused' };

/** A scanner sends at least so many keys in a row. */
const LEAST_KEYS = 4;
/** A pause that no scanner makes: what was typed before it is not part of a burst. */
const PAUSE_MS = 1000;

/**
 * Gathers keys wherever they come from. A burst of keys no further apart than `gapMs`, ended by a suffix key, is a scan;
 * slower ones are typed by a person and end with Enter. A hiccup within a burst takes nothing off it: half a serial could
 * be another part's. What a person began to type a second or more before a burst is not part of it.
 */
export class Gatherer {
  #keys: { readonly key: string; readonly atMs: number }[] = [];

  get text(): string {
    return this.#keys.map(({ key }) => key).join('');
  }

  /** `isAsked`: whether a serial is asked for. Where none is, what was typed a while ago is forgotten, and Escape ends nothing. */
  take(key: string, atMs: number, { suffixes, gapMs }: ScannerRule, isAsked = true): Gathered {
    if (!isAsked && atMs - (this.#keys.at(-1)?.atMs ?? atMs) >= PAUSE_MS) this.#keys = [];
    if (suffixes.includes(key)) {
      const burst = this.#burst(atMs, gapMs);
      if (burst !== null) {
        this.#keys = [];
        return { type: 'scan', text: burst };
      }
    }
    if (this.#keys.length === 0 && (key === ' ' || key.length > 1)) return { type: 'unused' };
    if (key === 'Enter') {
      const { text } = this;
      this.#keys = [];
      return { type: 'typed', text };
    }
    if (key === 'Escape') {
      this.#keys = [];
      return isAsked ? { type: 'text', text: '' } : { type: 'unused' };
    }
    if (key === 'Backspace') {
      this.#keys.pop();
      return { type: 'text', text: this.text };
    }
    // A scanner's space is part of what is on the part; a person's is none, and must not start anything either.
    if (key === ' ' && atMs - (this.#keys.at(-1)?.atMs ?? -Infinity) > gapMs) return { type: 'text', text: this.text };
    if (key.length > 1) return { type: 'unused' };
    this.#keys.push({ key, atMs });
    return { type: 'text', text: this.text };
  }

  clear(): void {
    this.#keys = [];
  }

  /** The keys of a burst up to now; null when they are too few, or as slow as a person's. */
  #burst(endMs: number, gapMs: number): string | null {
    const times = [...this.#keys.map(({ atMs }) => atMs), endMs];
    const gaps = times.slice(1).map((atMs, at) => atMs - (times[at] ?? atMs));
    const first = gaps.findLastIndex((gap) => gap >= PAUSE_MS) + 1;
    const keys = this.#keys.slice(first);
    if (keys.length < LEAST_KEYS) return null;
    const quick = gaps.slice(first).filter((gap) => gap <= gapMs).length;
    return quick * 2 > gaps.length - first ? keys.map(({ key }) => key).join('') : null;
  }
}

/** The key of the band does nothing so soon after a scan or a change of the band, ms. */
export const QUIET_MS = 300;
