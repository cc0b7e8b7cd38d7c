import type { Facts } from '../../station/faults.ts';

/** A problem document (RFC 9457) as this server gives them. `type` is relative to the server. */
export interface ProblemDocument {
  readonly type: string;
  readonly title: string;
  readonly status: number;
  readonly detail: string;
  readonly instance: string;
  readonly code: string;
  readonly facts?: Facts;
  /** Of a body or a query that is not as it has to be: each place, and what is wrong there. */
  readonly errors?: readonly { readonly path: string; readonly message: string }[];
}

/** Thrown by a route for what the caller can know and act upon. The fact `retryAfterS` is said in the header too. */
export class HttpProblem extends Error {
  override readonly name = 'HttpProblem';
  readonly status: number;
  readonly code: string;
  readonly facts: Facts;

  constructor(status: number, code: string, detail: string, facts: Facts = {}) {
    super(detail);
    this.status = status;
    this.code = code;
    this.facts = facts;
  }
}
