/**
 * Chance as a port: seeded, named streams. A stream is keyed by (seed, name, index), so a new reader takes a new name
 * and shifts nobody else's numbers. Generator: sfc32 (Doty-Humphrey, PractRand); keys mixed by a 32-bit finaliser.
 */
export class Stream {
  #a: number;
  #b: number;
  #c: number;
  #d = 1;

  constructor(seed: number, name: string, index: number) {
    this.#a = mix((seed + 0x9e3779b9) | 0);
    this.#b = mix((fnv1a(name) + 0x3c6ef372) | 0);
    this.#c = mix((index + 0xdaa66d2b) | 0);
    for (let k = 0; k < 15; k++) this.u32();
  }

  /** The next whole number from 0 to 2³² - 1. */
  u32(): number {
    const t = (((this.#a + this.#b) | 0) + this.#d) | 0;
    this.#d = (this.#d + 1) | 0;
    this.#a = this.#b ^ (this.#b >>> 9);
    this.#b = (this.#c + (this.#c << 3)) | 0;
    this.#c = (((this.#c << 21) | (this.#c >>> 11)) + t) | 0;
    return t >>> 0;
  }

  /** Uniform in the open interval 0 … 1; one draw. */
  uniform(): number {
    return (this.u32() + 0.5) / 4_294_967_296;
  }

  /** Standard normal; exactly one draw, so that streams stay aligned whatever the value. */
  normal(): number {
    return normalQuantile(this.uniform());
  }

  /** Writes `count` standard normals, the same ones in the same order as `normal()` would have given. */
  normals(into: Float64Array, from: number, count: number): void {
    let a = this.#a;
    let b = this.#b;
    let c = this.#c;
    let d = this.#d;
    for (let k = from; k < from + count; k++) {
      const t = (((a + b) | 0) + d) | 0;
      d = (d + 1) | 0;
      a = b ^ (b >>> 9);
      b = (c + (c << 3)) | 0;
      c = (((c << 21) | (c >>> 11)) + t) | 0;
      into[k] = normalQuantile(((t >>> 0) + 0.5) / 4_294_967_296);
    }
    this.#a = a;
    this.#b = b;
    this.#c = c;
    this.#d = d;
  }
}

/** The stream of one purpose: `index` tells channels or parts of the same purpose apart. Seed and index count as u32. */
export const stream = (seed: number, name: string, index: number): Stream => new Stream(seed, name, index);

/** 32-bit finaliser with the multipliers 0x21f0aaad and 0x735a2d97 (hash-prospector, public domain). */
function mix(key: number): number {
  let z = key;
  z = Math.imul(z ^ (z >>> 16), 0x21f0aaad);
  z = Math.imul(z ^ (z >>> 15), 0x735a2d97);
  return z ^ (z >>> 15);
}

/** FNV-1a, 32 bit, over the UTF-16 code units of a name; names are ASCII. */
function fnv1a(name: string): number {
  let hash = 0x811c9dc5 | 0;
  for (let k = 0; k < name.length; k++) hash = Math.imul(hash ^ name.charCodeAt(k), 0x01000193);
  return hash;
}

/**
 * Standard normal quantile of a probability in 0 … 1, relative error about 1e-16.
 * Wichura, Algorithm AS 241 (PPND16), Applied Statistics 37 (1988) 477-484.
 */
export function normalQuantile(p: number): number {
  const q = p - 0.5;
  if (q >= -0.425 && q <= 0.425) {
    const r = 0.180625 - q * q;
    return (
      (q *
        (((((((2509.0809287301227 * r + 33430.57558358813) * r + 67265.7709270087) * r + 45921.95393154987) * r +
          13731.69376550946) *
          r +
          1971.5909503065513) *
          r +
          133.14166789178438) *
          r +
          3.3871328727963665)) /
      (((((((5226.495278852854 * r + 28729.085735721943) * r + 39307.89580009271) * r + 21213.794301586597) * r +
        5394.196021424751) *
        r +
        687.1870074920579) *
        r +
        42.31333070160091) *
        r +
        1)
    );
  }
  const tail = Math.sqrt(-Math.log(q < 0 ? p : 1 - p));
  const z = tail <= 5 ? nearTail(tail - 1.6) : farTail(tail - 5);
  return q < 0 ? -z : z;
}

const nearTail = (r: number): number =>
  (((((((0.0007745450142783414 * r + 0.022723844989269184) * r + 0.2417807251774506) * r + 1.2704582524523684) * r +
    3.6478483247632045) *
    r +
    5.769497221460691) *
    r +
    4.630337846156546) *
    r +
    1.4234371107496835) /
  (((((((1.0507500716444169e-9 * r + 0.0005475938084995345) * r + 0.015198666563616457) * r + 0.14810397642748008) * r +
    0.6897673349851) *
    r +
    1.6763848301838038) *
    r +
    2.053191626637759) *
    r +
    1);

const farTail = (r: number): number =>
  (((((((2.0103343992922881e-7 * r + 2.7115555687434876e-5) * r + 0.0012426609473880784) * r + 0.026532189526576124) *
    r +
    0.29656057182850487) *
    r +
    1.7848265399172913) *
    r +
    5.463784911164114) *
    r +
    6.657904643501103) /
  (((((((2.0442631033899397e-15 * r + 1.421511758316446e-7) * r + 1.8463183175100548e-5) * r + 0.0007868691311456133) *
    r +
    0.014875361290850615) *
    r +
    0.1369298809227358) *
    r +
    0.599832206555888) *
    r +
    1);
