import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { HttpProblem } from '../http/problem.ts';
import type { Hub } from '../live/hub.ts';
import { join } from '../live/join.ts';
import { LabCommand, LabParams } from './contract.ts';
import type { LabReadiness, LabView } from './contract.ts';
import type { LabStation } from './lab-station.ts';

const view = <T>(what: string) => z.custom<T>().meta({ description: what });

/** The addresses of the lab stations. */
export function labRoutes(app: FastifyInstance, labs: ReadonlyMap<string, LabStation>, hub: Hub): void {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const tags = ['lab'];
  const at = (station: string): LabStation => {
    const found = labs.get(station);
    if (found !== undefined) return found;
    const known = [...labs.keys()].join(', ') || 'none';
    throw new HttpProblem(404, 'no-such-station', `There is no lab station ${station}; there are: ${known}.`, {
      station,
      known,
    });
  };

  routes.get(
    '/api/labs',
    {
      schema: {
        summary: 'The lab stations and what each does now',
        tags,
        response: { 200: view<readonly LabView[]>('see the contract') },
      },
    },
    () => [...labs.values()].map((lab) => lab.view()),
  );

  routes.get(
    '/api/labs/live',
    {
      // A stream has no end that could be said without sending it.
      exposeHeadRoute: false,
      schema: {
        summary: 'Server-sent events: snapshot, then lab and kept as they happen; Last-Event-ID resumes',
        tags,
        headers: z.object({ 'last-event-id': z.string().max(200).optional() }),
      },
    },
    (request, reply) => join(hub, request, reply),
  );

  routes.get(
    '/api/stations/:station/lab',
    {
      schema: {
        summary: 'Everything that the screen of a lab station shows',
        tags,
        params: LabParams,
        response: { 200: view<LabView>('see the contract') },
      },
    },
    ({ params }) => at(params.station).view(),
  );

  routes.get(
    '/api/stations/:station/lab/readiness/:partNumber',
    {
      schema: {
        summary: 'What a lab station has to show before it audits a part number',
        tags,
        params: LabParams.extend({ partNumber: z.string().max(20) }),
        response: { 200: view<LabReadiness>('proofs, soakStudy') },
      },
    },
    ({ params }) => at(params.station).readiness(params.partNumber),
  );

  routes.post(
    '/api/stations/:station/lab/commands',
    {
      schema: {
        summary: 'What a person tells the lab station; 409 with a code when it cannot be done now',
        tags,
        params: LabParams,
        body: LabCommand,
        response: { 200: z.object({ doing: z.string() }) },
      },
    },
    ({ params, body }) => {
      const lab = at(params.station);
      lab.command(body);
      return { doing: lab.view().doing };
    },
  );
}
