import type { Facts } from '../../../station/faults.ts';

/** A refusal or a failure as the server says it (RFC 9457); `detail` is English. */
export interface Problem {
  readonly code: string;
  readonly detail: string;
  readonly status: number;
  readonly facts: Facts;
}

export class ProblemError extends Error {
  override readonly name = 'ProblemError';
  readonly problem: Problem;

  constructor(problem: Problem) {
    super(problem.detail);
    this.problem = problem;
  }
}

const LONGEST_MS = 10_000;
/** For what the server works out of the whole ledger: longer than it gives itself, whose refusal says what was the matter. */
export const WORKED_OUT_MS = 35_000;

const CUT_OFF = {};

const NO_ANSWER: Problem = { code: 'no-answer', detail: 'The server does not answer.', status: 0, facts: {} };

/** Asks the server for JSON. Throws ProblemError, `no-answer` when there was none. */
export async function ask<T>(path: string, signal?: AbortSignal, longestMs = LONGEST_MS): Promise<T> {
  return (await answer(path, signal === undefined ? {} : { signal }, longestMs)) as T;
}

/** Tells the server something and gives its answer. Throws as `ask`. */
export async function tell(path: string, body: unknown, method: 'POST' | 'PUT' = 'POST'): Promise<unknown> {
  return answer(path, {
    method,
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(body),
  });
}

async function answer(path: string, init: RequestInit, longestMs = LONGEST_MS): Promise<unknown> {
  let response: Response;
  try {
    // A link that is dead without anybody having said so answers never.
    const limit = AbortSignal.timeout(longestMs);
    const signal = init.signal ? AbortSignal.any([init.signal, limit]) : limit;
    response = await fetch(path, { ...init, signal });
  } catch (cause) {
    if (init.signal?.aborted === true) throw cause;
    throw new ProblemError(NO_ANSWER);
  }
  // What is cut off on its way, by the limit or by a server that dies, is no answer: null would pass for one.
  const body: unknown = await response.json().catch((cause: unknown) => {
    if (init.signal?.aborted === true) throw cause;
    return CUT_OFF;
  });
  if (response.ok && body === CUT_OFF) throw new ProblemError(NO_ANSWER);
  if (response.ok) return body;
  const said = (body ?? {}) as Partial<Problem>;
  throw new ProblemError({
    code: said.code ?? 'no-answer',
    detail: said.detail ?? NO_ANSWER.detail,
    status: response.status,
    facts: said.facts ?? {},
  });
}
