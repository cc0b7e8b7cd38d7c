import { type ChildProcess, fork } from 'node:child_process';
import { simulatedProofs } from '../../station/host/simulated-station.ts';
import { drawsOf, type Demo } from '../../station/host/demo.ts';
import type { Command, Message } from '../../station/host/message.ts';
import { hashOf } from '../../station/hash.ts';
import type { ProfileRevision } from '../../station/profile/schema.ts';
import { compile } from '../support/compiled.ts';
import { temporaryFolder } from '../support/ledger-use.ts';
import { profileNamed, stationFor, type TestStation } from '../support/simulated-plant.ts';
import { busyServer } from './busy-server.ts';
import { median } from './timing.ts';
import type { TripSetup, TripWord } from './trip-station.ts';

const BLOCK_MS = 20;
/** Twice as many as a server may have: more would measure how long they wait for each other. */
const STATIONS = 16;
const SIMULATED = { nests: 2, rigSeed: 1, barometerKpaAbs: null, chamber: false } as const;

type Tripped = Extract<TripWord, { type: 'tripped' }>;

/** The same phases as ever with short waits, so that a thousand trips can wait for all of them. */
function shortWaits(profile: ProfileRevision): ProfileRevision {
  const content = {
    ...profile.content,
    leakHold: { ...profile.content.leakHold, stabiliseMs: 400, measureMs: 200 },
    points: profile.content.points.map((point) => ({ ...point, dwellMs: 240, apertureMs: 40 })),
  };
  return { revision: 1, content, hash: hashOf(content) };
}

/**
 * From the instant at which a wired input changes to the exhaust commanded by the program, in the station's own process,
 * while its server is as busy as it can be. The program's own command is timed, not what the simulated rig's wires do.
 */
export async function tripBench(options: { readonly trips: number; readonly seed: number }): Promise<void> {
  const { trips, seed } = options;
  const station = await stationFor('AQ-1105', { profile: shortWaits(profileNamed('AQ-1105')) });
  const program = compile(['station', 'server', 'tests/bench', 'tests/support']);
  const folder = temporaryFolder();
  const busy = await busyServer(folder.path, program.fileOf('tests/bench/readers.ts'));
  const found: Found = { tripped: [], missed: 0, openAlready: 0, unanswered: [] };
  try {
    await Promise.all(
      Array.from({ length: STATIONS }, (_, i) => {
        const share = Math.floor(trips / STATIONS) + (i < trips % STATIONS ? 1 : 0);
        const setup = { station: `T-${i + 1}`, simulated: SIMULATED, seed: seed + i };
        return strikeOne(program.fileOf('tests/bench/trip-station.ts'), setup, station, share, found);
      }),
    );
  } finally {
    const toil = await busy.end();
    folder.remove();
    program.remove();
    console.log(report(found, toil, seed));
  }
}

interface Found {
  readonly tripped: Tripped[];
  missed: number;
  openAlready: number;
  readonly unanswered: string[];
}

/** Runs cycles on one station until it tripped as often as it should. */
function strikeOne(script: string, setup: TripSetup, station: TestStation, trips: number, found: Found): Promise<void> {
  const child: ChildProcess = fork(script, [JSON.stringify(setup)], { serialization: 'advanced' });
  const send = (command: Command<Demo>): void => void child.send(command);
  const { profile, plan, plant } = station;
  let cycles = 0;
  let left = trips;
  const demo = (): Demo => ({
    seed: cycles,
    draws: drawsOf(setup.seed * 1000 + cycles, SIMULATED.nests),
    content: profile.content,
    plant,
    parts: [],
    faults: [],
  });
  const next = (): void => {
    // An open guard would keep the clamps shut: the cause is taken away first.
    send({ type: 'demo', demo: demo() });
    if (left === 0) {
      send({ type: 'end' });
      return;
    }
    cycles += 1;
    const load = [1, 2].map((nest) => `AQ1105-${setup.station}-${String(cycles).padStart(4, '0')}${nest}`);
    const cycle = `${setup.station}-${cycles}`;
    send({ type: 'cycle', cycle, plan, load, proofs: simulatedProofs([]), demo: demo() });
  };
  child.on('message', (word: Message | TripWord) => {
    if (word.type === 'awake' || word.type === 'ended') next();
    else if (word.type === 'event' && word.waits)
      send({ type: 'kept', cycle: word.cycle, number: word.number, kept: true });
    else if (word.type === 'tripped') {
      found.tripped.push(word);
      left -= 1;
    } else if (word.type === 'unanswered') {
      found.unanswered.push(`${word.cause} in ${word.phase}`);
      left -= 1;
    } else if (word.type === 'missed') found.missed += 1;
    else if (word.type === 'open-already') found.openAlready += 1;
    else if (word.type === 'refused') {
      found.unanswered.push(`refused: ${word.code} ${JSON.stringify(word.facts)}`);
      send({ type: 'end' });
    }
  });
  return new Promise((resolve) => void child.once('exit', () => resolve()));
}

function report(
  { tripped, missed, openAlready, unanswered }: Found,
  toil: { readonly sums: number; readonly reports: number; readonly sentMb: number },
  seed: number,
): string {
  const ms = tripped.map(({ commandedMs }) => commandedMs).sort((a, b) => a - b);
  const inStation = tripped.map(({ commandedMs, heardMs }) => commandedMs - heardMs);
  const p99 = ms[Math.ceil(0.99 * ms.length) - 1] ?? Number.NaN;
  const worst = tripped.reduce<Tripped | null>((a, b) => (a === null || b.commandedMs > a.commandedMs ? b : a), null);
  const within = ms.filter((each) => each <= 2 * BLOCK_MS).length;
  const both = (each: number): string => `${each.toFixed(2)} ms = ${(each / BLOCK_MS).toFixed(2)} blocks`;
  return [
    `trip: from a wired input's change to the exhaust commanded by the station's program, worst of ${ms.length}: ` +
      `${both(worst?.commandedMs ?? Number.NaN)} (wanted 2 or less; ${worst?.cause ?? 'none'} in ${worst?.phase ?? 'none'}); ` +
      `p99 ${both(p99)}, median ${both(median(ms))}; ${within} of ${ms.length} within 2 blocks`,
    `  once the process had heard of it: worst ${Math.max(...inStation).toFixed(3)} ms`,
    `  struck in ${new Set(tripped.map(({ phase }) => phase)).size} phases by ${new Set(tripped.map(({ cause }) => cause)).size} causes, SEED=${seed}; ` +
      `${missed} more came after their cycle and ${openAlready} when the exhaust stood commanded open, and were struck again`,
    `  meanwhile on the server's side: ${toil.reports} reports, ${toil.sums} sums of 3 million rows, ${toil.sentMb.toFixed(1)} MB to 20 screens; ${STATIONS} stations at once`,
    '  not measured: what the wires do by themselves, valves and gas, trips found in a block of samples (over-pressure, dead-man), a stop asked for over HTTP',
    ...(unanswered.length === 0 ? [] : [`  NOT ANSWERED: ${unanswered.join('; ')}`]),
  ].join('\n');
}
