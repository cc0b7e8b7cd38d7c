import { parentPort, workerData } from 'node:worker_threads';
import type { Asked, ClerkStart } from '../../server/clerk/question.ts';

/** A clerk's thread that has trouble with some lots: DIES ends it, HANGS holds it for good, SPINS until it is stopped. */
const { stop } = workerData as ClerkStart;

parentPort?.on('message', ({ id, question }: Asked) => {
  const lot = question.kind === 'lot' ? question.lot : '';
  if (lot === 'DIES') process.exit(1);
  while (lot === 'HANGS' || (lot === 'SPINS' && Atomics.load(stop, 0) !== id));
});
