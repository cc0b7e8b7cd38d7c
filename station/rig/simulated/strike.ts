import { unreachable } from '../../assert.ts';
import type { Instrument } from './instrument.ts';
import type { Machine, ValveFault } from './machine.ts';
import { VALVE } from './network.ts';
import type { RigFault } from './rig-fault.ts';

/** Makes a fault true from now on. */
export function strike(rig: Machine, fault: RigFault, nowMs: number): void {
  const { size, what } = fault;
  const nests = rig.nests.filter((_, n) => fault.where.nest === undefined || fault.where.nest === n);
  const { network, controller } = rig.plant;
  switch (what) {
    case 'guard-open':
      rig.guardShut = false;
      return;
    case 'stop-chain-open':
      rig.stopChainClosed = false;
      return;
    case 'air-lost':
      rig.airPresent = false;
      network.sourcePa[VALVE.supply] = network.ambientPa;
      return;
    case 'vacuum-lost':
      rig.vacuumPresent = false;
      network.sourcePa[VALVE.vacuum] = network.ambientPa;
      return;
    case 'clamp-jammed':
      rig.clampJammed = true;
      return;
    case 'supply-lost':
      for (const nest of nests) nest.supplyLost = true;
      return;
    case 'supply-readback-offset':
      for (const nest of nests) nest.readbackOffsetV = size;
      return;
    case 'reference-silent':
    case 'reference-stuck':
    case 'reference-drift':
    case 'reference-offset':
      for (const nest of nests)
        spoil(nest.reference, endOf(what), what === 'reference-offset' ? size * 1000 : size, nowMs);
      return;
    case 'controller-silent':
    case 'controller-stuck':
    case 'controller-drift':
    case 'controller-offset':
      if (what === 'controller-stuck') controller.stuck = true;
      else spoil(rig.controller, endOf(what), what === 'controller-offset' ? size * 1000 : size, nowMs);
      return;
    case 'barometer-silent':
    case 'barometer-offset':
      spoil(rig.barometer, endOf(what), size * 1000, nowMs);
      return;
    case 'output-silent':
    case 'output-stuck':
    case 'output-drift':
    case 'output-offset':
      for (const nest of nests) spoil(nest.output, endOf(what), size, nowMs);
      return;
    case 'isolation-stuck-open':
      hinder(rig, fault, 'stuck-open');
      return;
    case 'isolation-stuck-shut':
      hinder(rig, fault, 'stuck-shut');
      return;
    case 'isolation-silent':
      hinder(rig, fault, 'silent');
      return;
    case 'supply-valve-stuck-open':
      controller.forced[VALVE.supply] = 1;
      return;
    case 'exhaust-stuck-shut':
      controller.forced[VALVE.exhaust] = 0;
      return;
    case 'vacuum-valve-stuck-shut':
      controller.forced[VALVE.vacuum] = 0;
      return;
    case 'inlet-blocked':
      network.valveM3PerSPa[VALVE.supply] = 0;
      return;
    default:
      return unreachable(what);
  }
}

type Ending = 'silent' | 'stuck' | 'drift' | 'offset';
const endOf = (what: `${string}-${Ending}`): Ending => what.slice(what.lastIndexOf('-') + 1) as Ending;

function spoil(instrument: Instrument, how: Ending, size: number, nowMs: number): void {
  if (how === 'silent') instrument.silent = true;
  else if (how === 'stuck') instrument.stick();
  else if (how === 'drift') instrument.drift(size, nowMs);
  else instrument.offset = size;
}

function hinder(rig: Machine, fault: RigFault, how: Exclude<ValveFault, null>): void {
  for (let n = 0; n < rig.nests.length; n++) {
    if (fault.where.nest === undefined || fault.where.nest === n) rig.isolation[n] = how;
  }
  rig.obey();
}

/** Takes every fault off again: the maintenance has been. */
export function mend(rig: Machine): void {
  const { network, controller } = rig.plant;
  rig.guardShut = true;
  rig.stopChainClosed = true;
  rig.airPresent = true;
  rig.vacuumPresent = true;
  rig.clampJammed = false;
  network.sourcePa[VALVE.supply] = rig.truth.supplyPa;
  network.sourcePa[VALVE.vacuum] = rig.truth.vacuumPa;
  network.valveM3PerSPa[VALVE.supply] = rig.truth.supplyValve;
  controller.forced.fill(Number.NaN);
  controller.stuck = false;
  rig.isolation.fill(null);
  rig.obey();
  rig.controller.mend();
  rig.barometer.mend();
  for (const nest of rig.nests) {
    nest.supplyLost = false;
    nest.readbackOffsetV = 0;
    nest.reference.mend();
    nest.output.mend();
  }
}
