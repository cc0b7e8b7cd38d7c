import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import type { LedgerReader } from '../store/reader.ts';
import { LotParams, LotsQuery } from './contract.ts';
import type { LotLine, LotView } from './contract.ts';
import { latestLots, lotView } from './lots.ts';

const view = <T>(what: string) => z.custom<T>().meta({ description: what });

/** The addresses of lots. Nothing is written here. */
export function lotRoutes(app: FastifyInstance, reader: LedgerReader): void {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const tags = ['lots'];

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
    ({ query }) => latestLots(reader, query.limit),
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
    ({ params }) => lotView(reader, params.partNumber, params.lot),
  );
}
