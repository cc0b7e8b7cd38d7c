import type { Suffering, TimedFault } from '../../station/host/demo.ts';
import { type PhaseId, phasesOf, type Plan } from '../../station/profile/plan.ts';
import { type FaultText, PART_FAULTS, type PartFaultKind } from '../../station/rig/simulated/part-fault.ts';
import { RIG_FAULTS, type RigFaultKind } from '../../station/rig/simulated/rig-fault.ts';
import { WrongUse } from './exit.ts';

const PHASES = ['ready', 'clamp', 'contact', 'ambient-check', 'fill', 'stabilise', 'measure', 'vent'] as const;

/** Reads `1:leak=2.5,offset=1.2`. Throws WrongUse that says what there is. */
export function readSuffering(text: string): Suffering[] {
  const match = /^(\d+):(.+)$/.exec(text);
  if (match === null) throw new WrongUse(`"${text}" is not NEST:FAULT[=SIZE][,FAULT…], as in 1:leak=2.5`);
  const nest = Number(match[1]) - 1;
  return (match[2] ?? '').split(',').map((each) => {
    const [name = '', value] = each.split('=');
    if (name === 'empty') return { nest, what: 'empty', size: 0, partNumber: null };
    if (name === 'other-class') return { nest, what: name, size: 0, partNumber: value ?? '' };
    if (!isPartFault(name))
      throw new WrongUse(`a part cannot suffer from "${name}"; known are ${names(PART_FAULTS)}, empty`);
    return { nest, what: name, size: sizeOf(name, value, PART_FAULTS[name]), partNumber: null };
  });
}

/** Reads `supply-lost@leak-hold`, `reference-drift:1=50@measure+200`. Throws WrongUse that says what there is. */
export function readTimedFault(text: string): TimedFault {
  const match = /^([a-z-]+)(?::(\d+))?(?:=([^@]+))?@([a-z0-9:-]+?)(?:\+(\d+))?$/.exec(text);
  const [, what = '', nest, size, phase = '', after] = match ?? [];
  if (match === null)
    throw new WrongUse(`"${text}" is not FAULT[:NEST][=SIZE]@PHASE[+MS], as in supply-lost@leak-hold`);
  if (!isRigFault(what)) throw new WrongUse(`the rig cannot suffer from "${what}"; known are ${names(RIG_FAULTS)}`);
  if (nest !== undefined && !RIG_FAULTS[what].nest) throw new WrongUse(`${what} strikes the whole rig, not one nest`);
  return {
    phase: phaseOf(phase),
    afterMs: Number(after ?? 0),
    fault: {
      where: nest === undefined ? {} : { nest: Number(nest) - 1 },
      what,
      size: sizeOf(what, size, RIG_FAULTS[what]),
    },
  };
}

/** A phase as people write it: `leak-hold` is its stabilising, anything that is no other phase is a pressure point. */
function phaseOf(text: string): PhaseId {
  if (text === 'leak-hold') return 'stabilise';
  const phase = PHASES.find((known) => known === text);
  return phase ?? `point:${text.replace(/^point:/, '')}`;
}

/** Throws WrongUse when a fault names a phase or a nest that the plan does not have. */
export function checkTimed({ phase, fault }: TimedFault, plan: Plan): void {
  const phases = phasesOf(plan);
  if (!phases.includes(phase)) {
    const known = phases.map((each) => each.replace('point:', '')).join(', ');
    throw new WrongUse(`there is no phase ${phase.replace('point:', '')}; there are ${known}, leak-hold`);
  }
  const { nest } = fault.where;
  const { nests } = plan.rig.revision;
  if (nest !== undefined && (nest < 0 || nest >= nests))
    throw new WrongUse(`there is no nest ${nest + 1}; nests are 1 to ${nests}`);
}

function sizeOf(what: string, text: string | undefined, fault: FaultText): number {
  if (fault.unit === null) {
    if (text !== undefined) throw new WrongUse(`${what} has no size`);
    return 0;
  }
  const { unit, from, to } = fault;
  const size = Number(text);
  if (text === undefined || text === '' || !Number.isFinite(size)) {
    throw new WrongUse(`${what} needs a size in ${unit}, as in ${what}=1`);
  }
  if (size < from || size > to)
    throw new WrongUse(`${what}=${text}: sizes from ${from} to ${to} ${unit} can be simulated`);
  return size;
}

const isPartFault = (name: string): name is PartFaultKind => Object.hasOwn(PART_FAULTS, name);
const isRigFault = (name: string): name is RigFaultKind => Object.hasOwn(RIG_FAULTS, name);
const names = (table: object): string => Object.keys(table).join(', ');

/** The faults there are, a line each, for the help. */
export function sufferingHelp(): string {
  const row = (name: string, unit: string | null, says: string): string =>
    `  ${`${name}${unit === null ? '' : `=<${unit}>`}`.padEnd(34)}${says}`;
  return [
    'What a part can suffer from (--nest 1:leak=2.5,offset=1.2):',
    ...Object.entries(PART_FAULTS).map(([name, { unit, says }]) =>
      row(name, name === 'other-class' ? 'part number' : unit, says),
    ),
    row('empty', null, 'No part and no serial in this nest'),
    '',
    `What the rig can suffer from (--rig supply-lost@leak-hold, --rig reference-drift:1=50@measure+200):`,
    `  phases: ${PHASES.join(', ')}, leak-hold, and the ids of the profile's pressure points; +MS waits that long`,
    ...Object.entries(RIG_FAULTS).map(([name, { unit, nest, says }]) =>
      row(`${name}${nest ? '[:nest]' : ''}`, unit, says),
    ),
  ].join('\n');
}
