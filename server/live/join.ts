import type { FastifyReply, FastifyRequest } from 'fastify';
import { HttpProblem } from '../http/problem.ts';
import type { Hub } from './hub.ts';

/** Screens that may follow one stream at once. */
const MOST_LISTENERS = 500;

/** Lets a client follow a stream from its last event on. Throws the HttpProblem `too-many-listeners`. */
export function join(hub: Hub, { headers: asked }: Pick<FastifyRequest, 'headers'>, reply: FastifyReply): void {
  if (hub.clients >= MOST_LISTENERS)
    throw new HttpProblem(503, 'too-many-listeners', `${MOST_LISTENERS} screens follow this already.`);
  // The same text goes to every client: nothing of the framework stands between.
  const headers = reply.getHeaders();
  void reply.hijack();
  reply.raw.writeHead(200, {
    ...Object.fromEntries(
      Object.entries(headers).flatMap(([name, value]) => (value === undefined ? [] : [[name, value]])),
    ),
    'content-type': 'text/event-stream',
    'cache-control': 'no-store',
    connection: 'keep-alive',
  });
  const lastId = asked['last-event-id'];
  hub.join(reply.raw, typeof lastId === 'string' ? lastId : undefined);
}
