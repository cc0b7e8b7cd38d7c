import { systemClock } from '../../../station/clock.ts';
import type { ProfileRevision } from '../../../station/profile/schema.ts';
import { readProfiles } from '../../profiles/folder.ts';
import { PROGRAM } from '../../program.ts';
import { openStore } from '../../store/store.ts';
import { EXIT, WrongUse } from '../exit.ts';
import type { Out } from '../out.ts';
import { ledgerIn, shippedProfiles } from '../setting.ts';
import { PastLab } from './lab-past.ts';
import { testLot } from './line-past.ts';
import { LedgerKeeper } from './past-keeper.ts';
import { PastStation } from './plant.ts';
import type { History, Parts } from './plant.ts';
import { PlantClock } from './plant-clock.ts';
import { SCENARIO } from './script.ts';

const DAY_MS = 24 * 3_600_000;
/** Stations of the scenario: others than the server's own. */
const LINE = { station: 'EOL-2', choice: { nests: 2, rigSeed: 11, barometerKpaAbs: null } } as const;
const LAB = { station: 'LAB-2', choice: { nests: 8, rigSeed: 12, barometerKpaAbs: null, chamber: true } } as const;

/**
 * `barolot demo`: fills an empty ledger with some weeks of a plant that does not exist, by real cycles on simulated rigs as
 * fast as this computer makes them. What is measured is dated in those weeks, what is stored now. Throws WrongUse for a
 * ledger that has cycles.
 */
export async function demo(options: { readonly data: string }, out: Out, stop: AbortSignal): Promise<number> {
  const store = openStore(ledgerIn(options.data), { clock: systemClock, program: PROGRAM });
  try {
    if (store.latest(1).length > 0)
      throw new WrongUse(`The ledger in ${options.data} has cycles already. Name an empty folder: --data <folder>.`);
    const fromMs = systemClock.nowMs();
    const made = await makeHistory(
      { keeper: new LedgerKeeper(store), profiles: profilesHere(), stop, end: systemClock.wallTime() },
      (done, of, lot) => out.aside(`${done} of ${of}: ${lot}`),
    );
    store.checkpoint();
    const tookS = (systemClock.nowMs() - fromMs) / 1000;
    out.line(
      [
        `SIMULATED: ${made.lots} lots, ${made.audits} audits, ${store.head().sequence} entries in ${options.data}.`,
        `${(made.rigS / 3600).toFixed(1)} hours of rigs at work in ${tookS.toFixed(0)} s: ${Math.round(made.rigS / tookS)} times as fast.`,
        `Look at it: barolot serve --data ${options.data}`,
      ].join('\n'),
    );
    return EXIT.passed;
  } finally {
    store.close();
  }
}

/** Makes the whole scenario; `told` hears of each lot. Rejects with what cannot be kept, and the reason of a stop. */
export async function makeHistory(
  given: Omit<History, 'clock'> & { readonly end: Date },
  told: (done: number, of: number, lot: string) => void,
): Promise<{ readonly lots: number; readonly audits: number; readonly rigS: number }> {
  const clock = new PlantClock(new Date(given.end.getTime() - 30 * DAY_MS));
  const history: History = { ...given, clock };
  const line = new PastStation(LINE.station, LINE.choice, history);
  const bench = new PastStation(LAB.station, LAB.choice, history);
  const lab = new PastLab(history, bench);
  const parts: Parts = new Map();
  let audits = 0;
  for (const [index, lot] of SCENARIO.entries()) {
    told(index, SCENARIO.length, lot.lot);
    const profile = given.profiles.find(({ content }) => content.partNumber === lot.partNumber);
    if (profile === undefined) throw new WrongUse(`The scenario needs a profile of ${lot.partNumber}.`);
    clock.reach(beginOf(given.end, lot));
    await line.learn(profile);
    await testLot(history, line, { ...lot, profile }, parts, index + 1);
    if (lot.audit === null) continue;
    await bench.learn(profile);
    await lab.audit({ ...lot, profile }, parts);
    audits += 1;
  }
  told(SCENARIO.length, SCENARIO.length, 'all');
  return { lots: SCENARIO.length, audits, rigS: (line.rig.nowMs + bench.rig.nowMs) / 1000 };
}

/** The hour of a lot's day, so many days before the end. */
function beginOf(end: Date, { daysAgo, hour }: (typeof SCENARIO)[number]): Date {
  const day = new Date(end.getTime() - daysAgo * DAY_MS);
  day.setUTCHours(hour, 0, 0, 0);
  return day;
}

export function profilesHere(): readonly ProfileRevision[] {
  const { revisions, problems } = readProfiles(shippedProfiles());
  if (problems.length > 0) throw new WrongUse('The shipped profiles are not in order: barolot check');
  return revisions;
}
