import { createServer } from 'node:http';
import type { RequestListener, Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { afterEach, expect, test, vi } from 'vitest';
import { LONGEST_MS } from '../../server/clerk/clerks.ts';
import { ProblemError, WORKED_OUT_MS, ask } from '../../web/src/shared/http.ts';

let server: Server | null = null;
afterEach(() => {
  server?.closeAllConnections();
  server?.close();
  server = null;
});

/** A server on this machine that answers as it is told; its address. */
async function serving(listener: RequestListener): Promise<string> {
  server = createServer(listener);
  await new Promise<void>((resolve) => server?.listen(0, '127.0.0.1', resolve));
  return `http://127.0.0.1:${(server.address() as AddressInfo).port}/`;
}

const problemOf = async (asked: Promise<unknown>): Promise<unknown> =>
  asked.then(
    (value) => ({ answered: value }),
    (cause: unknown) => (cause instanceof ProblemError ? cause.problem : cause),
  );

test('what is there is given, null included where the server says null', async () => {
  const address = await serving((_, response) => response.end('null'));
  expect(await ask(address)).toBeNull();
});

test('an answer that is cut off on its way is no answer, and never null', async () => {
  const address = await serving((_, response) => {
    response.writeHead(200, { 'content-type': 'application/json', 'content-length': '100' });
    response.write('[{"lot":');
    setImmediate(() => response.destroy());
  });
  expect(await problemOf(ask(address))).toMatchObject({ code: 'no-answer', status: 0 });
});

test('a person who goes on while an answer arrives is not told of a failure', async () => {
  const leaving = new AbortController();
  const address = await serving((_, response) => {
    response.writeHead(200, { 'content-type': 'application/json', 'content-length': '100' });
    response.write('[', () => setImmediate(() => leaving.abort()));
  });
  expect(await problemOf(ask(address, leaving.signal))).toMatchObject({ name: 'AbortError' });
});

test('a refusal without words of its own keeps its status', async () => {
  const address = await serving((_, response) => response.writeHead(502).end('<html>'));
  expect(await problemOf(ask(address))).toMatchObject({ code: 'no-answer', status: 502 });
});

test('what is worked out of the whole ledger is waited for until the server itself gives it up', async () => {
  const limit = vi.spyOn(AbortSignal, 'timeout');
  const address = await serving((_, response) => response.end('[]'));
  await ask(address, undefined, WORKED_OUT_MS);
  expect(limit.mock.calls).toEqual([[WORKED_OUT_MS]]);
  expect(WORKED_OUT_MS).toBeGreaterThan(LONGEST_MS);
  limit.mockRestore();
});
