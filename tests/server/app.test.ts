import { once } from 'node:events';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { request as httpRequest } from 'node:http';
import type { IncomingMessage } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { FastifyInstance } from 'fastify';
import { pino } from 'pino';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { buildApp } from '../../server/app.ts';
import type { Snapshot } from '../../server/line/contract.ts';
import { StoreError } from '../../server/store/errors.ts';
import type { StoreErrorCode } from '../../server/store/errors.ts';
import { EventStreamParser } from '../support/event-stream.ts';
import { clerkHere } from '../support/clerk.ts';
import { lineHere } from '../support/line.ts';
import type { LineHere } from '../support/line.ts';

const LINE = '/api/stations/EOL-1/line';

let here: LineHere;
let app: FastifyInstance;
let web: string;
beforeAll(async () => {
  here = await lineHere();
  web = mkdtempSync(join(tmpdir(), 'barolot-web-'));
  mkdirSync(join(web, 'assets'));
  writeFileSync(join(web, 'index.html'), '<!doctype html><title>screens</title>');
  writeFileSync(join(web, 'assets', 'screen-abc123.js'), 'export {};');
  app = await buildApp({
    lines: [here.line],
    labs: [],
    store: here.store,
    profiles: [],
    history: () => null,
    reader: here.store,
    clerk: clerkHere(here.store),
    clock: here.clock,
    log: pino({ level: 'silent' }),
    life: 'life',
    web,
    isLoopback: true,
  });
});
afterAll(async () => {
  await app.close();
  await here.line.end();
  rmSync(web, { recursive: true, force: true });
});

const post = (body: unknown, headers: Record<string, string> = {}) =>
  app.inject({
    method: 'POST',
    url: `${LINE}/commands`,
    headers: { 'content-type': 'application/json', ...headers },
    payload: typeof body === 'string' ? body : JSON.stringify(body),
  });

/** RFC 9457, 3.1: type, status, title, detail, instance have the types and meanings that it gives them. */
function expectProblem(response: Awaited<ReturnType<typeof post>>, status: number, code: string): void {
  expect(response.statusCode).toBe(status);
  expect(response.headers['content-type']).toMatch(/^application\/problem\+json/);
  const body = response.json<Record<string, unknown>>();
  expect(body).toMatchObject({ status, code, type: `/problems/${code}` });
  for (const member of ['type', 'title', 'detail', 'instance']) expect(typeof body[member]).toBe('string');
  expect(String(body['detail']).length).toBeGreaterThan(10);
}

test('every refusal and failure is a problem document, and nothing is lost by it', async () => {
  const before = here.view();
  expectProblem(await post({ type: 'start' }), 409, 'no-work');
  expectProblem(await post({ type: 'fly' }), 400, 'not-valid');
  expectProblem(await post({ type: 'scan', text: 'x'.repeat(201), typed: false }), 400, 'not-valid');
  expectProblem(await post('{ "type": '), 400, 'bad-request');
  expectProblem(await post({ type: 'start' }, { 'content-type': 'text/plain' }), 415, 'content-not-read');
  expectProblem(await post({ type: 'scan', text: 'x'.repeat(300_000), typed: false }), 413, 'too-large');
  expectProblem(await post({ type: 'start' }, { origin: 'http://elsewhere.example' }), 403, 'other-origin');
  expectProblem(
    await app.inject({ url: '/api/stations', headers: { host: 'elsewhere.example:8080' } }),
    403,
    'other-host',
  );
  expectProblem(await app.inject('/api/nothing'), 404, 'not-found');
  expectProblem(await app.inject('/api/stations/EOL-9/line'), 404, 'no-such-station');
  expectProblem(await app.inject('/api/records?limit=0'), 400, 'not-valid');
  expectProblem(await app.inject('/api/records/cycles/none'), 404, 'no-such-cycle');
  expectProblem(await app.inject('/api/records/serials/none'), 404, 'no-such-serial');
  expect(here.view()).toEqual({ ...before, refusal: here.view().refusal });
});

test('what the ledger refuses is told as what it is: a conflict, a request that does not fit, or its own trouble', async () => {
  const [command, summary] = [here.line.command.bind(here.line), here.line.summary.bind(here.line)];
  const fails = (code: StoreErrorCode) => (): never => {
    throw new StoreError(code, 'it does not fit');
  };
  const failBy = (code: StoreErrorCode): void => {
    here.line.command = fails(code);
    here.line.summary = fails(code);
  };
  failBy('revision-conflict');
  expectProblem(await post({ type: 'start' }), 409, 'revision-conflict');
  failBy('invalid-content');
  expectProblem(await post({ type: 'start' }), 400, 'invalid-content');
  // Nothing was sent: it is what is stored that does not fit.
  expectProblem(await app.inject('/api/stations'), 503, 'invalid-content');
  failBy('storage-full');
  expectProblem(await post({ type: 'start' }), 503, 'storage-full');
  here.line.command = command;
  here.line.summary = summary;
});

