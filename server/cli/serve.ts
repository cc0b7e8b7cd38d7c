import { randomUUID } from 'node:crypto';
import { existsSync } from 'node:fs';
import { dirname, join } from 'node:path';
import type { AddressInfo } from 'node:net';
import closeWithGrace from 'close-with-grace';
import { pino } from 'pino';
import { systemClock } from '../../station/clock.ts';
import { problemLine } from '../../station/profile/problem.ts';
import type { ProfileRevision } from '../../station/profile/schema.ts';
import { buildApp } from '../app.ts';
import { Clerks } from '../clerk/clerks.ts';
import { LabStation } from '../lab/lab-station.ts';
import { LineStation } from '../line/line-station.ts';
import type { RigSideGiven } from '../line/rig-given.ts';
import { PartsInTest } from '../line/parts-in-test.ts';
import { StationProcess } from '../line/station-process.ts';
import { readProfiles } from '../profiles/folder.ts';
import { PROGRAM } from '../program.ts';
import { isLoopback } from '../settings/schema.ts';
import type { Settings } from '../settings/schema.ts';
import { openReader } from '../store/reader.ts';
import { openStore } from '../store/store.ts';
import { BackgroundHistory } from './demo/background.ts';
import { WrongUse } from './exit.ts';
import type { Out } from './out.ts';
import { ledgerIn, shippedProfiles } from './setting.ts';

/** How long everything may take to end before the process is ended anyway, ms: longer than a station needs. */
const END_MS = 15_000;

/**
 * `barolot serve`: keeps the ledger, runs the stations, answers the screens, until it is told to end. `withHistory` lets an
 * empty ledger be filled with a demo's past beside that.
 */
export async function serve(settings: Settings, out: Out, withHistory = false): Promise<void> {
  const log = pino({ level: settings.log }, pino.destination({ fd: 2, sync: true }));
  const profiles = profilesOf(settings);
  const store = openStore(ledgerIn(settings.data), { clock: systemClock, program: PROGRAM });
  for (const { circumstances } of store.closeInterrupted())
    log.warn({ cycle: circumstances.cycle, station: circumstances.station }, 'a cycle was cut off: not judged');
  store.checkpoint();
  const inTest = new PartsInTest();
  const given = { store, clock: systemClock, profiles, program: PROGRAM, log, inTest, connect: connected };
  const lines = settings.stations.flatMap((setup) => (setup.chamber ? [] : [lineOf(setup, settings, given)]));
  const labs = settings.stations.flatMap((setup) => (setup.chamber ? [labOf(setup, settings, given)] : []));
  const reader = openReader(ledgerIn(settings.data));
  const { plant, shifts } = settings;
  const clerk = new Clerks({
    ...{ ledger: ledgerIn(settings.data), plant, timeZone: shifts.zone },
    ...{ clock: systemClock, log },
  });
  const isFirst = store.latest(1).length === 0;
  let history: BackgroundHistory | null = null;
  const web = webFolder();
  const app = await buildApp({
    lines,
    labs,
    store,
    profiles,
    history: () => history?.progress ?? null,
    reader,
    clerk,
    clock: systemClock,
    log,
    life: randomUUID().slice(0, 8),
    web,
    isLoopback: isLoopback(settings),
  });

  const end = async (): Promise<void> => {
    history?.end();
    // First: who waits for an answer is told, and nothing is asked any more.
    await clerk.end();
    await app.close();
    // Rigs safe, what ran closed and kept, before the ledger is let go.
    await Promise.all([...lines, ...labs].map((station) => station.end()));
    reader.close();
    store.close();
  };
  try {
    await app.listen({ host: settings.listen.host, port: settings.listen.port });
  } catch (cause) {
    await end();
    throw listenError(cause, settings);
  }
  closeWithGrace({ delay: END_MS, logger: false }, async ({ err, signal }) => {
    if (err !== undefined) log.error({ err }, 'the server ends');
    else log.info({ signal }, 'the server ends');
    await end();
  });
  for (const station of [...lines, ...labs]) station.start();
  if (withHistory && isFirst) history = new BackgroundHistory(store, log);
  announce(settings, (app.server.address() as AddressInfo).port, web !== null, out);
}

type Setup = Settings['stations'][number];
type Given = RigSideGiven & { readonly profiles: readonly ProfileRevision[] };

const connected: RigSideGiven['connect'] = (setup, listener) => new StationProcess(setup, systemClock, listener);

function lineOf({ station, ...simulated }: Setup, settings: Settings, given: Given): LineStation {
  const { plant, shifts, scanner, rules, demo } = settings;
  return new LineStation({ station, simulated }, { ...given, settings: { plant, shifts, scanner, rules, demo } });
}

function labOf({ station, ...simulated }: Setup, { plant, shifts, lab }: Settings, given: Given): LabStation {
  return new LabStation({ station, simulated }, { ...given, settings: { plant, shifts, ...lab } });
}

/** Throws WrongUse with everything that is wrong: a server with half of its profiles would surprise somebody. */
function profilesOf(settings: Settings): ProfileRevision[] {
  const { revisions, problems } = readProfiles(settings.profiles ?? shippedProfiles());
  if (problems.length > 0) throw new WrongUse(problems.map(problemLine).join('\n'));
  return [...revisions];
}

/** The built screens; null when they were not built. */
function webFolder(): string | null {
  const folder = join(dirname(shippedProfiles()), '.build', 'web');
  return existsSync(join(folder, 'index.html')) ? folder : null;
}

function announce(settings: Settings, port: number, hasScreens: boolean, out: Out): void {
  const { host } = settings.listen;
  const address = `http://${host.includes(':') ? `[${host}]` : host}:${port}`;
  const stations = settings.stations.map(({ station, nests, chamber }) => {
    const what = `${nests} nest${nests === 1 ? '' : 's'}${chamber ? ' and chamber' : ''}, simulated`;
    return `  ${station}: ${address}/${chamber ? 'lab' : 'line'}/${station}  (${what})`;
  });
  const lines = [
    `Barolot is at ${address}`,
    ...stations,
    '',
    'SIMULATED RIGS: no real part is tested.',
    ...(hasScreens
      ? [
          `Try: open ${address}/line/${settings.stations[0]?.station ?? ''} in a browser. Enter a name, choose AQ-1105 and a lot, let the`,
          'station learn it, confirm the masters, then F2 scans simulated parts and the space bar starts the test.',
        ]
      : ['The screens are not built: npm run build. The API answers all the same.']),
    `Ledger: ${settings.data}. API: ${address}/api. Ctrl+C makes the rigs safe and ends.`,
    'This program is not a safety function: guard, emergency stop and pressure relief are wired, by licensed people.',
    ...(isLoopback(settings)
      ? []
      : ['', 'Other machines can reach this server, and nobody signs in: let only trusted ones into its network.']),
  ];
  out.line(lines.join('\n'));
}

function listenError(cause: unknown, { listen }: Settings): unknown {
  const code = cause instanceof Error && 'code' in cause ? cause.code : undefined;
  if (code === 'EADDRINUSE')
    return new WrongUse(
      `Port ${listen.port} is taken. End what uses it, or set another: listen.port in the settings, or BAROLOT_PORT.`,
    );
  if (code === 'EACCES' || code === 'EADDRNOTAVAIL')
    return new WrongUse(
      `${listen.host}:${listen.port} cannot be listened at (${code}). Set listen.host and listen.port.`,
    );
  return cause;
}
