import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { comparisonCsv } from '../../report/comparison-csv.ts';
import { driftCsv } from '../../report/drift-csv.ts';
import { fileName } from '../../report/csv.ts';
import type { LedgerReader } from '../../store/reader.ts';
import { auditView } from '../audits.ts';
import { AuditParams } from '../contract.ts';
import { comparisonOf, othersOf } from './comparing.ts';
import { ComparisonParams } from './contract.ts';
import type { AuditComparison, OtherAudit } from './contract.ts';

const view = <T>(what: string) => z.custom<T>().meta({ description: what });

/** The addresses of one audit against another, and of one condition against another. */
export function comparisonRoutes(
  app: FastifyInstance,
  { reader, plant }: { readonly reader: LedgerReader; readonly plant: string },
): void {
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
    ({ params }) => othersOf(reader, params.audit),
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
    ({ params }) => comparisonOf(reader, params.audit, params.other),
  );

  routes.get(
    '/api/audits/:audit/against/:other/comparison.csv',
    {
      schema: { summary: 'The same, one point of one condition a row', tags, params: ComparisonParams },
    },
    ({ params }, reply) => {
      const comparison = comparisonOf(reader, params.audit, params.other);
      const { partNumber, here, there } = comparison;
      return reply
        .type('text/csv; charset=utf-8')
        .header(
          'content-disposition',
          `attachment; filename="${fileName(`audit-${partNumber}-${here.lot}-against-${there.lot}`)}.csv"`,
        )
        .send(comparisonCsv(comparison));
    },
  );

  routes.get(
    '/api/audits/:audit/drift.csv',
    { schema: { summary: 'Change of the same parts since ambient, one point a row', tags, params: AuditParams } },
    ({ params }, reply) => {
      const audit = auditView(reader, params.audit, plant);
      return reply
        .type('text/csv; charset=utf-8')
        .header(
          'content-disposition',
          `attachment; filename="${fileName(`drift-${audit.partNumber}-${audit.lot}`)}.csv"`,
        )
        .send(driftCsv(audit));
    },
  );
}
