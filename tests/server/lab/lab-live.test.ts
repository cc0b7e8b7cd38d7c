import { expect, test } from 'vitest';
import type { KeptNote, LabSnapshot, LabView } from '../../../server/lab/contract.ts';
import { labHub } from '../../../server/lab/lab-live.ts';
import type { Sink } from '../../../server/live/hub.ts';
import type { Entry } from '../../../server/store/ledger.ts';
import { openStore } from '../../../server/store/store.ts';
import { EventStreamParser } from '../../support/event-stream.ts';
import { PROGRAM } from '../../support/ledger-content.ts';
import { labHere } from '../../support/lab.ts';
import { virtualClock } from '../../support/virtual-clock.ts';

const actor = { name: 'M. Orrell', role: 'quality engineer', proof: 'stated' } as const;

/** What pages are told of, by the kind of an entry or the action of the journal; null: nothing. */
const ABOUT: Readonly<Record<string, KeptNote['about'] | null>> = {
  audit: 'audit',
  disposition: 'decision',
  'sampling-plan': 'plan',
  proof: 'station',
  'rig-revision': 'station',
  'profile-issue': null,
  server: null,
  'cycle-opened': null,
  // Of an audit it is 'audit'; those of this test are of none.
  'cycle-closed': null,
  'clock-set-back': null,
  'journal soak-studied': 'station',
  'journal sampling-resumed': 'plan',
  'journal lot-closed': 'lot',
  'journal lot-opened': 'lot',
  'journal work-set': null,
  'journal rig-connected': null,
};

/** The notes that entries without an audit are to bring. */
const notesOf = (entries: Iterable<Entry>): KeptNote[] =>
  [...entries].flatMap(({ sequence, kind, content }) => {
    const name = kind === 'journal' ? `journal ${content.action}` : kind;
    const about = ABOUT[name];
    if (about === undefined) throw new Error(`no page was thought of at ${name}`);
    return about === null ? [] : { sequence, about, audit: null };
  });

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
  const wanted = notesOf(store.entriesAfter(from));
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

test('pages are told of whatever their answers rest on, and of nothing else', async () => {
  const clock = virtualClock();
  const store = openStore(':memory:', { clock, program: PROGRAM });
  const hub = labHub([], store, clock, 'life');
  const page = following(hub);
  const from = store.head().sequence;
  for (const name of Object.keys(ABOUT).filter((each) => each.startsWith('journal ')))
    store.journal({ action: name.replace('journal ', ''), subject: 's', facts: {}, comment: null, actor });
  store.proof({ station: 'LAB-1', proof: 'calibration', state: 'valid', evidence: 'e', until: null, actor });
  store.samplingPlan({ partNumber: 'AQ-1105' as never, plan: { kind: 'fixed', n: 3 }, reason: 'r', actor });
  const said = { partNumber: 'AQ-1105' as never, lot: 'K1', decision: 'hold', reason: 'r', concession: null } as const;
  store.disposition({ ...said, actor });
  await Promise.resolve();
  const told = page.all<KeptNote>('kept');
  expect(told).toEqual(notesOf(store.entriesAfter(from)));
  expect(told.map(({ about }) => about)).toEqual(['station', 'plan', 'lot', 'lot', 'station', 'plan', 'decision']);
  const { sequence } = store.disposition({ ...said, audit: 'a-1', actor });
  await Promise.resolve();
  expect(page.all<KeptNote>('kept').at(-1)).toEqual({ sequence, about: 'decision', audit: 'a-1' });
  hub.end();
});

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
