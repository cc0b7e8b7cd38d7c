import { assert } from '../assert.ts';
import type { SampleBlock } from '../rig/port.ts';
import type { Measured } from '../units.ts';
import type { CycleEvent } from './event.ts';
import { flowFrom, SlopeFit } from './leak.ts';
import { Mean, meanOf } from './means.ts';
import type { Test } from './test.ts';

/** Share of its own size by which a leak that was not measured at rest may be off (engineering assumption). */
const ROUGH = 0.25;

/** How long something has been so without a break. */
class Lasting {
  #fromMs: number | null = null;

  /** Milliseconds for which it has been `so`, now included; 0 when it is not. */
  since(nowMs: number, so: boolean): number {
    if (!so) this.#fromMs = null;
    else this.#fromMs ??= nowMs;
    return this.#fromMs === null ? 0 : nowMs - this.#fromMs;
  }
}

/** One nest shut off under pressure: its course from isolation on, and the slope over the time it is measured. */
export class NestHold {
  readonly nest: number;
  /** Pressure less that of the first block, Pa, block by block. */
  readonly curvePa: number[] = [];
  readonly heldKpaAbs = new Mean();
  readonly grossMs = new Lasting();
  readonly followsMs = new Lasting();
  readonly #fit = new SlopeFit();
  /** Block means of the measurement with their times, for its two halves. */
  readonly #measured: { readonly tS: number; readonly kPaAbs: number }[] = [];
  #firstKpaAbs = 0;
  #nowKpaAbs = 0;
  #elapsedMs = 0;
  #measuring = false;

  constructor(nest: number) {
    this.nest = nest;
  }

  measure(): void {
    this.#measuring = true;
  }

  take(block: SampleBlock, sampleHz: number): void {
    const samples = block.nests[this.nest]?.referenceKpaAbs;
    assert(samples !== undefined, 'every nest is sampled');
    this.#nowKpaAbs = meanOf(samples);
    if (this.curvePa.length === 0) this.#firstKpaAbs = this.#nowKpaAbs;
    this.curvePa.push((this.#nowKpaAbs - this.#firstKpaAbs) * 1000);
    if (this.#measuring) {
      this.#measured.push({ tS: this.#elapsedMs / 1000, kPaAbs: this.#nowKpaAbs });
      for (let i = 0; i < samples.length; i += 1) {
        this.#fit.add((this.#elapsedMs + (i * 1000) / sampleHz) / 1000, samples[i] ?? 0);
        this.heldKpaAbs.add(samples[i] ?? 0);
      }
    }
    this.#elapsedMs += (block.count * 1000) / sampleHz;
  }

  /** Milliseconds since isolation. */
  get elapsedMs(): number {
    return this.#elapsedMs;
  }

  get nowKpaAbs(): number {
    return this.#nowKpaAbs;
  }

  /** Mean of the pressures at isolation and now, kPa absolute. */
  get halfWayKpaAbs(): number {
    return (this.#firstKpaAbs + this.#nowKpaAbs) / 2;
  }

  /** Pressure less that at isolation, Pa, now. */
  get changePa(): number {
    return this.curvePa[this.curvePa.length - 1] ?? 0;
  }

  /** Slopes of the first and the second half of the measurement, Pa/s. */
  get halvesPaPerS(): { early: number; late: number } {
    const half = Math.floor(this.#measured.length / 2);
    const slopeOf = (points: readonly { tS: number; kPaAbs: number }[]): number => {
      const fit = new SlopeFit();
      for (const { tS, kPaAbs } of points) fit.add(tS, kPaAbs);
      return fit.slope * 1000;
    };
    return { early: slopeOf(this.#measured.slice(0, half)), late: slopeOf(this.#measured.slice(half)) };
  }

  /** Slope while measuring, Pa/s; its noise is part of the spread of sealed holds. */
  get slopePaPerS(): number {
    return this.#fit.slope * 1000;
  }
}

/** A leak measured at the end of a full hold. */
export function measuredLeak(test: Test, hold: NestHold, fromMs: number): CycleEvent {
  const { sealedPaPerS } = test.known(hold.nest);
  const sealed = {
    value: sealedPaPerS.mean,
    // A new hold scatters as the sealed ones did, about a mean that is itself known from so many (JCGM 100 4.2.3).
    u: sealedPaPerS.sd * Math.sqrt(1 + 1 / sealedPaPerS.holds),
  };
  return leakReading(test, hold.nest, fromMs, {
    ended: 'measured',
    slopePaPerS: { value: hold.slopePaPerS, u: 0 },
    sealedPaPerS: sealed,
    heldKpaAbs: hold.heldKpaAbs.mean,
  });
}

/** A leak so large that the hold was cut short: known roughly, from the fall since isolation. */
export function grossLeak(test: Test, hold: NestHold, fromMs: number): CycleEvent {
  const seconds = hold.elapsedMs / 1000;
  const sealedPa = test.known(hold.nest).sealedCurvePa[hold.curvePa.length - 1] ?? 0;
  const slope = hold.changePa / seconds;
  return leakReading(test, hold.nest, fromMs, {
    ended: 'gross',
    slopePaPerS: { value: slope, u: ROUGH * Math.abs(slope - sealedPa / seconds) },
    sealedPaPerS: { value: sealedPa / seconds, u: 0 },
    heldKpaAbs: hold.halfWayKpaAbs,
  });
}

/** A leak through which the nest never took the pressure: known roughly, from the fall right after it was shut. */
export function refusedLeak(test: Test, hold: NestHold, fromMs: number, tookKpaAbs: number): CycleEvent {
  return leakReading(test, hold.nest, fromMs, {
    ended: 'refused',
    slopePaPerS: { value: hold.slopePaPerS, u: ROUGH * Math.abs(hold.slopePaPerS) },
    sealedPaPerS: { value: 0, u: 0 },
    heldKpaAbs: tookKpaAbs,
  });
}

function leakReading(
  test: Test,
  nest: number,
  fromMs: number,
  seen: { ended: 'measured' | 'gross' | 'refused'; slopePaPerS: Measured; sealedPaPerS: Measured; heldKpaAbs: number },
): CycleEvent {
  const { instruments } = test;
  const { volumeM3 } = test.known(nest);
  const { ended, slopePaPerS, sealedPaPerS, heldKpaAbs } = seen;
  return test.read(nest, 'leak-hold', fromMs, {
    kind: 'leak',
    flowPaM3PerS: flowFrom(slopePaPerS, sealedPaPerS, volumeM3),
    testKpaAbs: { value: heldKpaAbs, u: instruments.referenceKpa },
    ambientKpaAbs: test.barometerKpaAbs.measured(instruments.barometerKpa),
    gasC: test.roomC.measured(instruments.roomC),
    ended,
    slopePaPerS,
    sealedPaPerS,
    volumeM3,
  });
}
