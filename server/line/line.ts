import type { Facts } from '../../station/faults.ts';
import type {
  DemoChoices,
  Frame,
  LineCommand,
  LineView,
  LiveView,
  PartNumberView,
  RefusalCode,
  StationView,
} from './contract.ts';

/** What is told of a line station as it happens. The view comes whole; `live` is gone when it is old. */
export interface LineListener {
  view(view: LineView): void;
  live(live: LiveView): void;
}

/** A line station as the rest of the server has it. */
export interface Line {
  readonly station: string;
  view(): LineView;
  /** What was measured last; null when the station is away. */
  live(): LiveView | null;
  /** The test as it runs, or the last one's. */
  frames(): readonly Frame[];
  summary(): StationView;
  partNumbers(): readonly PartNumberView[];
  /** What can be simulated; null on a real rig or when no demo is wanted. */
  demoChoices(): DemoChoices | null;
  /** Carries a command out, or throws the Refusal. */
  command(command: LineCommand): void;
  /** Tells the listener from now on; the answer ends it. */
  listen(listener: LineListener): () => void;
  start(): void;
  /** Stops what runs, makes the rig safe, keeps what is to be kept. */
  end(): Promise<void>;
}

/** A command that cannot be carried out now, and what the words about it need. */
export class Refusal extends Error {
  override readonly name = 'Refusal';
  readonly code: RefusalCode;
  readonly facts: Facts;

  constructor(code: RefusalCode, facts: Facts = {}) {
    super(`refused: ${code}`);
    this.code = code;
    this.facts = facts;
  }
}
