import { answerOf } from '../../server/clerk/answer.ts';
import { AuditMemory } from '../../server/audit/memory.ts';
import type { Clerk } from '../../server/clerk/question.ts';
import type { LedgerReader } from '../../server/store/reader.ts';

/** Answers what a clerk answers, here and now: for ledgers in memory, which no other thread can open. */
export function clerkHere(reader: LedgerReader): Clerk {
  const given = { reader, memory: new AuditMemory(), plant: 'Alder Quay', timeZone: 'UTC' };
  return { ask: (question, signal) => answerOf(given, question, () => signal.throwIfAborted()) };
}
