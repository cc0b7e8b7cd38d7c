import { answerOf } from '../../server/clerk/answer.ts';
import type { Clerk } from '../../server/clerk/question.ts';
import type { LedgerReader } from '../../server/store/reader.ts';

/** Answers what a clerk answers, here and now: for ledgers in memory, which no other thread can open. */
export const clerkHere = (reader: LedgerReader): Clerk => ({
  ask: (question, signal) =>
    answerOf({ reader, plant: 'Alder Quay', timeZone: 'UTC' }, question, () => signal.throwIfAborted()),
});
