import { StationFault } from '../faults.ts';
import type { SupplyStep, TakenPoint } from '../profile/audit-points.ts';
import type { CycleEvent } from './event.ts';
import { outputReading } from './point.ts';
import type { Test } from './test.ts';

/**
 * The output once more at another supply, while the pressure stands where it was just read. A supply that is not within
 * what the parts are allowed is the station's fault, `supply-off`. Whatever ends the cycle here ends as everywhere: `safe()`
 * takes every supply off.
 */
export async function* supplyStep(test: Test, point: TakenPoint, step: SupplyStep): AsyncGenerator<CycleEvent, void> {
  yield test.enter(`point:${point.id}`);
  await switchSupply(test, step.setV, step.settleMs);
  yield* outputReading(test, point.id, point.apertureMs);
}

/** Back to the nominal supply, before anything else is asked of the parts. */
export const nominalSupply = (test: Test, settleMs: number): Promise<void> =>
  switchSupply(test, test.profile.supply.nominalV, settleMs);

async function switchSupply(test: Test, setV: number, settleMs: number): Promise<void> {
  const { rig, stop, sampling, watch, profile } = test;
  for (const nest of test.underTest) {
    watch.expectSupply(nest, null);
    await rig.supply(nest, setV, stop);
  }
  const readV = new Map<number, number>();
  await sampling.pass(settleMs, (block) => {
    for (const nest of test.underTest) readV.set(nest, block.nests[nest]?.supplyV ?? Number.NaN);
  });
  const { low, high } = profile.supply.allowedV;
  for (const [nest, volts] of readV) {
    watch.expectSupply(nest, setV);
    if (!(volts >= low && volts <= high)) throw new StationFault('supply-off', { nest, facts: { setV, readV: volts } });
  }
}
