import type { Clock } from '../../station/clock.ts';
import { RESUMED } from '../audit/inspection.ts';
import { Hub } from '../live/hub.ts';
import { ABOUT_LOT } from '../records/lot-standing.ts';
import type { Entry } from '../store/ledger.ts';
import type { Store } from '../store/store.ts';
import type { KeptNote, LabSnapshot, LabView } from './contract.ts';
import { STUDIED } from './soak-books.ts';

/** A lab station as its stream has it. */
interface Told {
  view(): LabView;
  listen(listener: (view: LabView) => void): () => void;
}

/**
 * One stream for the pages of the lab: `snapshot`, then `lab` (the view of a station) whenever one has changed and `kept`
 * whenever the ledger has taken in what such a page rests on.
 */
export function labHub(labs: readonly Told[], store: Store, clock: Clock, life: string): Hub {
  const snapshot = (): LabSnapshot => ({ labs: labs.map((lab) => lab.view()), head: store.head().sequence });
  const hub = new Hub(life, clock, () => ({ event: 'snapshot', data: snapshot() }));
  for (const lab of labs) lab.listen((view) => hub.say({ event: 'lab', data: view }));
  store.listen((entry) => {
    const note = noteOf(entry);
    if (note !== null) hub.say({ event: 'kept', data: note });
  });
  return hub;
}

/** What of the journal pages of the lab rest on. */
const JOURNAL: ReadonlyMap<string, KeptNote['about']> = new Map([
  [STUDIED, 'station'],
  [RESUMED, 'plan'],
  [ABOUT_LOT.closed, 'lot'],
  [ABOUT_LOT.opened, 'lot'],
]);

/** What an entry means for the pages of the lab; null for one that they do not rest on. */
function noteOf({ sequence, ...entry }: Entry): KeptNote | null {
  switch (entry.kind) {
    case 'audit':
      return { sequence, about: 'audit', audit: entry.content.audit };
    case 'cycle-closed': {
      const { audit } = entry.content.circumstances;
      return audit === undefined ? null : { sequence, about: 'audit', audit: audit.audit };
    }
    case 'disposition':
      return { sequence, about: 'decision', audit: entry.content.audit ?? null };
    case 'sampling-plan':
      return { sequence, about: 'plan', audit: null };
    case 'proof':
    case 'rig-revision':
      return { sequence, about: 'station', audit: null };
    case 'journal': {
      const about = JOURNAL.get(entry.content.action);
      return about === undefined ? null : { sequence, about, audit: null };
    }
    case 'server':
    case 'cycle-opened':
    case 'profile-issue':
    case 'clock-set-back':
      return null;
  }
}