test('an invalid body names every place that is wrong', async () => {
  const body = (await post({ type: 'setup', operator: '', partNumber: 'X', lot: 'K\u0000' })).json<{
    errors: { path: string; message: string }[];
  }>();
  expect(body.errors.map(({ path }) => path)).toEqual(['body/operator', 'body/partNumber', 'body/lot']);
});

test('what nobody foresaw is logged and not told', async () => {
  const view = here.line.summary.bind(here.line);
  here.line.summary = () => {
    throw new Error('secret of the house');
  };
  const response = await app.inject('/api/stations');
  here.line.summary = view;
  expectProblem(response, 500, 'program');
  expect(response.body).not.toContain('secret');
});

test('headers let a page load nothing from elsewhere and say nothing of plain http', async () => {
  const { headers } = await app.inject('/');
  const policy = String(headers['content-security-policy']);
  expect(policy).toContain("default-src 'none'");
  expect(policy).not.toContain('unsafe-inline');
  expect(headers['strict-transport-security']).toBeUndefined();
  expect(headers['x-content-type-options']).toBe('nosniff');
  expect(headers['x-request-id']).toBeDefined();
});

test('screens: files named by their content for good, the page never from a store, its addresses all the same page', async () => {
  const asset = await app.inject('/assets/screen-abc123.js');
  expect(asset.headers['cache-control']).toContain('immutable');
  for (const url of ['/', '/line/EOL-1', '/records/AQ1105-1']) {
    const page = await app.inject({ url, headers: { accept: 'text/html' } });
    expect(page.statusCode).toBe(200);
    expect(page.headers['cache-control']).toBe('no-store');
    expect(page.body).toContain('screens');
  }
});

test('the document describes every address with the same schemas that check it', async () => {
  const document = (await app.inject('/api/openapi.json')).json<{
    openapi: string;
    paths: Record<string, Record<string, { requestBody?: unknown }>>;
  }>();
  expect(document.openapi).toBe('3.1.0');
  expect(Object.keys(document.paths)).toEqual(
    expect.arrayContaining(['/api/stations', '/api/stations/{station}/line/commands', '/api/records/cycles/{cycle}']),
  );
  const command = JSON.stringify(document.paths['/api/stations/{station}/line/commands']?.['post']?.requestBody);
  for (const type of ['setup', 'scan', 'start', 'acknowledge']) expect(command).toContain(`"${type}"`);
});

test('over a real socket: a snapshot, then what happens, and after a break exactly what was missed', async () => {
  await app.listen({ host: '127.0.0.1', port: 0 });
  const { port } = app.server.address() as AddressInfo;
  const open = async (lastId?: string) => {
    const parser = new EventStreamParser();
    const asked = httpRequest({
      host: '127.0.0.1',
      port,
      path: `${LINE}/live`,
      headers: lastId === undefined ? {} : { 'last-event-id': lastId },
    }).end();
    const [response] = (await once(asked, 'response')) as [IncomingMessage];
    response.setEncoding('utf8').on('data', (chunk: string) => parser.push(chunk));
    return { parser, response, asked };
  };
  const first = await open();
  expect(first.response.headers['content-type']).toBe('text/event-stream');
  expect(first.response.headers['x-content-type-options']).toBe('nosniff');
  const until = async (parser: EventStreamParser, count: number): Promise<void> => {
    while (parser.events.length < count) await new Promise((resolve) => setImmediate(resolve));
  };
  await until(first.parser, 1);
  const snapshot = JSON.parse(first.parser.events[0]!.data) as Snapshot;
  expect(snapshot.view).toEqual(JSON.parse(JSON.stringify(here.view())));
  here.refused({ type: 'start' });
  await until(first.parser, 2);
  first.asked.destroy();
  for (let round = 0; round < 5; round += 1) here.refused({ type: 'start' });
  const again = await open(first.parser.lastId);
  await until(again.parser, 5);
  const numbers = [...first.parser.events, ...again.parser.events].map(({ id }) => Number(id.split('-')[1]));
  expect(numbers.slice(1)).toEqual(Array.from({ length: 6 }, (_, at) => numbers[1]! + at));
  again.asked.destroy();
});

test('no plan is kept for a part number without a profile, and nothing is taken up that goes on', async () => {
  const { sequence } = here.store.head();
  const headers = { 'content-type': 'application/json' };
  const plan = { kind: 'fixed', n: 5 };
  const put = await app.inject({
    ...{ method: 'PUT', url: '/api/sampling-plans/AQ-9999', headers },
    payload: JSON.stringify({ plan, reason: 'r', by: 'M. Orrell' }),
  });
  expectProblem(put, 404, 'unknown-part-number');
  const resumed = await app.inject({
    ...{ method: 'POST', url: '/api/sampling-plans/AQ-9999/resume', headers },
    payload: JSON.stringify({ reason: 'r', by: 'M. Orrell' }),
  });
  expectProblem(resumed, 409, 'not-discontinued');
  expect(here.store.head().sequence).toBe(sequence);
});
