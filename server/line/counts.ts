import type { Verdict } from '../../station/cycle/result.ts';
import type { CountsView } from './contract.ts';

/** One nest's result in a line cycle, as far as it is counted. */
export interface Counted {
  readonly sequence: number;
  /** UTC, ISO 8601. */
  readonly at: string;
  /** From opening to verdict, ms; null for a cycle that was cut off. */
  readonly tookMs: number | null;
  readonly serial: string;
  readonly verdict: Verdict;
  readonly wasJudgedBefore: boolean;
}

/** Of so many cycles the medians are shown. */
const RECENT = 50;

/**
 * Counts line results since `since`: what was judged, what was not, and how many serials passed when they were judged
 * first (a retest never makes it better, a cycle without a verdict never worse).
 */
export class ShiftCounts {
  readonly #since: string;
  #passed = 0;
  #rejected = 0;
  #notJudged = 0;
  #firstPassed = 0;
  #firsts = 0;
  #last: { readonly sequence: number; readonly at: string } | null = null;
  /** The last cycle whose time was taken. */
  #timed = 0;
  readonly #tookMs: number[] = [];
  readonly #floorMs: number[] = [];

  constructor(since: string) {
    this.#since = since;
  }

  get since(): string {
    return this.#since;
  }

  /** Results in the order of their cycles; those of one cycle one after another. */
  add({ sequence, at, tookMs, verdict, wasJudgedBefore }: Counted): void {
    if (verdict === 'none') this.#notJudged += 1;
    else {
      if (verdict === 'pass') this.#passed += 1;
      else this.#rejected += 1;
      if (!wasJudgedBefore) {
        this.#firsts += 1;
        if (verdict === 'pass') this.#firstPassed += 1;
      }
    }
    // A test that was broken off says nothing about how long one takes.
    if (verdict !== 'none' && tookMs !== null && this.#timed !== sequence) {
      this.#timed = sequence;
      keepRecent(this.#tookMs, tookMs);
    }
    if (this.#last?.sequence === sequence) return;
    if (this.#last !== null) keepRecent(this.#floorMs, Date.parse(at) - Date.parse(this.#last.at));
    this.#last = { sequence, at };
  }

  view(): CountsView {
    return {
      since: this.#since,
      tested: this.#passed + this.#rejected,
      passed: this.#passed,
      rejected: this.#rejected,
      notJudged: this.#notJudged,
      firstPass: { passed: this.#firstPassed, of: this.#firsts },
      cycleMs: median(this.#tookMs),
      floorToFloorMs: median(this.#floorMs),
    };
  }
}

function keepRecent(values: number[], value: number): void {
  values.push(value);
  if (values.length > RECENT) values.shift();
}

function median(values: readonly number[]): number | null {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length / 2;
  const [low, high] = [sorted[Math.ceil(middle) - 1], sorted[Math.floor(middle)]];
  return low === undefined || high === undefined ? null : (low + high) / 2;
}
