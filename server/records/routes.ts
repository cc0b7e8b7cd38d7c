import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { english } from '../../station/words/en.ts';
import type { LedgerReader } from '../store/reader.ts';
import { CycleParams, PageQuery, SerialParams } from './contract.ts';
import type { CyclePage, RecordView, SerialLife } from './contract.ts';
import { exportOf } from './export.ts';
import { cycleOf, lifeOf, pageOf, planOf, recordOf } from './service.ts';

const view = <T>(what: string) => z.custom<T>().meta({ description: what });

/** The addresses of what is kept. Nothing is written here. */
export function recordRoutes(app: FastifyInstance, reader: LedgerReader): void {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const tags = ['records'];

  routes.get(
    '/api/records',
    {
      schema: {
        summary: 'The latest cycles, the newest first',
        tags,
        querystring: PageQuery,
        response: { 200: view<CyclePage>('cycles, next') },
      },
    },
    ({ query }) => pageOf(reader, query.limit, query.before),
  );

  routes.get(
    '/api/records/serials/:serial',
    {
      schema: {
        summary: 'The life of a serial',
        tags,
        params: SerialParams,
        response: { 200: view<SerialLife>('serial, cycles') },
      },
    },
    ({ params }) => lifeOf(reader, params.serial),
  );

  routes.get(
    '/api/records/cycles/:cycle',
    {
      schema: {
        summary: 'One record: readings with limits and sums, the test as it ran, hashes, what was verified',
        tags,
        params: CycleParams,
        response: { 200: view<RecordView>('see the contract') },
      },
    },
    ({ params }) => recordOf(reader, params.cycle),
  );

  routes.get(
    '/api/records/cycles/:cycle/export',
    {
      schema: { summary: 'The stable JSON of one cycle (format 1), as a file', tags, params: CycleParams },
    },
    ({ params }, reply) => {
      const { record } = cycleOf(reader, params.cycle);
      const body = exportOf(record, planOf(reader, record), english);
      return reply
        .header('content-disposition', `attachment; filename="cycle-${record.circumstances.cycle}.json"`)
        .send(body);
    },
  );
}
