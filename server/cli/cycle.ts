import { existsSync } from 'node:fs';
import type { Load } from '../../station/cycle/event.ts';
import { smallestFound } from '../../station/cycle/crosscheck.ts';
import { systemClock } from '../../station/clock.ts';
import { drawsOf, partsFor, strikeIn, type Suffering, type TimedFault } from '../../station/host/demo.ts';
import { StationFault } from '../../station/faults.ts';
import { makePlan } from '../../station/profile/plan.ts';
import type { ConditionId, CycleKind, ProfileContent, ProfileRevision } from '../../station/profile/schema.ts';
import type { RigRevision } from '../../station/rig/revision.ts';
import { english } from '../../station/words/en.ts';
import { PROGRAM } from '../program.ts';
import { runAndKeep } from '../records/keep.ts';
import { StoreError } from '../store/errors.ts';
import { openReader } from '../store/reader.ts';
import { openStore, type Store } from '../store/store.ts';
import { account } from './account.ts';
import { EXIT, exitOf } from './exit.ts';
import { exportOf } from '../records/export.ts';
import { plain } from './number.ts';
import type { Out } from './out.ts';
import { ledgerIn, profileOf, shippedProfiles } from './setting.ts';
import {
  firstRevision,
  isCharacterised,
  nextRevision,
  type SimulatedChoice,
  simulatedProofs,
  simulatedRig,
  stationName,
} from '../../station/host/simulated-station.ts';
import { checkTimed } from './suffering.ts';

export interface CycleOptions {
  readonly seed: number;
  readonly rigSeed: number;
  readonly nests: number;
  readonly nest: readonly Suffering[];
  readonly rig: readonly TimedFault[];
  readonly barometer: number | null;
  readonly kind: CycleKind;
  readonly condition: ConditionId;
  readonly lot: string;
  readonly actor: string;
  readonly due: readonly string[];
  readonly keep: boolean;
  readonly data: string;
  readonly profiles: string | null;
  readonly sums: boolean;
  readonly json: boolean;
}

const actorOf = (name: string) => ({ name, role: 'test engineer', proof: 'stated' as const });

/** `barolot cycle`: one cycle of one part number on the simulated rig, kept in the ledger when asked. */
export async function cycle(partNumber: string, options: CycleOptions, out: Out, stop: AbortSignal): Promise<number> {
  const { profile, plant } = profileOf(partNumber, options.profiles ?? shippedProfiles());
  const store = options.keep ? openStore(ledgerIn(options.data), { clock: systemClock, program: PROGRAM }) : null;
  try {
    for (const record of store?.closeInterrupted() ?? []) {
      out.aside(`Cycle ${record.circumstances.cycle} had been cut off: its parts are not judged.`);
    }
    const choice = { nests: options.nests, rigSeed: options.rigSeed, barometerKpaAbs: options.barometer };
    store?.issueProfile(profile, actorOf(options.actor));
    const latest = store === null ? keptRevision(choice, options, out) : store.latestRigRevision(stationName(choice));
    const revision = await readyRevision(choice, profile, latest?.revision, store, options, out, stop);
    return await runOne(choice, profile, plant, revision, store, options, out, stop);
  } finally {
    store?.close();
  }
}

/** `barolot characterise`: measures what every nest of the simulated station does with one part number, and keeps it. */
export async function characteriseStation(
  partNumber: string,
  options: Pick<CycleOptions, 'rigSeed' | 'nests' | 'barometer' | 'data' | 'profiles' | 'actor' | 'json'>,
  out: Out,
  stop: AbortSignal,
): Promise<number> {
  const { profile } = profileOf(partNumber, options.profiles ?? shippedProfiles());
  const store = openStore(ledgerIn(options.data), { clock: systemClock, program: PROGRAM });
  try {
    const choice = { nests: options.nests, rigSeed: options.rigSeed, barometerKpaAbs: options.barometer };
    const revision = await characterised(choice, profile, store, stop);
    const hash = store.issueRigRevision(revision, actorOf(options.actor));
    const own = revision.characters.filter((character) => character.partNumber === partNumber);
    const found = smallestFound(revision.instruments, profile.content);
    if (options.json)
      out.json({ station: revision.station, issue: revision.issue, hash, characters: own, smallestFound: found });
    else {
      out.line(
        `SIMULATED RIG: station ${revision.station}, rig revision ${revision.issue} (${hash.slice(0, 8)}), ${partNumber}`,
      );
      for (const { nest, volumeM3, sealedPaPerS } of own) {
        out.line(
          `Nest ${nest + 1}: volume ${(volumeM3.value * 1e6).toFixed(2)} ± ${(2 * volumeM3.u * 1e6).toFixed(2)} cm³ (U, k = 2); ` +
            `sealed it falls ${(-sealedPaPerS.mean).toFixed(1)} Pa/s while measured, ± ${sealedPaPerS.sd.toFixed(1)} Pa/s ` +
            `from hold to hold (1 sd of ${sealedPaPerS.holds})`,
        );
      }
      out.line(
        `Errors of instruments that one cycle finds for certain: ${found.map((each) => `${each.instrument} ${plain(each.size)} ${each.unit}`).join(', ')}. ` +
          'Smaller ones belong to master check and calibration.',
      );
    }
    return EXIT.passed;
  } finally {
    store.close();
  }
}

