import { expect, test } from 'vitest';
import type { KeptNote, LabSnapshot, LabView } from '../../../server/lab/contract.ts';
import { labHub, noteOf } from '../../../server/lab/lab-live.ts';
import type { Sink } from '../../../server/live/hub.ts';
import type { Entry } from '../../../server/store/ledger.ts';
import { openStore } from '../../../server/store/store.ts';
import { EventStreamParser } from '../../support/event-stream.ts';
import { PROGRAM } from '../../support/ledger-content.ts';
import { labHere } from '../../support/lab.ts';
import { virtualClock } from '../../support/virtual-clock.ts';

const actor = { name: 'M. Orrell', role: 'quality engineer', proof: 'stated' } as const;

/** What a page would be told, event by event. */
function following(hub: ReturnType<typeof labHub>, lastId?: string) {
  const parser = new EventStreamParser();
  const sink = {
    ...{ writableLength: 0, end: () => undefined, destroy: () => undefined, on: () => undefined },
    write: (text: string) => {
      parser.push(text);
      return true;
    },
  } as unknown as Sink;
  hub.join(sink, lastId);
  const all = <T>(name: string): T[] =>
    parser.events.filter(({ event }) => event === name).map(({ data }) => JSON.parse(data) as T);
  return { parser, all };
}

test('a page is told where the lab stands, every view that differs, and what the ledger took in', async () => {
  const clock = virtualClock();
  const store = openStore(':memory:', { clock, program: PROGRAM });
  const lab = await labHere(store, clock, 2);
  const hub = labHub([lab.lab], store, clock, 'life');
  const page = following(hub);
  expect(page.all<LabSnapshot>('snapshot')).toEqual([
    { labs: JSON.parse(JSON.stringify([lab.view()])) as LabView[], head: store.head().sequence },
  ]);
  const from = store.head().sequence;
  await lab.ready('AQ-1105');
  // At every moment the last that was told is what would be answered.
  const views = page.all<LabView>('lab');
  expect(views.at(-1)).toEqual(JSON.parse(JSON.stringify(lab.view())));
  expect(views.map(({ doing }) => doing)).toContain('learning');
  for (const [at, view] of views.entries()) if (at > 0) expect(view).not.toEqual(views[at - 1]);
  // Each entry once, in order: none that pages do not rest on, none missing.
  await Promise.resolve();
  const wanted = [...store.entriesAfter(from)].flatMap((entry) => noteOf(entry) ?? []);
  expect(wanted.map(({ about }) => about)).toEqual(expect.arrayContaining(['station']));
  expect(page.all<KeptNote>('kept')).toEqual(wanted);

  // A link that was lost: what was missed, each once.
  const { lastId } = page.parser;
  store.samplingPlan({ partNumber: 'AQ-1105' as never, plan: { kind: 'fixed', n: 3 }, reason: 'r', actor });
  lab.host.kill();
  await Promise.resolve();
  const again = following(hub, lastId);
  expect(again.all('snapshot')).toEqual([]);
  expect(again.all<KeptNote>('kept').map(({ about }) => about)).toEqual(['plan']);
  expect(again.all<LabView>('lab').at(-1)?.link).toBe('lost');
  hub.end();
}, 60_000);

test('nothing is told of what was not kept', async () => {
  const store = openStore(':memory:', { clock: virtualClock(), program: PROGRAM });
  const heard: Entry[] = [];
  const leave = store.listen((entry) => heard.push(entry));
  expect(() =>
    store.audit(() => {
      throw new Error('thought better of it');
    }),
  ).toThrow('thought better of it');
  const proof = { station: 'LAB-1', proof: 'calibration', state: 'valid', evidence: 'e', until: null, actor } as const;
  const { sequence } = store.proof(proof);
  await Promise.resolve();
  expect(heard.map((entry) => [entry.sequence, entry.kind])).toEqual([[sequence, 'proof']]);
  leave();
  store.proof(proof);
  await Promise.resolve();
  expect(heard).toHaveLength(1);
});
