import { unreachable } from '../../assert.ts';
import type { OutputLoad } from '../port.ts';
import { SOURCE_OHM } from './part.ts';
import type { PartTruth } from './part.ts';
import { characteristicOf, loaded } from './sensor.ts';

/** Below this supply, in V, a part does nothing. Engineering assumption. */
const ALIVE_V = 1;
/** What an output stage drives at most into a short, mA. Engineering assumption. */
const DRIVE_MA = 0.5;
/** What a regulated part needs between its supply and its output, V. Engineering assumption. */
const HEADROOM_V = 0.1;

/**
 * A part in its circuit, ready to be evaluated sample by sample:
 * V = gain × scale × clip(c0 + c1 p + c2 p², low, high) + shift, p in kPa abs. Where the output does not follow the
 * pressure, gain is 0 and shift is the voltage.
 */
export interface Circuit {
  readonly c0: number;
  readonly c1: number;
  readonly c2: number;
  readonly low: number;
  readonly high: number;
  readonly gain: number;
  readonly shift: number;
  /** Noise of the output itself, V per sample. */
  readonly noiseV: number;
  /** Supply current in mA without what the load takes: that is |V - the load's rail| over its resistance. */
  readonly supplyMa: number;
}

/** The state of a nest's contacts that its circuit depends on. */
export interface Contacts {
  /** The supply at the nest's pins, V. */
  readonly supplyV: number;
  readonly touching: boolean;
  readonly contactOhm: number;
  readonly load: OutputLoad;
}

/** The circuit of a part (or of none) at a temperature in °C. */
export function circuitOf(part: PartTruth | null, contacts: Contacts, partC: number): Circuit {
  const { supplyV, load } = contacts;
  const rail = load.to === 'supply' ? supplyV : 0;
  if (part === null || !contacts.touching || supplyV < ALIVE_V) return fixed(rail, 0);
  switch (part.wiring) {
    case 'supply-open':
      return fixed(rail, 0);
    case 'output-open':
      return fixed(rail, part.supplyMa);
    case 'ground-open':
      // The part's current has no way out but the output: it lifts the load to the supply.
      return fixed(loaded(supplyV, SOURCE_OHM, load, supplyV), 0);
    case 'output-short-to-ground':
      return fixed(0, part.supplyMa + DRIVE_MA);
    case 'output-short-to-supply':
      return fixed(supplyV, part.supplyMa + DRIVE_MA);
    case 'whole':
      return whole(part, contacts, partC);
    default:
      return unreachable(part.wiring);
  }
}

const fixed = (volts: number, supplyMa: number): Circuit => ({
  c0: 0,
  c1: 0,
  c2: 0,
  low: 0,
  high: 0,
  gain: 0,
  shift: volts,
  noiseV: 0,
  supplyMa,
});

/** A part is trimmed where its supply may be in production, 1 % about the nominal one: nothing is off there. */
const TRIMMED_WITHIN = 0.01;

/**
 * What a supply in V makes of the output besides what the part's kind says: 1 where the part was trimmed; beyond, it runs
 * with the supply. Engineering assumption.
 */
export function supplyFactor({ model, supplyEffect }: PartTruth, supplyV: number): number {
  const off = supplyV / model.nominalV - 1;
  const beyond = Math.max(0, Math.abs(off) - TRIMMED_WITHIN) * Math.sign(off);
  return 1 + supplyEffect * beyond;
}

function whole(part: PartTruth, contacts: Contacts, partC: number): Circuit {
  const { model } = part;
  const { supplyV, load } = contacts;
  const ratiometric = model.transfer.kind === 'ratiometric';
  const scale = ratiometric ? supplyV : 1;
  const seriesOhm = part.sourceOhm + contacts.contactOhm;
  const share = load.ohm / (load.ohm + seriesOhm);
  const rail = load.to === 'supply' ? supplyV : 0;
  const trimRail = model.load.to === 'supply' ? supplyV : 0;
  // The part was trimmed to its characteristic at its own load; the source behind it is what any other load sees.
  const gain = share * (1 + SOURCE_OHM / model.load.ohm);
  const shift = rail * (1 - share) - share * trimRail * (SOURCE_OHM / model.load.ohm);
  const stuckAt = part.stuckAt === null || ratiometric ? part.stuckAt : part.stuckAt * supplyV;
  const highest = ratiometric ? model.clamps.high : Math.min(model.clamps.high, supplyV - HEADROOM_V);
  const { c0, c1, c2 } = characteristicOf(part, partC);
  return {
    c0,
    c1,
    c2,
    low: stuckAt ?? Math.min(model.clamps.low, highest),
    high: stuckAt ?? highest,
    gain: gain * scale * supplyFactor(part, supplyV),
    shift,
    noiseV: ratiometric ? (part.noiseV * supplyV) / model.nominalV : part.noiseV,
    supplyMa: part.supplyMa,
  };
}
