import type { TransferFunction } from '../profile/schema.ts';
import { pressureFrom } from '../profile/transfer.ts';
import type { NestSamples } from '../rig/port.ts';
import type { PointAperture } from './aperture.ts';
import { LagByAreas } from './lag.ts';

/** More drift than this within the aperture, kPa beyond eight standard errors, and the output has not settled. */
const SETTLED_KPA = 0.035;

/**
 * The lag of one nest's part over the move to one point: by areas when the output has settled at the end. When it has
 * not, the areas have no end to be taken from and may even turn round; the first-order law itself, error over its own
 * slope, then gives the lag where it is the larger.
 */
export class NestLag {
  readonly #transfer: TransferFunction;
  readonly #lag: LagByAreas;
  readonly #stepMs: number;
  #samples = 0;
  #end = { outputKpa: 0, errorKpa: 0, driftKpa: 0, scatterKpa: 0, samples: 1 };

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
    const { driftKpa, scatterKpa } = aperture;
    this.#end = { outputKpa, errorKpa, driftKpa, scatterKpa, samples: aperture.outputV.n };
  }

  finish(): { lagMs: number; travelKpa: number; noiseMs: number } {
    const { outputKpa, errorKpa, driftKpa, scatterKpa, samples } = this.#end;
    const { lagMs, travelKpa } = this.#lag.finish(outputKpa, errorKpa);
    const driftU = (2 * scatterKpa) / Math.sqrt(samples);
    if (Math.abs(driftKpa) > 8 * driftU + SETTLED_KPA) {
      const halfMs = (samples * this.#stepMs) / 2;
      const lawMs = Math.abs(errorKpa / driftKpa) * halfMs;
      // A part's own error may hide in what has not settled and shorten the one; the areas then still hold the lag.
      const unsettledMs = Math.max(lawMs, lagMs);
      return { lagMs: unsettledMs, travelKpa, noiseMs: (unsettledMs * driftU) / Math.abs(driftKpa) };
    }
    // The area's own scatter, and that of the settled error which is taken off over the whole move.
    const spread = Math.hypot(Math.sqrt(this.#samples), this.#samples / Math.sqrt(samples));
    const noiseMs = Math.abs((scatterKpa * this.#stepMs * spread) / travelKpa);
    return { lagMs, travelKpa, noiseMs };
  }
}
