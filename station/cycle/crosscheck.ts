import { StationFault } from '../faults.ts';
import type { ProfileContent } from '../profile/schema.ts';
import type { SampleBlock } from '../rig/port.ts';
import type { Instruments } from '../rig/revision.ts';
import { Mean } from './means.ts';
import type { Test } from './test.ts';
import { SUPPLY_RELATIVE } from './watch.ts';

/** How many standard uncertainties of their difference two instruments may be apart. */
const APART = 3;
/** Gas on its way through an open valve, kPa: what a leaking part may hold between two points of the gas. */
const FLOW_KPA = 0.02;

/** Every instrument on the gas, averaged over one stretch of the cycle. */
export class Gathering {
  readonly barometer = new Mean();
  readonly controller = new Mean();
  readonly references: Mean[];
  readonly outputs: Mean[];

  constructor(nests: number) {
    this.references = Array.from({ length: nests }, () => new Mean());
    this.outputs = Array.from({ length: nests }, () => new Mean());
  }

  take(block: SampleBlock): void {
    this.barometer.add(block.barometerKpaAbs);
    this.controller.addAll(block.controllerKpaAbs);
    for (let nest = 0; nest < block.nests.length; nest += 1) {
      const samples = block.nests[nest];
      if (samples === undefined) continue;
      this.references[nest]?.addAll(samples.referenceKpaAbs);
      this.outputs[nest]?.addAll(samples.outputV);
    }
  }
}

interface Instrument {
  readonly name: string;
  readonly mean: Mean;
  readonly u: number;
}

/** Throws `instrument-disagrees` when two instruments on the same gas are more than 3 u of their difference apart. */
function compare(one: Instrument, other: Instrument, nest?: number): void {
  const u = Math.hypot(one.mean.measured(one.u).u, other.mean.measured(other.u).u);
  const apartKpa = one.mean.mean - other.mean.mean;
  if (Math.abs(apartKpa) <= APART * u + FLOW_KPA) return;
  const facts = { instrument: one.name, against: other.name, apartKpa, allowedKpa: APART * u + FLOW_KPA };
  throw new StationFault('instrument-disagrees', nest === undefined ? { facts } : { nest, facts });
}

const reference = (gathering: Gathering, nest: number, instruments: Instruments): Instrument => ({
  name: `reference ${nest + 1}`,
  mean: gathering.references[nest] ?? new Mean(),
  u: instruments.referenceKpa,
});

/** While vented: barometer against the controller and every nest's reference. */
export function compareVented(test: Test, gathering: Gathering): void {
  const { instruments } = test;
  const barometer = { name: 'barometer', mean: gathering.barometer, u: instruments.barometerKpa };
  compare({ name: 'controller', mean: gathering.controller, u: instruments.controllerKpa }, barometer);
  for (let nest = 0; nest < gathering.references.length; nest += 1) {
    compare(reference(gathering, nest, instruments), barometer, nest);
  }
}

/** While valves are open: each reference against the controller. Two references are then at most twice that apart. */
export function compareOpen(test: Test, gathering: Gathering, nests: readonly number[]): void {
  const { instruments } = test;
  const controller = { name: 'controller', mean: gathering.controller, u: instruments.controllerKpa };
  for (const nest of nests) compare(reference(gathering, nest, instruments), controller, nest);
  for (const nest of nests) {
    for (const other of nests) {
      if (other > nest)
        compare(reference(gathering, nest, instruments), reference(gathering, other, instruments), nest);
    }
  }
}

/** Without supply no output may be read: throws `output-meter-off` beyond 3 u of the meter's zero. */
export function checkOutputZero(test: Test, gathering: Gathering): void {
  for (let nest = 0; nest < gathering.outputs.length; nest += 1) {
    const zero = (gathering.outputs[nest] ?? new Mean()).measured(test.instruments.outputV);
    if (Math.abs(zero.value) > APART * zero.u) {
      throw new StationFault('output-meter-off', { nest, facts: { readV: zero.value, allowedV: APART * zero.u } });
    }
  }
}

/**
 * Smallest size of each instrument's error that a cycle finds for certain: what is allowed, and 3 u more for what the
 * two instruments may already be apart the other way. A drift counts with what it has come to by the vent.
 */
export function smallestFound(
  instruments: Instruments,
  profile: ProfileContent,
): { instrument: string; size: number; unit: string }[] {
  const { referenceKpa, controllerKpa, barometerKpa, outputV } = instruments;
  const apart = (...u: number[]): number => 2 * APART * Math.hypot(...u) + FLOW_KPA;
  const reference = Math.min(apart(referenceKpa, barometerKpa), apart(referenceKpa, controllerKpa));
  const controller = Math.min(apart(controllerKpa, barometerKpa), apart(controllerKpa, referenceKpa));
  return [
    { instrument: 'reference', size: reference, unit: 'kPa' },
    { instrument: 'controller', size: controller, unit: 'kPa' },
    { instrument: 'barometer', size: apart(barometerKpa, referenceKpa), unit: 'kPa' },
    { instrument: 'output meter zero', size: 2 * APART * outputV, unit: 'V' },
    { instrument: 'supply readback', size: 2 * SUPPLY_RELATIVE * profile.supply.nominalV, unit: 'V' },
  ];
}
