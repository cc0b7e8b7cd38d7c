import type { FastifyError, FastifyReply, FastifyRequest } from 'fastify';
import { hasZodFastifySchemaValidationErrors } from 'fastify-type-provider-zod';
import type { Facts } from '../../station/faults.ts';
import { english } from '../../station/words/en.ts';
import { fill } from '../../station/words/fill.ts';
import { Refusal } from '../line/line.ts';
import { StoreError } from '../store/errors.ts';
import { HttpProblem } from './problem.ts';
import type { ProblemDocument } from './problem.ts';

type Answer = Omit<ProblemDocument, 'type' | 'instance'>;

const TITLES: Readonly<Record<number, string>> = {
  400: 'The request is not as it has to be',
  403: 'This request may not be made from there',
  404: 'There is nothing here',
  405: 'This cannot be done here',
  409: 'This cannot be done now',
  413: 'The request is too large',
  415: 'This kind of content is not read here',
  500: 'The server could not do it',
  503: 'The server is not ready',
};

/** Codes of what the framework refuses by itself. */
const CODES: Readonly<Record<number, string>> = {
  400: 'bad-request',
  404: 'not-found',
  413: 'too-large',
  415: 'content-not-read',
  503: 'not-ready',
};

/** Everything that goes wrong on a request becomes a problem document; what nobody foresaw is logged, not told. */
export function answerError(error: FastifyError | Error, request: FastifyRequest, reply: FastifyReply): void {
  const answer = answerOf(error, request);
  if (answer.status >= 500) request.log.error({ err: error }, 'a request failed');
  const after = answer.facts?.['retryAfterS'];
  // RFC 9110, 10.2.3.
  if (after !== undefined) void reply.header('retry-after', String(after));
  sendProblem(request, reply, answer);
}

/** For an address that nothing stands at. */
export function answerNothing(request: FastifyRequest, reply: FastifyReply): void {
  sendProblem(
    request,
    reply,
    plain(404, 'not-found', `${request.method} ${pathOf(request)} is not an address of this server`),
  );
}

export function sendProblem(request: FastifyRequest, reply: FastifyReply, answer: Answer): void {
  const body: ProblemDocument = { type: `/problems/${answer.code}`, instance: pathOf(request), ...answer };
  void reply.code(answer.status).header('content-type', 'application/problem+json').send(JSON.stringify(body));
}

/** Of the ledger's refusals those that the request brought about; any other is the ledger's own trouble. */
function storeStatus({ code }: StoreError, { method }: FastifyRequest): number {
  if (code === 'revision-conflict') return 409;
  // Nothing was sent with what only reads: then it is what is stored that does not fit.
  return code === 'invalid-content' && method !== 'GET' && method !== 'HEAD' ? 400 : 503;
}

function answerOf(error: FastifyError | Error, request: FastifyRequest): Answer {
  if (error instanceof Refusal) {
    const detail = fill(english.line.refusals[error.code], worded(error.facts));
    return { ...plain(409, error.code, detail), facts: error.facts };
  }
  if (error instanceof HttpProblem) return { ...plain(error.status, error.code, error.message), facts: error.facts };
  if (error instanceof StoreError)
    return { ...plain(storeStatus(error, request), error.code, `The ledger: ${error.message}`), facts: error.facts };
  if (hasZodFastifySchemaValidationErrors(error)) {
    const errors = error.validation.map(({ instancePath, message }) => ({
      path: `${error.validationContext ?? 'body'}${instancePath}`,
      message: message ?? 'is not as it has to be',
    }));
    const first = errors[0];
    return {
      ...plain(400, 'not-valid', first === undefined ? 'not valid' : `${first.path}: ${first.message}`),
      errors,
    };
  }
  const status = 'statusCode' in error ? (error.statusCode ?? 500) : 500;
  if (status >= 500) return plain(500, 'program', 'It was written to the log under the request id in the header.');
  return plain(status, CODES[status] ?? 'bad-request', error.message);
}

/** Codes among the facts as a person knows them. */
function worded(facts: Facts): Facts {
  const names: Readonly<Record<string, string>> = english.line.proofs;
  const { proof } = facts;
  return typeof proof === 'string' ? { ...facts, proof: names[proof] ?? proof } : facts;
}

function plain(status: number, code: string, detail: string): Answer {
  return { title: TITLES[status] ?? 'The request could not be carried out', status, code, detail };
}

const pathOf = ({ url }: FastifyRequest): string => url.split('?')[0] ?? url;
