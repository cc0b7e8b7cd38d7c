import { existsSync } from 'node:fs';
import { join } from 'node:path';
import helmet from '@fastify/helmet';
import fastifyStatic from '@fastify/static';
import swagger from '@fastify/swagger';
import swaggerUi from '@fastify/swagger-ui';
import { LogController, fastify } from 'fastify';
import type { FastifyBaseLogger, FastifyInstance } from 'fastify';
import {
  jsonSchemaTransform,
  jsonSchemaTransformObject,
  serializerCompiler,
  validatorCompiler,
} from 'fastify-type-provider-zod';
import type { Clock } from '../station/clock.ts';
import type { ProfileRevision } from '../station/profile/schema.ts';
import { comparisonRoutes } from './audit/comparison/routes.ts';
import type { HistoryProgress } from './audit/contract.ts';
import { auditRoutes } from './audit/routes.ts';
import type { Clerk } from './clerk/question.ts';
import { answerError, answerNothing, sendProblem } from './http/answer.ts';
import { lineRoutes, snapshotOf } from './line/routes.ts';
import type { LiveLine } from './line/routes.ts';
import type { Line } from './line/line.ts';
import { Hub } from './live/hub.ts';
import { VERSION } from './program.ts';
import { recordRoutes } from './records/routes.ts';
import type { LabStation } from './lab/lab-station.ts';
import { labHub } from './lab/lab-live.ts';
import { labRoutes } from './lab/routes.ts';
import type { LedgerReader } from './store/reader.ts';
import type { Store } from './store/store.ts';

/** What the server answers with. */
export interface AppGiven {
  readonly lines: readonly Line[];
  readonly labs: readonly LabStation[];
  /** The ledger's one writer: decisions and samples are kept by it. */
  readonly store: Store;
  readonly profiles: readonly ProfileRevision[];
  /** How far a demo history is that is being made; null when none is. */
  readonly history: () => HistoryProgress | null;
  /** Reads beside the writer, so that a long look never stands in a commit's way. */
  readonly reader: LedgerReader;
  /** Answers what takes long, on threads of its own. */
  readonly clerk: Clerk;
  readonly clock: Clock;
  readonly log: FastifyBaseLogger;
  /** Tells this life of the server from others. */
  readonly life: string;
  /** Folder of the built screens; null serves none. */
  readonly web: string | null;
  /** Whether only this machine is meant to ask: a name of another one in the address is then refused. */
  readonly isLoopback: boolean;
}

const BODY_LIMIT = 256 * 1024;
/** A year, for files whose names change with their content. */
const YEAR_S = 31_536_000;

