import {
  firstRevision,
  isCharacterised,
  nextRevision,
  simulatedProofs,
  simulatedRig,
  stationName,
} from '../../station/host/simulated-station.ts';
import { runAndKeep } from '../../server/records/keep.ts';
import { openStore } from '../../server/store/store.ts';
import { systemClock } from '../../station/clock.ts';
import { makePlan } from '../../station/profile/plan.ts';
import { drawPart, partModelOf } from '../../station/rig/simulated/part.ts';
import { readProfiles } from '../../server/profiles/folder.ts';
import { ACTOR, PROGRAM } from '../support/ledger-content.ts';
import { say, shown } from './witness.ts';

/**
 * The product's own road, unpaced: real cycles on the simulated rig, kept by `runAndKeep` until somebody kills the
 * process. Every phase is said as it begins, and each verdict when it leaves the cycle. Arguments: ledger, folder of profiles, seed.
 */
const [ledger = '', profiles = '', seed = '1'] = process.argv.slice(2);
const choice = { nests: 2, rigSeed: 1, barometerKpaAbs: null };
const never = new AbortController().signal;
const profile = readProfiles(profiles).revisions[0];
if (profile === undefined) throw new Error('there is a profile');

const store = openStore(ledger, { clock: systemClock, program: PROGRAM });
store.closeInterrupted();
store.issueProfile(profile, ACTOR);
const rig = simulatedRig(choice);
const latest = store.latestRigRevision(stationName(choice))?.revision;
const revision =
  latest !== undefined && isCharacterised(latest, profile)
    ? latest
    : await nextRevision(rig, firstRevision(rig, stationName(choice)), profile, never);
store.issueRigRevision(revision, ACTOR);
const plan = makePlan({ profile, rig: revision, kind: 'line', condition: 'ambient', plant: [] });
say(1, { says: 'ready' });

// Ends with the process: it is there to be killed.
for (let number = store.head().sequence; ; number += 2) {
  const model = partModelOf(profile.content);
  const parts = [0, 1].map((nest) => ({
    ...drawPart(Number(seed), number + nest, model),
    ...(number % 3 === 0 && nest === 1 ? { leakStdCm3PerMin: 3 } : {}),
  }));
  rig.loadParts(parts, number);
  const load = parts.map((_, nest) => `K-${number}-${nest}`);
  let cycle = '';
  const { record, problem } = await runAndKeep(
    rig,
    { plan, load, proofs: simulatedProofs([]) },
    { lot: 'K', program: PROGRAM, actor: ACTOR, seed: number },
    {
      clock: systemClock,
      store,
      stop: never,
      onEvent: (event) => {
        if (event.type === 'opened') {
          cycle = store.unfinished()[0]?.opening.cycle ?? '';
          say(1, { says: 'opened', cycle });
        } else if (event.type === 'phase') say(1, { says: 'phase', phase: event.phase });
        else if (event.type === 'closed') say(1, shown(cycle, event.results));
      },
    },
  );
  if (record === null) throw problem;
  if (number % 5 === 0) store.checkpoint();
}
