import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { HttpProblem } from '../http/problem.ts';
import type { Hub } from '../live/hub.ts';
import { join } from '../live/join.ts';
import { LineCommand, PROMPTS } from './contract.ts';
import type { DemoChoices, PartNumberView, Snapshot, StationView } from './contract.ts';
import type { Line } from './line.ts';

/** A line station with the stream of what happens there. */
export interface LiveLine {
  readonly line: Line;
  readonly hub: Hub;
}

const Params = z.object({ station: z.string().max(40) });
/** Views are made by typed code and only described: the contract's types say them in full. */
const view = <T>(what: string) => z.custom<T>().meta({ description: what });
const Done = z.object({ prompt: z.enum(PROMPTS).meta({ description: 'what is to be done now' }) });

export const snapshotOf = (line: Line): Snapshot => ({ view: line.view(), live: line.live(), frames: line.frames() });

/** The addresses of the line stations. */
export function lineRoutes(app: FastifyInstance, lines: ReadonlyMap<string, LiveLine>): void {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const at = (station: string): LiveLine => {
    const found = lines.get(station);
    if (found !== undefined) return found;
    const known = [...lines.keys()].join(', ');
    throw new HttpProblem(404, 'no-such-station', `There is no station ${station}; there are ${known}.`, { known });
  };

  routes.get(
    '/api/stations',
    {
      schema: {
        summary: 'The stations, and what is to be done at each',
        tags: ['line'],
        response: {
          200: view<readonly StationView[]>('station, nests, chamber, origin, link, prompt, partNumber, lot'),
        },
      },
    },
    () => [...lines.values()].map(({ line }) => line.summary()),
  );

  routes.get(
    '/api/stations/:station/line',
    {
      schema: {
        summary: 'Everything that the screen of a line station shows',
        tags: ['line'],
        params: Params,
        response: { 200: view<Snapshot>('view, live (what is measured now), frames (the test as it ran)') },
      },
    },
    ({ params }) => snapshotOf(at(params.station).line),
  );

  routes.get(
    '/api/stations/:station/line/live',
    {
      // A stream has no end that could be said without sending it.
      exposeHeadRoute: false,
      schema: {
        summary: 'Server-sent events: snapshot, then view and live as they change; Last-Event-ID resumes',
        tags: ['line'],
        params: Params,
        headers: z.object({ 'last-event-id': z.string().max(200).optional() }),
      },
    },
    (request, reply) => {
      join(at(request.params.station).hub, request, reply);
    },
  );

  routes.post(
    '/api/stations/:station/line/commands',
    {
      schema: {
        summary: 'What a person tells the station; 409 with a code when it cannot be done now',
        tags: ['line'],
        params: Params,
        body: LineCommand,
        response: { 200: Done },
      },
    },
    ({ params, body }) => {
      const { line } = at(params.station);
      line.command(body);
      return { prompt: line.view().prompt.code };
    },
  );

  routes.get(
    '/api/stations/:station/line/part-numbers',
    {
      schema: {
        summary: 'The part numbers that work can be set up for',
        tags: ['line'],
        params: Params,
        response: { 200: view<readonly PartNumberView[]>('partNumber, title, pressureClass, revision, notTestable') },
      },
    },
    ({ params }) => at(params.station).line.partNumbers(),
  );

  routes.get(
    '/api/stations/:station/line/demo',
    {
      schema: {
        summary: 'What can be simulated at a station; 404 when no demo is wanted',
        tags: ['line'],
        params: Params,
        response: { 200: view<DemoChoices>('parts, faults, partNumbers, phases') },
      },
    },
    ({ params }) => {
      const choices = at(params.station).line.demoChoices();
      if (choices === null) throw new HttpProblem(404, 'not-a-demo', 'Nothing is simulated on request here.');
      return choices;
    },
  );
}
