import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';
import canonicalize from 'canonicalize';
import { AssertionError, assert } from './assert.ts';

/** SHA-256 as 64 lower-case hexadecimal digits. */
export type Hash = string;

/**
 * Canonical JSON of a plain value (RFC 8785: sorted keys, ECMAScript numbers, no white space).
 * Throws an AssertionError on what JSON cannot say: NaN, infinities, half characters, circles, undefined at the top.
 */
export function canonicalJson(value: unknown): string {
  let text: string | undefined;
  try {
    text = quickJson(value) ?? canonicalize(value);
  } catch (cause) {
    throw new AssertionError('broken premise: only plain values have canonical JSON', { cause });
  }
  assert(text !== undefined, 'only plain values have canonical JSON');
  return text;
}

/** How JSON.stringify writes half of a surrogate pair, or a text that itself has a backslash before the same letters. */
const ESCAPED_HALF = /\\ud[89a-f]/;

/**
 * The same text in a third of the time, which a commit waits for: JSON.stringify writes texts and numbers as RFC 8785
 * wants them, and keys in the order in which they were added. Undefined for the rare values where that is not so.
 */
function quickJson(value: unknown): string | undefined {
  const odd = { found: false };
  const text = JSON.stringify(inKeyOrder(value, odd)) as string | undefined;
  return odd.found || text === undefined || ESCAPED_HALF.test(text) ? undefined : text;
}

/** A copy with its keys added in canonical order (UTF-16 code units); sets `odd.found` where the copy is not faithful. */
function inKeyOrder(value: unknown, odd: { found: boolean }): unknown {
  if (typeof value === 'number' && !Number.isFinite(value)) odd.found = true;
  if (typeof value !== 'object' || value === null) return value;
  if (Array.isArray(value)) return value.map((element) => inKeyOrder(element, odd));
  if ('toJSON' in value) odd.found = true;
  const copy: Record<string, unknown> = {};
  for (const key of Object.keys(value).sort()) {
    const first = key.charCodeAt(0);
    // Objects keep keys that are whole numbers in an order of their own, and __proto__ is no key at all.
    if ((first >= 0x30 && first <= 0x39) || key === '__proto__') odd.found = true;
    copy[key] = inKeyOrder((value as Record<string, unknown>)[key], odd);
  }
  return copy;
}

/** SHA-256 (FIPS 180-4) of the UTF-8 bytes of a text. */
export function hashOfText(text: string): Hash {
  return bytesToHex(sha256(utf8ToBytes(text)));
}

/** SHA-256 of the canonical JSON of a plain value: the identity under which it is stored. */
export function hashOf(value: unknown): Hash {
  return hashOfText(canonicalJson(value));
}
