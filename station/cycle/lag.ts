/**
 * Lag by areas: for a first-order lag and any path of the pressure,
 * tau = ∫ (P + e_end - P_out) dt / (P_out,end - P_out,start),
 * where P_out is the output read as a pressure and e_end its settled error. It sees what a settled reading cannot.
 * The result is the part's lag less that of the reference and less the skew between the two.
 */
export class LagByAreas {
  readonly #stepS: number;
  readonly #startKpa: number;
  #samples = 0;
  #area = 0;

  /** `startKpa`: the output read as a pressure before the move; `stepMs` between samples. */
  constructor(startKpa: number, stepMs: number) {
    this.#startKpa = startKpa;
    this.#stepS = stepMs / 1000;
  }

  /** One instant of the move: the reference and the output read as a pressure, kPa. */
  add(referenceKpa: number, outputKpa: number): void {
    this.#samples += 1;
    this.#area += (referenceKpa - outputKpa) * this.#stepS;
  }

  /** `endKpa`: the output read as a pressure after the move; `endErrorKpa`: it less the reference. Lag in ms. */
  finish(endKpa: number, endErrorKpa: number): { lagMs: number; travelKpa: number } {
    const travelKpa = endKpa - this.#startKpa;
    const area = this.#area + endErrorKpa * this.#samples * this.#stepS;
    return { lagMs: (1000 * area) / travelKpa, travelKpa };
  }
}
