import type { LabCommand, LabView } from '../../server/lab/contract.ts';
import { LabStation } from '../../server/lab/lab-station.ts';
import { HttpProblem } from '../../server/http/problem.ts';
import { Refusal } from '../../server/line/line.ts';
import { PartsInTest } from '../../server/line/parts-in-test.ts';
import type { StationSetup } from '../../server/line/station-process.ts';
import type { Store } from '../../server/store/store.ts';
import { HostHere } from './host-here.ts';
import { PROGRAM } from './ledger-content.ts';
import { PROFILES } from './line.ts';
import type { VirtualClock } from './virtual-clock.ts';

export interface LabHere {
  readonly lab: LabStation;
  readonly host: HostHere;
  readonly errors: object[];
  view(): LabView;
  until(wanted: (view: LabView) => boolean): Promise<LabView>;
  /** The code with which a command is refused; null when it is carried out. */
  refused(command: LabCommand): string | null;
  /** Gives every proof that an audit of a part number asks for. */
  ready(partNumber: string): Promise<void>;
}

/** Rig time of a soak that passes in a millisecond of the virtual clock. */
const SOAK_PACE = 100;

/** A lab station with chamber, everything real but the wall time and the process boundary. */
export async function labHere(store: Store, clock: VirtualClock, nests = 8): Promise<LabHere> {
  const setup: StationSetup = {
    station: 'LAB-1',
    simulated: { nests, rigSeed: 2, barometerKpaAbs: null, chamber: true, pace: 1, soakPace: SOAK_PACE },
  };
  const errors: object[] = [];
  const hosts: HostHere[] = [];
  const lab = new LabStation(setup, {
    store,
    clock,
    settings: { plant: 'Alder Quay', shifts: { zone: 'UTC', starts: ['06:00', '14:00', '22:00'] }, dewPointC: 15 },
    profiles: PROFILES,
    program: PROGRAM,
    inTest: new PartsInTest(),
    log: { info: () => undefined, warn: () => undefined, error: (facts) => errors.push(facts) },
    connect: (given, listener) => {
      const host = new HostHere(given, clock, listener, true);
      hosts.push(host);
      return host;
    },
  });
  const until = async (wanted: (view: LabView) => boolean): Promise<LabView> => {
    for (let turn = 0; turn < 100_000; turn += 1) {
      const view = lab.view();
      if (wanted(view)) return view;
      await clock.advance(20);
    }
    throw new Error(`never so: ${JSON.stringify(lab.view())}`);
  };
  lab.start();
  await until(({ link }) => link === 'up');
  return {
    lab,
    host: hosts[0]!,
    errors,
    view: () => lab.view(),
    until,
    refused: (command) => {
      try {
        lab.command(command);
        return null;
      } catch (cause) {
        if (cause instanceof HttpProblem || cause instanceof Refusal) return cause.code;
        throw cause;
      }
    },
    ready: async (partNumber) => {
      lab.command({ type: 'characterise', partNumber });
      await until(({ doing }) => doing === 'rest');
      lab.command({ type: 'study-soak', by: 'T. Aas', partNumber });
      await until(({ doing }) => doing === 'rest');
      lab.command({ type: 'state-masters', by: 'M. Orrell', partNumber });
    },
  };
}
