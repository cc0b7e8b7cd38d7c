import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import type { ProfileRevision } from '../../station/profile/schema.ts';
import type { Clerk, Question } from '../clerk/question.ts';
import { sendAnswer } from '../clerk/send.ts';
import { HttpProblem } from '../http/problem.ts';
import type { Actor } from '../store/record-format.ts';
import type { Store } from '../store/store.ts';
import {
  AuditParams,
  AuditsQuery,
  CloseBody,
  DecisionBody,
  DrawBody,
  LotParams,
  LotsQuery,
  OpenBody,
  PlanBody,
  PlanParams,
  ReportQuery,
  ResumeBody,
  SampleAct,
} from './contract.ts';
import type {
  AuditLine,
  AuditView,
  HistoryProgress,
  LotLine,
  LotView,
  SamplingPlanView,
  SuspectLot,
} from './contract.ts';
import { decide, decideLot } from './deciding.ts';
import { drawSample } from './drawing.ts';
import { resumeSampling } from './inspection.ts';
import { closeLot, openLot } from './lot-closing.ts';
import { tellSample } from './sampling.ts';

const view = <T>(what: string) => z.custom<T>().meta({ description: what });
const Done = z.object({ audit: z.string() });
const LotOfPart = LotParams.extend({ partNumber: PlanParams.shape.partNumber });

/** The quality engineer, stated by name: nobody signs in yet. */
const engineer = (name: string): Actor => ({ name, role: 'quality engineer', proof: 'stated' });

/** What the audit lab's addresses are given. */
export interface AuditRoutesGiven {
  readonly clerk: Clerk;
  readonly store: Store;
  readonly profiles: readonly ProfileRevision[];
  /** Stations with a chamber. */
  readonly labs: readonly { readonly station: string }[];
  /** A demo history that is being made; null when none is. */
  readonly history: () => HistoryProgress | null;
}

/** The addresses of lots, samples, audits, decisions and reports. */
export function auditRoutes(app: FastifyInstance, given: AuditRoutesGiven): void {
  lotRoutes(app, given);
  sampleRoutes(app, given);
  resultRoutes(app, given);
}

function lotRoutes(app: FastifyInstance, { clerk, store, history }: AuditRoutesGiven): void {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const tags = ['lots'];

  routes.get(
    '/api/demo-history',
    {
      schema: {
        summary: 'How far the making of a demo history is; null when none is made',
        tags,
        response: { 200: view<{ readonly history: HistoryProgress | null }>('done, of, lot') },
      },
    },
    () => ({ history: history() }),
  );

  routes.get(
    '/api/lots',
    {
      schema: {
        summary: 'The lots with the latest cycles, the newest first',
        tags,
        querystring: LotsQuery,
        response: { 200: view<readonly LotLine[]>('partNumber, lot, state, origin, firstAt, lastAt, counts') },
      },
    },
    (request, reply) => sendAnswer(clerk, { kind: 'lots', limit: request.query.limit }, request, reply),
  );

  routes.get(
    '/api/lots/:partNumber/:lot',
    {
      schema: {
        summary: 'A lot: counts, failures by reason and nest, line readings at each point',
        tags,
        params: LotParams,
        response: { 200: view<LotView>('see the contract') },
      },
    },
    (request, reply) => sendAnswer(clerk, { kind: 'lot', ...request.params }, request, reply),
  );

  routes.get(
    '/api/lots/:partNumber/:lot/suspects',
    {
      schema: {
        summary: 'The lots that are suspect with one: back to the last good audit, forward to now',
        tags,
        params: LotParams,
        response: {
          200: view<readonly SuspectLot[]>('lot, is, firstAt, lastAt, parts, passed, decision, neighbourOf'),
        },
      },
    },
    (request, reply) => sendAnswer(clerk, { kind: 'suspects', ...request.params }, request, reply),
  );

  routes.get(
    '/api/lots/:partNumber/:lot/suspects.csv',
    { schema: { summary: 'The suspect parts, one a row', tags, params: LotParams } },
    (request, reply) => sendAnswer(clerk, { kind: 'suspects-csv', ...request.params }, request, reply),
  );

  routes.post(
    '/api/lots/:partNumber/:lot/decisions',
    {
      schema: {
        summary: 'Decides about a lot without an audit: lets a held neighbour go, or holds a lot at sight',
        tags,
        params: LotOfPart,
        body: DecisionBody,
        response: { 200: z.object({ lot: z.string() }) },
      },
    },
    ({ params, body: { by, ...wish } }) => {
      decideLot(store, params, wish, engineer(by));
      return { lot: params.lot };
    },
  );
  closingRoutes(app, store);
}

function closingRoutes(app: FastifyInstance, store: Store): void {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const tags = ['lots'];
  const response = { 200: z.object({ lot: z.string() }) };

  routes.post(
    '/api/lots/:partNumber/:lot/closing',
    {
      schema: {
        summary: 'Closes a lot: the line tests nothing more for it',
        tags,
        params: LotOfPart,
        body: CloseBody,
        response,
      },
    },
    ({ params, body: { by, role, reason } }) => {
      closeLot(store, params, reason, { name: by, role, proof: 'stated' });
      return { lot: params.lot };
    },
  );

  routes.post(
    '/api/lots/:partNumber/:lot/opening',
    {
      schema: {
        summary: 'Opens a closed lot again; 409 while an audit of it is under way or once it was decided',
        tags,
        params: LotOfPart,
        body: OpenBody,
        response,
      },
    },
    ({ params, body: { by, reason } }) => {
      openLot(store, params, reason, engineer(by));
      return { lot: params.lot };
    },
  );
}