/** Makes the server's application: routes, documents, screens. It listens to nothing yet. */
export async function buildApp(given: AppGiven): Promise<FastifyInstance> {
  const { lines, labs, store, reader, clock, log, life, web, isLoopback } = given;
  const app: FastifyInstance = fastify({
    loggerInstance: log,
    bodyLimit: BODY_LIMIT,
    requestTimeout: 30_000,
    logController: new LogController({ disableRequestLogging: true }),
    forceCloseConnections: true,
    return503OnClosing: true,
    frameworkErrors: answerError,
  });
  app.setValidatorCompiler(validatorCompiler);
  app.setSerializerCompiler(serializerCompiler);
  // Only JSON is read: a form of another site can send plain text without asking.
  app.removeContentTypeParser('text/plain');
  app.setErrorHandler(answerError);
  app.addHook('onRequest', (request, reply, done) => {
    void reply.header('x-request-id', request.id);
    const { origin, host } = request.headers;
    // A page of another site whose name was made to point here would be of the same origin as what it asks for.
    if (isLoopback && !isOfThisMachine(request.hostname)) {
      sendProblem(request, reply, {
        title: 'This request may not be made from there',
        status: 403,
        code: 'other-host',
        detail: `This server answers this machine only, not ${request.hostname}; ask 127.0.0.1 or localhost.`,
      });
      return;
    }
    // Nobody signs in yet: at least no page of another site gives commands here.
    if (request.method === 'GET' || request.method === 'HEAD' || origin === undefined || isOf(origin, host)) {
      done();
      return;
    }
    sendProblem(request, reply, {
      title: 'This request may not be made from there',
      status: 403,
      code: 'other-origin',
      detail: `A page of ${origin} may not give commands here.`,
    });
  });

  await app.register(helmet, {
    contentSecurityPolicy: {
      useDefaults: false,
      directives: {
        'default-src': ["'none'"],
        'script-src': ["'self'"],
        'style-src': ["'self'"],
        'font-src': ["'self'"],
        'img-src': ["'self'", 'data:'],
        'connect-src': ["'self'"],
        'base-uri': ["'none'"],
        'form-action': ["'none'"],
        'frame-ancestors': ["'none'"],
      },
    },
    // A shop floor speaks plain http: a browser told otherwise would lock itself out.
    strictTransportSecurity: false,
  });
  await app.register(swagger, {
    openapi: {
      openapi: '3.1.0',
      info: {
        title: 'Barolot',
        version: VERSION,
        description:
          'Test stations for pressure sensors. Pressures are kPa absolute, times ms, instants UTC. Refusals are problem documents (RFC 9457) with a code. This is not a safety function.',
      },
    },
    transform: jsonSchemaTransform,
    transformObject: jsonSchemaTransformObject,
  });
  await app.register(swaggerUi, { routePrefix: '/api' });

  const live = liveLines(lines, clock, life);
  const lab = labHub(labs, store, clock, life);
  app.addHook('preClose', (done) => {
    for (const { hub } of live.values()) hub.end();
    lab.end();
    done();
  });
  // After the documentation has taken its place, so that every route is in the document.
  await app.register((scope, _options, done) => {
    scope.get('/api/health', { schema: { summary: 'Whether the server answers' } }, () => ({
      ok: true,
      version: VERSION,
    }));
    scope.get('/api/openapi.json', { schema: { hide: true } }, () => app.swagger());
    lineRoutes(scope, live);
    recordRoutes(scope, reader);
    auditRoutes(scope, given);
    comparisonRoutes(scope, given);
    labRoutes(scope, new Map(labs.map((each): [string, LabStation] => [each.station, each])), lab);
    done();
  });
  await serveScreens(app, web);
  return app;
}

function liveLines(lines: readonly Line[], clock: Clock, life: string): ReadonlyMap<string, LiveLine> {
  return new Map(
    lines.map((line): [string, LiveLine] => {
      const hub = new Hub(life, clock, () => ({ event: 'snapshot', data: snapshotOf(line) }));
      line.listen({
        view: (view) => hub.say({ event: 'view', data: view }),
        live: (live) => hub.say({ event: 'live', later: 'past', data: live }),
      });
      return [line.station, { line, hub }];
    }),
  );
}

/** The built screens: files named by their content for good, the page itself never from a store. */
async function serveScreens(app: FastifyInstance, web: string | null): Promise<void> {
  if (web === null || !existsSync(join(web, 'index.html'))) {
    app.setNotFoundHandler(answerNothing);
    return;
  }
  await app.register(fastifyStatic, {
    root: web,
    wildcard: false,
    cacheControl: false,
    setHeaders: (response, path) => {
      const isNamedByContent = path.startsWith(join(web, 'assets'));
      void response.setHeader('cache-control', isNamedByContent ? `public, max-age=${YEAR_S}, immutable` : 'no-store');
    },
  });
  app.setNotFoundHandler((request, reply) => {
    const isPage = request.method === 'GET' && (request.headers.accept ?? '').includes('text/html');
    if (isPage && !request.url.startsWith('/api/')) return reply.sendFile('index.html');
    answerNothing(request, reply);
    return undefined;
  });
}

const isOfThisMachine = (name: string): boolean => ['127.0.0.1', 'localhost', '[::1]', '::1'].includes(name);

function isOf(origin: string, host: string | undefined): boolean {
  try {
    return new URL(origin).host === host;
  } catch {
    return false;
  }
}
