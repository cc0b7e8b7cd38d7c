import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';
import { checkWhole } from '../checks.ts';
import { QualityError } from '../errors.ts';
import { checkSampleOfLot } from './lot-checks.ts';

/** Name and version of the way in which a draw is made; it stands in every record and never changes its meaning. */
export const DRAW_METHOD = 'sha256-counter/1';

/** Parts drawn from a lot, and all that is needed to draw them again. */
export interface Draw {
  readonly method: typeof DRAW_METHOD;
  readonly seed: string;
  readonly lot: number;
  /** Places in the lot, counted from 1, in the order drawn. */
  readonly drawn: readonly number[];
}

/**
 * Draws `n` of the places 1 to `lot` without replacement, every set of `n` places equally likely over the seeds. Anyone can
 * repeat it with a SHA-256 program and pencil and paper. Method `sha256-counter/1`:
 *
 * 1. Number k (k = 0, 1, 2 …) is the first 12 hexadecimal digits, as one number of 48 bits, of the SHA-256 (FIPS 180-4) of
 *    the UTF-8 text `sha256-counter/1|<seed>|<k>`, k in decimal.
 * 2. A whole number below m: take the next number x. If x is 2^48 - (2^48 mod m) or more, drop it and take the next, so that
 *    no remainder is favoured; else the result is x mod m.
 * 3. Write the places 1 to `lot` in a row. For i = 0 to n - 1: take j, i plus a whole number below `lot` - i; exchange what
 *    stands at i and j; what now stands at i is drawn (Fisher-Yates shuffle in the form of Durstenfeld, Algorithm 235,
 *    Communications of the ACM 7 (1964) 420, stopped after n steps).
 *
 * A larger `n` with the same seed and lot size draws the same parts first. The same seed gives the same places in every lot
 * of the same size: make the lot's name part of the seed, and record the seed before results are seen (ISO 24153 asks for
 * both; from memory).
 *
 * @throws QualityError `empty` (seed), `not-whole`, `not-finite`, `out-of-range`, `beyond-lot`
 */
export function drawPlaces(lot: number, n: number, seed: string): Draw {
  checkWhole(n, 'n', 1);
  checkWhole(lot, 'lot', 1, 2 ** 48);
  checkSampleOfLot(lot, n);
  if (seed === '') throw new QualityError('empty', 'seed', 'seed is empty; a recorded text wanted');
  const below = wholeNumbers(seed);
  /** The row of places, only where it differs from 1, 2, 3 …: a lot of a million costs no more than its sample. */
  const moved = new Map<number, number>();
  const drawn: number[] = [];
  for (let i = 0; i < n; i += 1) {
    const j = i + below(lot - i);
    drawn.push(moved.get(j) ?? j + 1);
    moved.set(j, moved.get(i) ?? i + 1);
  }
  return { method: DRAW_METHOD, seed, lot, drawn };
}

/** Serial numbers drawn from a lot. */
export interface SerialDraw extends Draw {
  /** The serials drawn, in the order drawn. */
  readonly serials: readonly string[];
}

/**
 * Draws `n` of the serials of a lot. They are first sorted by their Unicode code points, so the order in which they are
 * given changes nothing; `drawn` counts places in the sorted list.
 *
 * @throws QualityError as `drawPlaces`, and `out-of-range` for a serial that occurs twice
 */
export function drawSerials(serials: readonly string[], n: number, seed: string): SerialDraw {
  if (serials.length === 0) throw new QualityError('empty', 'serials', 'serials is empty; at least 1 wanted');
  const sorted = [...serials].sort(byCodePoints);
  const twice = sorted.find((serial, at) => serial === sorted[at - 1]);
  if (twice !== undefined) {
    throw new QualityError('out-of-range', 'serials', `serial ${twice} occurs more than once; each part once wanted`);
  }
  const draw = drawPlaces(serials.length, n, seed);
  return { ...draw, serials: draw.drawn.map((place) => sorted[place - 1] ?? '') };
}

/** Steps 1 and 2: successive whole numbers below m. */
function wholeNumbers(seed: string): (m: number) => number {
  let k = 0;
  return (m) => {
    const fair = 2 ** 48 - (2 ** 48 % m);
    // Endless only in theory: a number is dropped with probability m / 2^48 at most.
    while (true) {
      const digest = bytesToHex(sha256(utf8ToBytes(`${DRAW_METHOD}|${seed}|${k}`)));
      k += 1;
      const x = Number.parseInt(digest.slice(0, 12), 16);
      if (x < fair) return x % m;
    }
  };
}

/** UTF-16 order differs from code point order beyond U+FFFF; other programs sort by the latter. */
function byCodePoints(a: string, b: string): number {
  const left = Array.from(a);
  const right = Array.from(b);
  for (const [at, each] of left.entries()) {
    const other = right[at];
    if (other === undefined) return 1;
    if (each !== other) return (each.codePointAt(0) ?? 0) - (other.codePointAt(0) ?? 0);
  }
  return left.length - right.length;
}