function sampleRoutes(app: FastifyInstance, { clerk, store, profiles, labs }: AuditRoutesGiven): void {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const tags = ['audits'];
  const profileOf = (partNumber: string) => profiles.find(({ content }) => content.partNumber === partNumber);
  const planOf = (partNumber: string): Question => {
    const conditions = profileOf(partNumber)?.content.conditions ?? [];
    return {
      kind: 'sampling-plan',
      partNumber,
      conditions: conditions.map(({ id, targetC }) => ({ condition: id, targetC })),
    };
  };

  routes.get(
    '/api/sampling-plans/:partNumber',
    {
      schema: {
        summary: "How a part number's samples are drawn",
        tags,
        params: PlanParams,
        response: { 200: view<SamplingPlanView>('partNumber, plan, isDefault, since, inspection, conditions') },
      },
    },
    (request, reply) => sendAnswer(clerk, planOf(request.params.partNumber), request, reply),
  );

  routes.put(
    '/api/sampling-plans/:partNumber',
    {
      schema: {
        summary: "Says how a part number's samples are drawn from now on",
        tags,
        params: PlanParams,
        body: PlanBody,
        response: { 200: view<SamplingPlanView>('partNumber, plan, isDefault, since, inspection, conditions') },
      },
    },
    (request, reply) => {
      const { partNumber } = request.params;
      const { plan, reason, by } = request.body;
      profileHere(profiles, partNumber);
      store.samplingPlan({ partNumber, plan, reason, actor: engineer(by) });
      return sendAnswer(clerk, planOf(partNumber), request, reply);
    },
  );

  routes.post(
    '/api/sampling-plans/:partNumber/resume',
    {
      schema: {
        summary: 'Takes inspection by attributes up again after action on the cause of its end: tightened',
        tags,
        params: PlanParams,
        body: ResumeBody,
        response: { 200: view<SamplingPlanView>('see the contract') },
      },
    },
    (request, reply) => {
      const { partNumber } = request.params;
      const { reason, by } = request.body;
      resumeSampling(store, partNumber, { reason, actor: engineer(by) });
      return sendAnswer(clerk, planOf(partNumber), request, reply);
    },
  );

  routes.post(
    '/api/audits',
    {
      schema: {
        summary: 'Draws the sample of a lot; 409 with a code when it cannot be drawn now',
        tags,
        body: DrawBody,
        response: { 201: Done },
      },
    },
    ({ body }, reply) => {
      const { partNumber, by, ...wish } = body;
      if (!labs.some(({ station }) => station === wish.station))
        throw new HttpProblem(404, 'no-such-station', `There is no lab station ${wish.station}.`, {
          station: wish.station,
          known: labs.map(({ station }) => station).join(', '),
        });
      const profile = profileHere(profiles, partNumber);
      void reply.code(201);
      return { audit: drawSample(store, { ...wish, profile, actor: engineer(by) }) };
    },
  );

  routes.post(
    '/api/audits/:audit/sample',
    {
      schema: {
        summary: 'What a person says about the sample: a part found, a part missing, the audit given up',
        tags,
        params: AuditParams,
        body: SampleAct,
        response: { 200: Done },
      },
    },
    ({ params, body }) => {
      tellSample(store, params.audit, body, engineer(body.by));
      return params;
    },
  );
}

/** Throws the HttpProblem `unknown-part-number`. */
function profileHere(profiles: readonly ProfileRevision[], partNumber: string): ProfileRevision {
  const profile = profiles.find(({ content }) => content.partNumber === partNumber);
  if (profile === undefined)
    throw new HttpProblem(404, 'unknown-part-number', `There is no profile of ${partNumber} here.`, { partNumber });
  return profile;
}

function resultRoutes(app: FastifyInstance, { clerk, store }: AuditRoutesGiven): void {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const tags = ['audits'];

  routes.get(
    '/api/audits',
    {
      schema: {
        summary: 'The latest audits, the newest first',
        tags,
        querystring: AuditsQuery,
        response: { 200: view<readonly AuditLine[]>('see the contract') },
      },
    },
    (request, reply) => {
      const { partNumber = null, lot = null, limit } = request.query;
      return sendAnswer(clerk, { kind: 'audits', partNumber, lot, limit }, request, reply);
    },
  );

  routes.get(
    '/api/audits/:audit',
    {
      schema: {
        summary: 'An audit: sample, conditions, readings, evaluation, decision',
        tags,
        params: AuditParams,
        response: { 200: view<AuditView>('see the contract') },
      },
    },
    (request, reply) => sendAnswer(clerk, { kind: 'audit', ...request.params }, request, reply),
  );

  routes.post(
    '/api/audits/:audit/decisions',
    {
      schema: {
        summary: 'Decides about the lot of an audit; hold and reject hold its neighbours too',
        tags,
        params: AuditParams,
        body: DecisionBody,
        response: { 200: Done },
      },
    },
    ({ params, body: { by, ...wish } }) => {
      decide(store, params.audit, wish, engineer(by));
      return params;
    },
  );

  routes.get(
    '/api/audits/:audit/report.pdf',
    { schema: { summary: 'The report, for a customer', tags, params: AuditParams, querystring: ReportQuery } },
    (request, reply) => sendAnswer(clerk, { kind: 'report', ...request.params, ...request.query }, request, reply),
  );

  routes.get(
    '/api/audits/:audit/readings.csv',
    { schema: { summary: 'Every reading, one a row', tags, params: AuditParams } },
    (request, reply) => sendAnswer(clerk, { kind: 'readings', ...request.params }, request, reply),
  );

  routes.get(
    '/api/audits/:audit/audit.json',
    { schema: { summary: 'The numbers of the report as JSON', tags, params: AuditParams } },
    (request, reply) => sendAnswer(clerk, { kind: 'audit-json', ...request.params }, request, reply),
  );
}
