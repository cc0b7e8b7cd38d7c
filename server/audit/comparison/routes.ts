import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import type { Clerk } from '../../clerk/question.ts';
import { sendAnswer } from '../../clerk/send.ts';
import { AuditParams } from '../contract.ts';
import { ComparisonParams } from './contract.ts';
import type { AuditComparison, OtherAudit } from './contract.ts';

const view = <T>(what: string) => z.custom<T>().meta({ description: what });

/** The addresses of one audit against another, and of one condition against another. */
export function comparisonRoutes(app: FastifyInstance, { clerk }: { readonly clerk: Clerk }): void {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const tags = ['audits'];

  routes.get(
    '/api/audits/:audit/others',
    {
      schema: {
        summary: 'The other audits of the same part number, the newest decided first',
        tags,
        params: AuditParams,
        response: { 200: view<readonly OtherAudit[]>('audit, lot, drawnAt, phase, decision') },
      },
    },
    (request, reply) => sendAnswer(clerk, { kind: 'others', ...request.params }, request, reply),
  );

  routes.get(
    '/api/audits/:audit/against/:other',
    {
      schema: {
        summary: 'One audit against another of the same part number; 409 for another one, and for itself',
        tags,
        params: ComparisonParams,
        response: { 200: view<AuditComparison>('see the contract') },
      },
    },
    (request, reply) => sendAnswer(clerk, { kind: 'comparison', ...request.params }, request, reply),
  );

  routes.get(
    '/api/audits/:audit/against/:other/comparison.csv',
    {
      schema: { summary: 'The same, one point of one condition a row', tags, params: ComparisonParams },
    },
    (request, reply) => sendAnswer(clerk, { kind: 'comparison-csv', ...request.params }, request, reply),
  );

  routes.get(
    '/api/audits/:audit/drift.csv',
    { schema: { summary: 'Change of the same parts since ambient, one point a row', tags, params: AuditParams } },
    (request, reply) => sendAnswer(clerk, { kind: 'drift-csv', ...request.params }, request, reply),
  );
}
