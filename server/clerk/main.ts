import { parentPort, workerData } from 'node:worker_threads';
import { AuditMemory } from '../audit/memory.ts';
import { HttpProblem } from '../http/problem.ts';
import { StoreError } from '../store/errors.ts';
import { openReader } from '../store/reader.ts';
import type { LedgerReader } from '../store/reader.ts';
import { answerOf } from './answer.ts';
import type { Answer, Asked, ClerkStart, Said } from './question.ts';

/** A clerk's thread: one question after the other, by a reader of its own, until it is ended. */
const { ledger, plant, timeZone, stop } = workerData as ClerkStart;

class Stopped extends Error {}

const memory = new AuditMemory();
let reader: LedgerReader | null = null;

async function work({ id, question }: Asked): Promise<Said> {
  const mayGoOn = (): void => {
    if (Atomics.load(stop, 0) === id) throw new Stopped();
  };
  try {
    mayGoOn();
    // A ledger that cannot be opened now may be there for the next question.
    reader ??= openReader(ledger);
    const answer: Answer = await answerOf({ reader, memory, plant, timeZone }, question, mayGoOn);
    return { id, is: 'answer', answer };
  } catch (cause) {
    if (cause instanceof Stopped) return { id, is: 'stopped' };
    if (cause instanceof HttpProblem)
      return { id, is: 'refused', status: cause.status, code: cause.code, detail: cause.message, facts: cause.facts };
    if (cause instanceof StoreError)
      return {
        ...{ id, is: 'refused', status: 503, code: cause.code, detail: `The ledger: ${cause.message}` },
        facts: cause.facts,
      };
    return { id, is: 'failed', error: cause instanceof Error ? cause : new Error(String(cause)) };
  }
}

parentPort?.on('message', (asked: Asked) => {
  void work(asked).then((said) => {
    const own = said.is === 'answer' ? [said.answer.bytes.buffer] : [];
    parentPort?.postMessage(said, own);
  });
});
