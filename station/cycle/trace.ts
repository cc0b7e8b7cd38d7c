import type { SampleBlock } from '../rig/port.ts';
import { meanOf } from './means.ts';

/** Columns of a trace before the nests': end of the block in ms, controller in kPa absolute. */
const SHARED = 2;
/** Format and number of nests, before the rows. */
const HEAD_BYTES = 8;
/** Whether this machine writes numbers the way a trace does: then all rows go in at once. */
const LITTLE_ENDIAN = new Uint8Array(new Uint32Array([1]).buffer)[0] === 1;
/** Columns of each nest: reference in kPa absolute, output in V, supply in V. */
const PER_NEST = 3;

/**
 * The trace of a cycle: the mean of every block, as rows of 32-bit floats in little-endian order. Eight bytes lead:
 * the format (1) and the number of nests, each an unsigned 32-bit integer.
 */
export class Trace {
  readonly #nests: number;
  readonly #rows: number[] = [];

  constructor(nests: number) {
    this.#nests = nests;
  }

  add(block: SampleBlock, atMs: number): void {
    this.#rows.push(atMs, meanOf(block.controllerKpaAbs));
    for (const nest of block.nests) {
      this.#rows.push(meanOf(nest.referenceKpaAbs), meanOf(nest.outputV), nest.supplyV);
    }
  }

  bytes(): Uint8Array {
    const bytes = new Uint8Array(HEAD_BYTES + 4 * this.#rows.length);
    const view = new DataView(bytes.buffer);
    view.setUint32(0, 1, true);
    view.setUint32(4, this.#nests, true);
    if (LITTLE_ENDIAN) new Float32Array(bytes.buffer, HEAD_BYTES).set(this.#rows);
    else this.#rows.forEach((value, i) => view.setFloat32(HEAD_BYTES + 4 * i, value, true));
    return bytes;
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
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (bytes.byteLength < HEAD_BYTES || view.getUint32(0, true) !== 1) throw new RangeError('not a trace of format 1');
  const nests = view.getUint32(4, true);
  const columns = SHARED + PER_NEST * nests;
  if ((bytes.byteLength - HEAD_BYTES) % (4 * columns) !== 0) throw new RangeError('a trace has whole rows');
  const at = (row: number, column: number): number => view.getFloat32(HEAD_BYTES + 4 * (row * columns + column), true);
  return Array.from({ length: (bytes.byteLength - HEAD_BYTES) / (4 * columns) }, (_, row) => ({
    atMs: at(row, 0),
    controllerKpaAbs: at(row, 1),
    nests: Array.from({ length: nests }, (_unused, nest) => ({
      referenceKpaAbs: at(row, SHARED + PER_NEST * nest),
      outputV: at(row, SHARED + PER_NEST * nest + 1),
      supplyV: at(row, SHARED + PER_NEST * nest + 2),
    })),
  }));
}