/** What the ledger says of the station, for a cycle that writes nothing to it. */
function keptRevision(
  choice: SimulatedChoice,
  { data }: CycleOptions,
  out: Out,
): { revision: RigRevision } | undefined {
  if (!existsSync(ledgerIn(data))) return undefined;
  try {
    const reader = openReader(ledgerIn(data));
    try {
      return reader.latestRigRevision(stationName(choice));
    } finally {
      reader.close();
    }
  } catch (error) {
    if (!(error instanceof StoreError)) throw error;
    out.aside(`The ledger is not read, the station is measured anew: ${error.message}`);
    return undefined;
  }
}

/** A rig revision that knows this profile: the ledger's latest, or one made now. */
async function readyRevision(
  choice: SimulatedChoice,
  profile: ProfileRevision,
  latest: RigRevision | undefined,
  store: Store | null,
  options: CycleOptions,
  out: Out,
  stop: AbortSignal,
): Promise<RigRevision> {
  if (latest !== undefined && isCharacterised(latest, profile)) return latest;
  out.aside(
    `The station does not know ${profile.content.partNumber} yet: 20 sealed and 5 calibrated-leak holds are run first.`,
  );
  const revision = await characterised(choice, profile, store, stop);
  store?.issueRigRevision(revision, actorOf(options.actor));
  return revision;
}

async function characterised(
  choice: SimulatedChoice,
  profile: ProfileRevision,
  store: Store | null,
  stop: AbortSignal,
): Promise<RigRevision> {
  const rig = simulatedRig(choice);
  const station = stationName(choice);
  const before = store?.latestRigRevision(station)?.revision ?? { ...firstRevision(rig, station), issue: 0 };
  return nextRevision(rig, before, profile, stop);
}

async function runOne(
  choice: SimulatedChoice,
  profile: ProfileRevision,
  plant: readonly ProfileContent[],
  revision: RigRevision,
  store: Store | null,
  options: CycleOptions,
  out: Out,
  stop: AbortSignal,
): Promise<number> {
  const rig = simulatedRig(choice);
  const parts = partsFor(profile.content, plant, drawsOf(options.seed, rig.abilities.nests), options.nest);
  rig.loadParts(parts, options.seed);
  const load: Load = Array.from({ length: rig.abilities.nests }, (_, nest) =>
    options.nest.some((each) => each.nest === nest && each.what === 'empty')
      ? null
      : serialOf(profile.content, options, nest),
  );
  const plan = makePlan({ profile, rig: revision, kind: options.kind, condition: options.condition, plant });
  for (const fault of options.rig) checkTimed(fault, plan);
  const kept = await runAndKeep(
    rig,
    { plan, load, proofs: simulatedProofs(options.due) },
    { lot: options.lot, program: PROGRAM, actor: actorOf(options.actor), seed: options.seed },
    { clock: systemClock, store, stop, onEvent: (event) => strikeIn(rig, event, options.rig) },
  );
  if (kept.record === null) {
    out.aside(
      `Not judged: ${english.faults['not-kept'].says}. ${english.faults['not-kept'].next}. (${String(kept.problem)})`,
    );
    return EXIT.notJudged;
  }
  if (options.json) out.json(exportOf(kept.record, plan, english));
  else {
    out.line(account(kept.record, plan, english, { sums: options.sums }));
    out.line(
      store === null
        ? 'Not kept: add --keep to write the next cycle to the ledger.'
        : `Kept as ${kept.record.circumstances.cycle}: npx barolot show ${load.find((serial) => serial !== null) ?? ''}`,
    );
  }
  return exitOf(kept.record.measurement.results);
}

/** A serial of the demo plant: part number, year and month, lot, and a running number out of seed and nest. */
function serialOf(content: ProfileContent, { seed, lot }: CycleOptions, nest: number): string {
  if (content.serial.rule === 'unserialised') return `${lot}/${nest + 1}`;
  const running = String((seed * 16 + nest + 1) % 100_000).padStart(5, '0');
  const serial = `${content.partNumber.replace('-', '')}-${running}`;
  if (!new RegExp(`^(?:${content.serial.pattern})$`).test(serial)) {
    throw new StationFault('not-testable', { facts: { serial, pattern: content.serial.pattern } });
  }
  return serial;
}
