import type { TransferFunction } from '../profile/schema.ts';
import { pressureFrom } from '../profile/transfer.ts';
import type { NestSamples } from '../rig/port.ts';
import type { PointAperture } from './aperture.ts';
import { LagByAreas } from './lag.ts';

/** The lag of one nest's part over the move to one point. */
export class NestLag {
  readonly #transfer: TransferFunction;
  readonly #lag: LagByAreas;
  readonly #stepMs: number;
  #samples = 0;
  #end = { outputKpa: 0, errorKpa: 0, scatterKpa: 0, samples: 1 };

  /** `startKpa`: the output read as a pressure before the move. */
  constructor(transfer: TransferFunction, sampleHz: number, startKpa: number) {
    this.#transfer = transfer;
    this.#stepMs = 1000 / sampleHz;
    this.#lag = new LagByAreas(startKpa, this.#stepMs);
  }

  take(samples: NestSamples): void {
    for (let i = 0; i < samples.outputV.length; i += 1) {
      this.#samples += 1;
      this.#lag.add(
        samples.referenceKpaAbs[i] ?? 0,
        pressureFrom(this.#transfer, samples.outputV[i] ?? 0, samples.supplyV),
      );
    }
  }

  settle(aperture: PointAperture): void {
    const { outputKpa } = aperture;
    const errorKpa = outputKpa - aperture.referenceKpaAbs.mean;
    this.#end = { outputKpa, errorKpa, scatterKpa: aperture.scatterKpa, samples: aperture.outputV.n };
  }

  finish(): { lagMs: number; travelKpa: number; noiseMs: number } {
    const { outputKpa, errorKpa, scatterKpa, samples } = this.#end;
    const { lagMs, travelKpa } = this.#lag.finish(outputKpa, errorKpa);
    // The area's own scatter, and that of the settled error which is taken off over the whole move.
    const spread = Math.hypot(Math.sqrt(this.#samples), this.#samples / Math.sqrt(samples));
    const noiseMs = Math.abs((scatterKpa * this.#stepMs * spread) / travelKpa);
    return { lagMs, travelKpa, noiseMs };
  }
}
