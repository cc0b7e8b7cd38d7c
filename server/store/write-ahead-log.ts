import { existsSync, readFileSync } from 'node:fs';

/**
 * The part of a write-ahead log that SQLite leaves out without a word. It reads the log up to the first frame whose
 * checksum does not fit, because that is how a power cut leaves the end of it; a byte that went bad in the middle looks
 * the same to it and takes everything after along. Format: https://www.sqlite.org/fileformat2.html, section 4.
 */

const HEADER_BYTES = 32;
const FRAME_HEADER_BYTES = 24;
const MAGIC = 0x37_7f_06_82;

/**
 * What is wrong with the log beside a database file; undefined when nothing is, or when there is no log. Each commit is
 * synced before the next one is begun, so a cut can spoil one transaction at the end, never one with another behind it.
 * Damage within the very last transaction cannot be told from a cut.
 */
export function brokenLog(path: string): string | undefined {
  const found = scan(`${path}-wal`);
  // A writer at work may be caught between two reads; what is broken stays broken.
  return found === undefined ? undefined : scan(`${path}-wal`);
}

interface Sum {
  readonly first: number;
  readonly second: number;
}

function scan(path: string): string | undefined {
  if (!existsSync(path)) return undefined;
  const log = readFileSync(path);
  if (log.length < HEADER_BYTES + FRAME_HEADER_BYTES) return undefined;
  const view = new DataView(log.buffer, log.byteOffset, log.byteLength);
  const littleEndian = (view.getUint32(0) & 1) === 0;
  const headerSum = sumOf(view, 0, 24, { first: 0, second: 0 }, littleEndian);
  const headerFits =
    (view.getUint32(0) & ~1) >>> 0 === MAGIC &&
    headerSum.first === view.getUint32(24) &&
    headerSum.second === view.getUint32(28);
  const pageBytes = view.getUint32(8);
  if (!headerFits || pageBytes < 512 || pageBytes > 65_536)
    return commitsAnywhere(log) ? 'the head of the write-ahead log is damaged' : undefined;

  const frameBytes = FRAME_HEADER_BYTES + pageBytes;
  const storedSum = (at: number): Sum => ({ first: view.getUint32(at + 16), second: view.getUint32(at + 20) });
  let before = headerSum;
  let broken: number | undefined;
  let commitsAfter = 0;
  for (let at = HEADER_BYTES, frame = 1; at + frameBytes <= log.length; at += frameBytes, frame += 1) {
    // Frames of an earlier round carry other salts: the log is overwritten from its start.
    const current = view.getUint32(at + 8) === view.getUint32(16) && view.getUint32(at + 12) === view.getUint32(20);
    const sum = sumOf(view, at + FRAME_HEADER_BYTES, pageBytes, sumOf(view, at, 8, before, littleEndian), littleEndian);
    before = storedSum(at);
    const follows = current && sum.first === before.first && sum.second === before.second;
    if (broken === undefined && !follows) broken = frame;
    // A bad byte in a frame's own checksum spoils the next frame too; what does not follow after that is older.
    if (broken !== undefined && frame > broken + 1 && !follows) break;
    if (broken !== undefined && current && view.getUint32(at + 4) !== 0) commitsAfter += 1;
  }
  if (broken === undefined || commitsAfter < 2) return undefined;
  return `frame ${broken} of the write-ahead log is damaged and ${commitsAfter} transactions with it`;
}

/** Whether bytes that no valid head describes still hold frames: a cut leaves a head before it leaves a frame. */
function commitsAnywhere(log: Buffer): boolean {
  return log.subarray(HEADER_BYTES).some((byte) => byte !== 0);
}

/** The log's checksum over a whole number of 8 bytes, carried on from `from`. */
function sumOf(view: DataView, offset: number, bytes: number, from: Sum, littleEndian: boolean): Sum {
  let { first, second } = from;
  for (let at = offset; at < offset + bytes; at += 8) {
    first = (first + view.getUint32(at, littleEndian) + second) >>> 0;
    second = (second + view.getUint32(at + 4, littleEndian) + first) >>> 0;
  }
  return { first, second };
}
