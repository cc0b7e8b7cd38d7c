import { LineStation } from '../../server/line/line-station.ts';
import type { LineGiven } from '../../server/line/line-station.ts';
import type { LineCommand, LineView, LiveView, RefusalCode } from '../../server/line/contract.ts';
import { Refusal } from '../../server/line/line.ts';
import { PartsInTest } from '../../server/line/parts-in-test.ts';
import type { StationSetup } from '../../server/line/station-process.ts';
import { readProfiles } from '../../server/profiles/folder.ts';
import { openStore } from '../../server/store/store.ts';
import type { Store } from '../../server/store/store.ts';
import { HostHere, turnOver } from './host-here.ts';
import { PROGRAM } from './ledger-content.ts';
import { virtualClock } from './virtual-clock.ts';
import type { VirtualClock } from './virtual-clock.ts';

export const PROFILES = readProfiles('profiles').revisions;

const SETTINGS: LineGiven['settings'] = {
  plant: 'Alder Quay',
  shifts: { zone: 'UTC', starts: ['06:00', '14:00', '22:00'] },
  scanner: { suffixes: ['Enter', 'Tab'], gapMs: 50, separators: '' },
  rules: { retests: 1, sameReason: 3 },
  demo: true,
};

export interface LineHere {
  readonly line: LineStation;
  readonly store: Store;
  readonly clock: VirtualClock;
  readonly host: HostHere;
  readonly views: LineView[];
  readonly lives: LiveView[];
  readonly errors: object[];
  view(): LineView;
  /** Waits, turn by turn, until the view is so. */
  until(wanted: (view: LineView) => boolean): Promise<LineView>;
  /** The code with which a command is refused; null when it is carried out. */
  refused(command: LineCommand): RefusalCode | null;
  /** Sets up the work and gives every proof that is asked for. */
  ready(partNumber?: string, lot?: string): Promise<void>;
  scan(...serials: string[]): void;
  /** Starts and waits for the verdicts and the release. */
  test(): Promise<LineView>;
  /** Moves the clock so that the rig at rest is looked at again. */
  look(): Promise<void>;
}

/** A line station with everything real but the wall time and the process boundary. */
export async function lineHere(
  options: {
    store?: Store;
    nests?: number;
    paced?: boolean;
    settings?: Partial<LineGiven['settings']>;
    profiles?: typeof PROFILES;
    inTest?: PartsInTest;
    station?: string;
  } = {},
): Promise<LineHere> {
  const clock = virtualClock();
  const store = options.store ?? openStore(':memory:', { clock, program: PROGRAM });
  store.closeInterrupted();
  store.checkpoint();
  const { nests = 2 } = options;
  const setup: StationSetup = {
    station: options.station ?? 'EOL-1',
    simulated: { nests, rigSeed: 1, barometerKpaAbs: null, chamber: false, pace: 1, soakPace: 1 },
  };
  const errors: object[] = [];
  const hosts: HostHere[] = [];
  const line = new LineStation(setup, {
    store,
    clock,
    settings: { ...SETTINGS, ...options.settings },
    profiles: options.profiles ?? PROFILES,
    program: PROGRAM,
    inTest: options.inTest ?? new PartsInTest(),
    log: {
      info: () => undefined,
      warn: () => undefined,
      error: (facts) => errors.push(facts),
    },
    connect: (given, listener) => {
      const host = new HostHere(given, clock, listener, options.paced ?? false);
      hosts.push(host);
      return host;
    },
  });
  const host = hosts[0]!;
  const views: LineView[] = [];
  const lives: LiveView[] = [];
  line.listen({ view: (view) => views.push(view), live: (live) => lives.push(live) });
  const until = async (wanted: (view: LineView) => boolean): Promise<LineView> => {
    for (let turn = 0; turn < 200_000; turn += 1) {
      const view = line.view();
      if (wanted(view)) return view;
      await (options.paced === true ? clock.advance(20) : turnOver());
    }
    throw new Error(`never so: ${JSON.stringify(line.view().prompt)}`);
  };
  const here: LineHere = {
    line,
    store,
    clock,
    host,
    views,
    lives,
    errors,
    view: () => line.view(),
    until,
    refused: (command) => {
      try {
        line.command(command);
        return null;
      } catch (cause) {
        if (cause instanceof Refusal) return cause.code;
        throw cause;
      }
    },
    ready: async (partNumber = 'AQ-1105', lot = 'K24-3') => {
      line.command({ type: 'setup', operator: 'R. Tamm', partNumber: partNumber as never, lot });
      if (line.view().prompt.code === 'characterise') {
        line.command({ type: 'characterise' });
        // Between two holds the station lets a moment pass.
        for (let hold = 0; hold < 200 && line.view().prompt.code === 'characterising'; hold += 1) {
          await clock.advance(1);
        }
      }
      await until(({ prompt }) => prompt.code !== 'characterising');
      if (line.view().prompt.code === 'masters-due') line.command({ type: 'state-masters' });
    },
    scan: (...serials) => {
      for (const text of serials) line.command({ type: 'scan', text, typed: false });
    },
    test: async () => {
      const before = line.view().outcome?.cycle;
      line.command({ type: 'start' });
      return until(({ outcome, test }) => test === null && outcome !== null && outcome.cycle !== before);
    },
    look: () => clock.advance(600),
  };
  line.start();
  await until(({ link }) => link === 'up');
  return here;
}
