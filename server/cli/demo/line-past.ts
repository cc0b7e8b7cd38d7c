import { CAPABLE, partsFor } from '../../../station/host/demo.ts';
import { simulatedProofs } from '../../../station/host/simulated-station.ts';
import { makePlan } from '../../../station/profile/plan.ts';
import type { ProfileRevision } from '../../../station/profile/schema.ts';
import { stream } from '../../../station/random.ts';
import { operatorOf } from '../../line/station-books.ts';
import { PROGRAM } from '../../program.ts';
import { runAndKeep } from '../../records/keep.ts';
import type { History, Parts, PastStation } from './plant.ts';
import type { ScenarioLot } from './script.ts';
import { serialOf, sufferingOf } from './script.ts';

/** From one load to the next beside the test itself, ms: letting go, laying in, scanning. Common practice, no source. */
const HANDLING_MS = 10_000;
const OPERATORS = ['R. Tamm', 'L. Vance', 'J. Okafor'] as const;

/** Tests a whole lot at the line, load by load, and tests again what failed. Throws what the store throws. */
export async function testLot(
  history: History,
  line: PastStation,
  lot: ScenarioLot & { readonly profile: ProfileRevision },
  parts: Parts,
  seed: number,
): Promise<void> {
  const { nests } = line.revision;
  const chance = stream(seed, 'scenario', 0);
  const operator = OPERATORS[seed % OPERATORS.length] ?? OPERATORS[0];
  const failed: string[] = [];
  for (let first = 1; first <= lot.parts; first += nests) {
    const serials = Array.from({ length: nests }, (_, nest) => {
      const number = first + nest;
      if (number > lot.parts) return null;
      const serial = serialOf(lot, number);
      const sufferings = sufferingOf(chance, lot, number, nest);
      parts.set(serial, { draw: { seed: seed * 100_000 + number, index: 0 }, sufferings });
      return serial;
    });
    failed.push(...(await testLoad(history, line, { lot, serials, operator, seed: seed * 1000 + first }, parts)));
  }
  // Once more, in another nest: a seal that leaks is the nest's, a part that leaks is the part's.
  for (const [index, serial] of failed.entries()) {
    const part = parts.get(serial);
    if (part === undefined) continue;
    const isNests = lot.trouble?.is === 'leaking-nest' && part.sufferings.some(({ what }) => what === 'leak');
    parts.set(serial, { ...part, sufferings: isNests ? [] : part.sufferings });
    const serials = Array.from({ length: nests }, (_, nest) => (nest === 0 ? serial : null));
    await testLoad(history, line, { lot, serials, operator, seed: seed * 1000 + 500 + index }, parts);
  }
  history.store.checkpoint();
}

/** One cycle; the serials that failed in it. */
async function testLoad(
  { store, clock, stop }: History,
  { rig, revision, plant }: PastStation,
  load: {
    readonly lot: ScenarioLot & { readonly profile: ProfileRevision };
    readonly serials: readonly (string | null)[];
    readonly operator: string;
    readonly seed: number;
  },
  parts: Parts,
): Promise<string[]> {
  const { lot, serials, operator, seed } = load;
  const { content } = lot.profile;
  const draws = serials.map((serial) => parts.get(serial ?? '')?.draw ?? { seed: 0, index: 0 });
  const sufferings = serials.flatMap((serial, nest) =>
    serial === null
      ? [{ nest, what: 'empty' as const, size: 0, partNumber: null }]
      : (parts.get(serial)?.sufferings ?? []).map((each) => ({ ...each, nest })),
  );
  rig.loadParts(partsFor(content, plant, draws, sufferings, CAPABLE), seed);
  const plan = makePlan({ profile: lot.profile, rig: revision, kind: 'line', condition: 'ambient', plant });
  clock.follow(rig);
  const kept = await runAndKeep(
    rig,
    { plan, load: serials, proofs: simulatedProofs([]) },
    { lot: lot.lot, program: PROGRAM, actor: operatorOf(operator), seed },
    { clock, store, stop },
  );
  clock.pass(HANDLING_MS);
  stop.throwIfAborted();
  if (kept.record === null) throw kept.problem;
  return kept.record.measurement.results.flatMap(({ serial, verdict }) => (verdict === 'fail' ? [serial] : []));
}
