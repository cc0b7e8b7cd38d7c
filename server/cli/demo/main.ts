import { systemClock } from '../../../station/clock.ts';
import { StationFault } from '../../../station/faults.ts';
import type { Answered, Asked, Told } from './background.ts';
import { ASKED } from './background.ts';
import { makeHistory, profilesHere } from './demo.ts';
import type { PastKeeper } from './past-keeper.ts';

/**
 * The process that makes a past for a server that is running: full-speed simulation has no place in the server's own. What
 * is to be kept goes to the server, one call after the other, and is on its disk when it answers.
 */
const stopping = new AbortController();
const waiting = new Map<number, { resolve(value: unknown): void; reject(error: Error): void }>();
let asked = 0;

const tell = (message: Asked | Told): void => void process.send?.(message);

process.on('message', ({ id, value, error }: Answered) => {
  const call = waiting.get(id);
  waiting.delete(id);
  if (error === null) call?.resolve(value);
  else call?.reject(new Error(error));
});
// A server that is gone keeps nothing more.
process.on('disconnect', () => process.exit(0));
process.on('SIGTERM', () => stopping.abort(new StationFault('operator-stop')));

const ask = (method: keyof PastKeeper, args: readonly unknown[]): Promise<unknown> =>
  new Promise((resolve, reject) => {
    asked += 1;
    waiting.set(asked, { resolve, reject });
    tell({ type: 'ask', id: asked, method, args });
  });

// Both ends are of one build: the methods and their arguments are those of the interface.
const keeper = Object.fromEntries(
  ASKED.map((method) => [method, (...args: unknown[]) => ask(method, args)]),
) as unknown as PastKeeper;

await makeHistory(
  { keeper, profiles: profilesHere(), stop: stopping.signal, end: systemClock.wallTime() },
  (done, of, lot) => tell({ type: 'progress', done, of, lot }),
);
process.disconnect();
