import { hashOf } from '../../station/hash.ts';
import type { RigRevision } from '../../station/rig/revision.ts';
import type { Actor } from '../store/record-format.ts';
import type { Store } from '../store/store.ts';

/**
 * The rig revision that a station which has just spoken works under: the ledger's latest as long as the rig is still
 * the one it describes, else a new issue that knows no part number. `marker` tells rigs apart that declare the same
 * (a simulated rig's seed); `known` is what this life of the server worked under before. Throws what the store throws.
 */
export function issueOf(
  spoken: RigRevision,
  known: RigRevision | null,
  marker: string,
  store: Store,
  actor: Actor,
): RigRevision {
  // Within one life of the server a station keeps its rig.
  if (known !== null && isSame(known, spoken)) return known;
  const { station } = spoken;
  const subject = `${station}/rig`;
  const latest = store.latestRigRevision(station)?.revision;
  const before = store.journalOf(subject, 1)[0]?.content.facts['marker'];
  if (latest !== undefined && before === marker && isSame(latest, spoken)) return latest;
  const issued = { ...spoken, issue: (latest?.issue ?? 0) + 1 };
  store.issueRigRevision(issued, actor);
  store.journal({ action: 'rig-connected', subject, facts: { marker }, comment: null, actor });
  return issued;
}

const isSame = (a: RigRevision, b: RigRevision): boolean =>
  hashOf({ ...a, issue: 0, characters: [] }) === hashOf({ ...b, issue: 0, characters: [] });
