import type { StationListener, StationSetup } from '../../server/line/station-process.ts';
import type { Demo } from '../../station/host/demo.ts';
import type { Command, Message } from '../../station/host/message.ts';
import { PacedRig } from '../../station/host/pacing.ts';
import { simulatedHost } from '../../station/host/simulated-host.ts';
import { simulatedRig } from '../../station/host/simulated-station.ts';
import type { VirtualClock } from './virtual-clock.ts';

/**
 * A station's host in this process: the very host of the station's own process, its messages cloned and delivered in
 * order, one turn later, as another process's would be. Its rig takes no time, or the virtual clock's when it is paced.
 */
export class HostHere {
  readonly #setup: StationSetup;
  readonly #clock: VirtualClock;
  readonly #listener: StationListener;
  readonly #paced: boolean;
  #life = 0;
  #over: Promise<void> = Promise.resolve();
  #command: (command: Command<Demo>) => void = () => undefined;
  /** Called with each message before it is delivered; false drops it and everything after it. */
  onMessage: (message: Message) => boolean = () => true;

  constructor(setup: StationSetup, clock: VirtualClock, listener: StationListener, paced: boolean) {
    this.#paced = paced;
    this.#setup = setup;
    this.#clock = clock;
    this.#listener = listener;
  }

  start(): void {
    this.#life += 1;
    const life = this.#life;
    const rig = simulatedRig(this.#setup.simulated);
    const host = simulatedHost(
      rig,
      this.#paced ? new PacedRig(rig, this.#clock, this.#setup.simulated.pace, this.#setup.simulated.soakPace) : rig,
      {
        station: this.#setup.station,
        clock: this.#clock,
        send: (message) => {
          const said = structuredClone(message);
          setImmediate(() => {
            if (this.#life === life && this.onMessage(said)) this.#listener.message(said);
          });
        },
      },
    );
    this.#command = (command) => {
      const said = structuredClone(command);
      setImmediate(() => {
        if (this.#life === life) host.command(said);
      });
    };
    this.#over = host.run();
  }

  send(command: Command<Demo>): void {
    this.#command(command);
  }

  /** A message arrives, however long ago it was sent. */
  deliver(message: Message): void {
    this.#listener.message(message);
  }

  /** The process dies at once; nothing it meant to say is heard. `start` begins another life. */
  kill(): void {
    this.#life += 1;
    this.#listener.lost('SIGKILL');
  }

  async end(): Promise<void> {
    this.#command({ type: 'end' });
    const ending = { isOver: false };
    void this.#over.then(() => {
      ending.isOver = true;
    });
    while (!ending.isOver) await this.#clock.advance(20);
    await turnOver();
  }
}

export const turnOver = (): Promise<void> => new Promise((resolve) => setImmediate(resolve));
