import type { Language } from '../../station/words/number-text.ts';
import type { SamplingPlanView } from '../audit/contract.ts';
import type { Paper } from '../report/pdf/sheet.ts';

/** What takes long enough to stand in the way of live streams and commits: it is asked of a clerk. */
export type Question =
  | {
      readonly kind: 'audits';
      readonly partNumber: string | null;
      readonly lot: string | null;
      readonly limit: number;
    }
  | { readonly kind: 'audit'; readonly audit: string }
  | { readonly kind: 'report'; readonly audit: string; readonly paper: Paper; readonly language: Language }
  | { readonly kind: 'readings'; readonly audit: string }
  | { readonly kind: 'audit-json'; readonly audit: string }
  | { readonly kind: 'drift-csv'; readonly audit: string }
  | { readonly kind: 'others'; readonly audit: string }
  | { readonly kind: 'comparison'; readonly audit: string; readonly other: string }
  | { readonly kind: 'comparison-csv'; readonly audit: string; readonly other: string }
  | { readonly kind: 'lots'; readonly limit: number }
  | { readonly kind: 'lot'; readonly partNumber: string; readonly lot: string }
  | { readonly kind: 'suspects'; readonly partNumber: string; readonly lot: string }
  | { readonly kind: 'suspects-csv'; readonly partNumber: string; readonly lot: string }
  | {
      readonly kind: 'sampling-plan';
      readonly partNumber: string;
      /** What its profile here has: threads read no profiles. */
      readonly conditions: SamplingPlanView['conditions'];
    };

/** An answer as it goes out: nothing of it is made on the server's own thread. */
export interface Answer {
  readonly type: string;
  /** How a browser is to take it (RFC 6266); null where it is no file. */
  readonly disposition: string | null;
  readonly bytes: Uint8Array<ArrayBuffer>;
}

/** Who answers questions of the ledger. What was written before it was asked is in the answer. */
export interface Clerk {
  /**
   * Rejects with what the question itself is refused with (HttpProblem), with the HttpProblems `too-busy`, `work-lost` and
   * `took-too-long` (503), `not-ready` when the server ends, or with the signal's reason when nobody waits any more.
   */
  ask(question: Question, signal: AbortSignal): Promise<Answer>;
}

/** What a clerk's thread is started with. */
export interface ClerkGiven {
  /** Path of the ledger. */
  readonly ledger: string;
  readonly plant: string;
  /** Of the plant, for what is printed (IANA). */
  readonly timeZone: string;
}
/** `stop` holds the number of the question that nobody waits for any more. */
export type ClerkStart = ClerkGiven & { readonly stop: Int32Array<SharedArrayBuffer> };

export interface Asked {
  readonly id: number;
  readonly question: Question;
}

/** What a clerk's thread says to a question. */
export type Said = { readonly id: number } & (
  | { readonly is: 'answer'; readonly answer: Answer }
  | { readonly is: 'stopped' }
  | {
      readonly is: 'refused';
      readonly status: number;
      readonly code: string;
      readonly detail: string;
      readonly facts: Readonly<Record<string, string | number>>;
    }
  /** Nobody foresaw it: for the log. */
  | { readonly is: 'failed'; readonly error: Error }
);
