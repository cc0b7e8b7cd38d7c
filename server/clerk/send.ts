import type { FastifyReply, FastifyRequest } from 'fastify';
import type { Clerk, Question } from './question.ts';

/** Asks a clerk and sends what it answers. Whoever hangs up takes the question back. */
export async function sendAnswer(
  clerk: Clerk,
  question: Question,
  { raw: request }: Pick<FastifyRequest, 'raw'>,
  reply: FastifyReply,
): Promise<void> {
  const gone = new AbortController();
  const leave = (): void => gone.abort();
  if (request.socket.destroyed) leave();
  reply.raw.once('close', leave);
  try {
    const { type, disposition, bytes } = await clerk.ask(question, gone.signal);
    if (disposition !== null) void reply.header('content-disposition', disposition);
    await reply.type(type).send(Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength));
  } catch (cause) {
    // Nobody is there to be told.
    if (!gone.signal.aborted) throw cause;
    void reply.hijack();
  } finally {
    reply.raw.off('close', leave);
  }
}
