import type { SampleBlock } from '../../station/rig/port.ts';
import { middlePart } from '../../station/rig/simulated/part.ts';
import type { PartModel, PartTruth } from '../../station/rig/simulated/part.ts';
import { SimulatedRig } from '../../station/rig/simulated/rig.ts';
import { defaultRig } from '../../station/rig/simulated/truth.ts';
import type { RigOptions, RigTruth } from '../../station/rig/simulated/truth.ts';
import { oneBar } from './parts.ts';
import { clamped, meanOf, pass } from './rig-contract.ts';

export const never = new AbortController().signal;

/** A rig without spread, middle parts in every nest, clamped and powered. */
export async function poweredRig(
  options: {
    rig?: Partial<RigOptions>;
    truth?: Partial<RigTruth>;
    parts?: readonly (PartTruth | null)[];
    model?: PartModel;
  } = {},
): Promise<SimulatedRig> {
  const model = options.model ?? oneBar;
  const rig = new SimulatedRig({ ...defaultRig({ nests: 2, ...options.rig }), ...options.truth });
  rig.loadParts(options.parts ?? rig.truth.nests.map(() => middlePart(model)));
  await rig.connectLoad(model.load, never);
  await clamped(rig);
  for (let n = 0; n < rig.abilities.nests; n++) await rig.supply(n, model.nominalV, never);
  await pass(rig, 200);
  return rig;
}

/** The means of one block of 20 ms: pressures in kPa abs, outputs and supplies in V, currents in mA. */
export interface Means {
  readonly controller: number;
  readonly barometer: number;
  readonly reference: readonly number[];
  readonly output: readonly number[];
  readonly supply: readonly number[];
  readonly mA: readonly number[];
}

export const meansOf = (block: SampleBlock): Means => ({
  controller: meanOf(block.controllerKpaAbs),
  barometer: block.barometerKpaAbs,
  reference: block.nests.map(({ referenceKpaAbs }) => meanOf(referenceKpaAbs)),
  output: block.nests.map(({ outputV }) => meanOf(outputV)),
  supply: block.nests.map(({ supplyV }) => supplyV),
  mA: block.nests.map(({ supplyMa }) => supplyMa),
});

/** Holds a pressure for a while and gives the means of the last 20 ms. */
export async function held(rig: SimulatedRig, kPaAbs: number, ms = 2000): Promise<Means> {
  await rig.setPressure(kPaAbs, never);
  return meansOf(await pass(rig, ms));
}

/** Standard deviation of single samples around their mean. */
export function scatterOf(values: Float64Array): number {
  const mean = meanOf(values);
  return Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1));
}
