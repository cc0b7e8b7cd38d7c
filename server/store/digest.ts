import { createHash } from 'node:crypto';
import type { Hash } from '../../station/hash.ts';

/** SHA-256 (FIPS 180-4) of bytes, or of the UTF-8 bytes of a text, as 64 lower-case hexadecimal digits. */
export function sha256(data: Uint8Array | string): Hash {
  return createHash('sha256').update(data).digest('hex');
}
