import { assert } from '../assert.ts';
import type { SampleBlock } from '../rig/port.ts';
import { meanOf } from './means.ts';

const FORMAT = 1;
/** What one step of each column is worth: pascal, ten microvolt. Finer than the noise of a block's mean. */
const STEP = { kPa: 1e-3, V: 1e-5 } as const;
/** Columns of a trace before the nests': controller. */
const SHARED = [STEP.kPa];
/** Columns of each nest: reference, output, supply. */
const PER_NEST = [STEP.kPa, STEP.V, STEP.V];

const stepsOf = (nests: number): number[] => [...SHARED, ...Array.from({ length: nests }, () => PER_NEST).flat()];

/**
 * The trace of a cycle: the mean of every block. Its bytes are format, number of nests and number of rows; then the ends
 * of the blocks in ms, as runs of equal spacing: spacing and how often; then column by column the differences from row
 * to row in whole steps. All are variable-length integers (seven bits a byte, the lowest first; differences zigzag
 * coded). A channel takes one byte a row while it is quiet; packing that further would save an eighth, and a verdict
 * would wait for it.
 */
export class Trace {
  readonly #nests: number;
  readonly #width: number;
  /** The end of each block, ms. */
  readonly #ends: number[] = [];
  /** The values row by row, in the order of the columns. */
  readonly #values: number[] = [];

  constructor(nests: number) {
    this.#nests = nests;
    this.#width = SHARED.length + PER_NEST.length * nests;
  }

  add(block: SampleBlock, atMs: number): void {
    assert(block.nests.length === this.#nests, 'a trace is of one rig');
    this.#ends.push(Math.round(atMs));
    this.#values.push(meanOf(block.controllerKpaAbs));
    for (const nest of block.nests) {
      this.#values.push(meanOf(nest.referenceKpaAbs), meanOf(nest.outputV), nest.supplyV);
    }
  }

  bytes(): Uint8Array {
    const values = this.#values;
    const out = new Bytes(2 * values.length);
    for (const head of [FORMAT, this.#nests, this.#ends.length]) out.put(head);
    for (const number of runsOf(this.#ends)) out.put(number);
    stepsOf(this.#nests).forEach((step, column) => {
      const perStep = 1 / step;
      let before = 0;
      for (let at = column; at < values.length; at += this.#width) {
        const now = Math.round((values[at] ?? 0) * perStep);
        out.put(zigzag(now - before));
        before = now;
      }
    });
    return out.taken();
  }
}

/** One instant of a trace. */
export interface TraceRow {
  readonly atMs: number;
  readonly controllerKpaAbs: number;
  readonly nests: readonly { readonly referenceKpaAbs: number; readonly outputV: number; readonly supplyV: number }[];
}

/** Reads the bytes of a trace. Throws a RangeError when they are not one. */
export function readTrace(bytes: Uint8Array): TraceRow[] {
  const from = new Reader(bytes);
  if (from.next() !== FORMAT) throw new RangeError(`not a trace of format ${FORMAT}`);
  const nests = from.next();
  const rows = from.next();
  const steps = stepsOf(Math.min(nests, 64));
  // Each value takes a byte at least: what claims more rows than that is no trace.
  if (rows * steps.length > bytes.length) throw new RangeError('a trace has as many rows as it says');
  const ends = endsFrom(from, rows);
  const columns = steps.map((step) => {
    let now = 0;
    return Array.from({ length: rows }, () => {
      now += unzigzag(from.next());
      return now * step;
    });
  });
  if (!from.isAtEnd) throw new RangeError('a trace ends with its last row');
  const at = (row: number, column: number): number => columns[column]?.[row] ?? 0;
  return Array.from({ length: rows }, (_, row) => ({
    atMs: ends[row] ?? 0,
    controllerKpaAbs: at(row, 0),
    nests: Array.from({ length: nests }, (_unused, nest) => {
      const first = SHARED.length + PER_NEST.length * nest;
      return { referenceKpaAbs: at(row, first), outputV: at(row, first + 1), supplyV: at(row, first + 2) };
    }),
  }));
}

/** Instants as runs of equal spacing, the first from 0 on: the spacing, how often, and so on. */
function runsOf(ends: readonly number[]): number[] {
  const runs: number[] = [];
  ends.forEach((end, row) => {
    const spacing = zigzag(end - (ends[row - 1] ?? 0));
    if (runs.at(-2) === spacing) runs.push((runs.pop() ?? 0) + 1);
    else runs.push(spacing, 1);
  });
  return runs;
}

function endsFrom(from: Reader, rows: number): number[] {
  const ends: number[] = [];
  let now = 0;
  while (ends.length < rows) {
    const spacing = unzigzag(from.next());
    const often = from.next();
    if (often === 0 || often > rows - ends.length) throw new RangeError('a trace has as many instants as rows');
    for (let each = 0; each < often; each += 1) ends.push((now += spacing));
  }
  return ends;
}

const zigzag = (value: number): number => (value < 0 ? -2 * value - 1 : 2 * value);
const unzigzag = (value: number): number => (value % 2 === 1 ? -(value + 1) / 2 : value / 2);

/** Bytes that grow as integers are put into them. */
class Bytes {
  #bytes: Uint8Array;
  #length = 0;

  constructor(expected: number) {
    this.#bytes = new Uint8Array(expected + 64);
  }

  put(value: number): void {
    if (this.#length + 8 > this.#bytes.length) {
      const grown = new Uint8Array(2 * this.#bytes.length);
      grown.set(this.#bytes);
      this.#bytes = grown;
    }
    if (value >= 0 && value < 128) {
      this.#bytes[this.#length++] = value;
      return;
    }
    assert(Number.isSafeInteger(value) && value >= 0, 'a trace holds whole steps');
    let left = value;
    for (; left > 127; left = Math.floor(left / 128)) this.#bytes[this.#length++] = (left % 128) + 128;
    this.#bytes[this.#length++] = left;
  }

  taken(): Uint8Array {
    return this.#bytes.slice(0, this.#length);
  }
}

class Reader {
  readonly #bytes: Uint8Array;
  #at = 0;

  constructor(bytes: Uint8Array) {
    this.#bytes = bytes;
  }

  get isAtEnd(): boolean {
    return this.#at === this.#bytes.length;
  }

  next(): number {
    let value = 0;
    for (let scale = 1; scale < 2 ** 53; scale *= 128) {
      const byte = this.#bytes[this.#at++];
      if (byte === undefined) throw new RangeError('a trace has whole numbers');
      value += (byte % 128) * scale;
      if (byte < 128) return value;
    }
    throw new RangeError('a number of a trace is too long');
  }
}
