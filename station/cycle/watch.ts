import { StationFault } from '../faults.ts';
import type { SampleBlock } from '../rig/port.ts';

/** Samples in a row with the very same value that no noisy instrument makes. */
const STUCK_SAMPLES = 60;
/** Farthest a supply readback may be from its setting: sources of this kind are set within 1 %. */
export const SUPPLY_RELATIVE = 0.02;

/** How long one channel has been repeating itself. */
interface Run {
  value: number;
  length: number;
}

/**
 * What is looked at in every block of a cycle, whatever the phase: no channel silent or repeating itself, no pressure
 * above the ceiling, each supply where it was set. Throws the StationFault of what it finds.
 */
export class Watch {
  readonly #ceilingKpaAbs: number;
  readonly #supplySetV: (number | null)[];
  readonly #runs: Run[] = [];

  constructor(nests: number, ceilingKpaAbs: number) {
    this.#ceilingKpaAbs = ceilingKpaAbs;
    this.#supplySetV = Array.from({ length: nests }, () => null);
    for (let channel = 0; channel < 1 + 3 * nests; channel += 1) this.#runs.push({ value: Number.NaN, length: 0 });
  }

  /** From now on the nest's supply readback must be at `volts`; null expects nothing of it. */
  expectSupply(nest: number, volts: number | null): void {
    this.#supplySetV[nest] = volts;
  }

  look(block: SampleBlock): void {
    if (Number.isNaN(block.barometerKpaAbs)) throw silent('barometer');
    if (Number.isNaN(block.roomC)) throw silent('room thermometer');
    this.#lookAtPressure(block.controllerKpaAbs, 0, 'controller');
    for (let nest = 0; nest < block.nests.length; nest += 1) {
      const samples = block.nests[nest];
      if (samples === undefined) continue;
      if (Number.isNaN(samples.partC)) throw silent('part thermometer', nest);
      if (Number.isNaN(samples.supplyMa)) throw silent('current meter', nest);
      const channel = 1 + 3 * nest;
      this.#lookAtPressure(samples.referenceKpaAbs, channel, 'reference', nest);
      this.#lookAtRun(samples.outputV, channel + 1, 'output meter', nest);
      this.#lookAtRepeat(samples.supplyV, block.count, channel + 2, nest);
      this.#lookAtSupply(samples.supplyV, nest);
    }
  }

  #lookAtPressure(samples: Float64Array, channel: number, instrument: string, nest?: number): void {
    this.#lookAtRun(samples, channel, instrument, nest);
    for (let i = 0; i < samples.length; i += 1) {
      const kPaAbs = samples[i] ?? 0;
      if (kPaAbs > this.#ceilingKpaAbs) {
        throw fault('over-pressure', nest, { instrument, measuredKpaAbs: kPaAbs, ceilingKpaAbs: this.#ceilingKpaAbs });
      }
    }
  }

  /** Walks back from the end of the block: on a living channel the second sample already differs. */
  #lookAtRun(samples: Float64Array, channel: number, instrument: string, nest?: number): void {
    const run = this.#runs[channel];
    if (run === undefined) return;
    const last = samples[samples.length - 1] ?? Number.NaN;
    if (Number.isNaN(last)) throw silent(instrument, nest);
    let equal = 1;
    while (equal < samples.length && samples[samples.length - 1 - equal] === last) equal += 1;
    run.length = equal === samples.length && run.value === last ? run.length + equal : equal;
    run.value = last;
    if (run.length >= STUCK_SAMPLES) throw fault('instrument-stuck', nest, { instrument, value: last });
  }

  /** The same for a value that stands for a whole block. */
  #lookAtRepeat(value: number, count: number, channel: number, nest: number): void {
    const run = this.#runs[channel];
    if (run === undefined) return;
    if (Number.isNaN(value)) throw silent('supply readback', nest);
    run.length = run.value === value ? run.length + count : count;
    run.value = value;
    if (run.length >= STUCK_SAMPLES) throw fault('instrument-stuck', nest, { instrument: 'supply readback', value });
  }

  #lookAtSupply(readV: number, nest: number): void {
    const setV = this.#supplySetV[nest];
    if (setV === null || setV === undefined) return;
    if (Math.abs(readV - setV) > SUPPLY_RELATIVE * setV) throw fault('supply-off', nest, { setV, readV });
  }
}

const silent = (instrument: string, nest?: number): StationFault => fault('instrument-silent', nest, { instrument });

function fault(
  code: 'over-pressure' | 'instrument-stuck' | 'instrument-silent' | 'supply-off',
  nest: number | undefined,
  facts: Record<string, string | number>,
): StationFault {
  return nest === undefined ? new StationFault(code, { facts }) : new StationFault(code, { nest, facts });
}
