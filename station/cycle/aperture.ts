import { pressureFrom } from '../profile/transfer.ts';
import type { TransferFunction } from '../profile/schema.ts';
import type { NestSamples } from '../rig/port.ts';
import { SlopeFit } from './leak.ts';
import { Mean } from './means.ts';

/** The channels of one nest gathered over an aperture, output and reference sample by sample. */
export class NestAperture {
  readonly outputV = new Mean();
  readonly supplyV = new Mean();
  readonly referenceKpaAbs = new Mean();
  readonly supplyMa = new Mean();
  readonly partC = new Mean();

  take(samples: NestSamples): void {
    this.outputV.addAll(samples.outputV);
    this.supplyV.add(samples.supplyV);
    this.referenceKpaAbs.addAll(samples.referenceKpaAbs);
    this.supplyMa.add(samples.supplyMa);
    this.partC.add(samples.partC);
  }
}

/** Scatter of the output about the reference, gathered over all points: kPa squared and degrees of freedom. */
export interface Scatter {
  squares: number;
  freedom: number;
}

/** One nest's aperture: the means, the pressure's slope, and the output's error read as a pressure in two halves. */
export class PointAperture extends NestAperture {
  readonly pressure = new SlopeFit();
  readonly #transfer: TransferFunction;
  readonly #halves = [new SlopeFit(), new SlopeFit()] as const;
  readonly #halfCount: number;
  #count = 0;
  readonly #stepS: number;

  constructor(transfer: TransferFunction, sampleHz: number, apertureMs: number) {
    super();
    this.#transfer = transfer;
    this.#stepS = 1 / sampleHz;
    this.#halfCount = Math.floor((apertureMs * sampleHz) / 2000);
  }

  override take(samples: NestSamples): void {
    super.take(samples);
    const { supplyV } = samples;
    for (let i = 0; i < samples.outputV.length; i += 1) {
      const reference = samples.referenceKpaAbs[i] ?? 0;
      const error = pressureFrom(this.#transfer, samples.outputV[i] ?? 0, supplyV) - reference;
      this.#halves[this.#count < this.#halfCount ? 0 : 1].add(this.#count * this.#stepS, error);
      this.pressure.add(this.#count * this.#stepS, reference);
      this.#count += 1;
    }
  }

  /** The mean output read as a pressure, kPa. */
  get outputKpa(): number {
    return pressureFrom(this.#transfer, this.outputV.mean, this.supplyV.mean);
  }

  /** How far the error moves between the middles of the two halves, kPa. */
  get driftKpa(): number {
    const [early, late] = this.#halves;
    return early.n === 0 || late.n === 0 ? 0 : late.mean - early.mean;
  }

  /** Scatter about a line in each half: an output on its way to somewhere is not noisy for that. */
  addScatter(scatter: Scatter): void {
    for (const half of this.#halves) {
      if (half.n < 3) continue;
      scatter.squares += half.squares;
      scatter.freedom += half.n - 2;
    }
  }

  /** Standard deviation of a single error, kPa. */
  get scatterKpa(): number {
    const scatter = { squares: 0, freedom: 0 };
    this.addScatter(scatter);
    return scatter.freedom === 0 ? 0 : Math.sqrt(scatter.squares / scatter.freedom);
  }
}
