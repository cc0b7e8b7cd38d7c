import type { ProfileRevision } from '../../../station/profile/schema.ts';
import { stream } from '../../../station/random.ts';
import { operatorOf } from '../../line/actors.ts';
import { PROGRAM } from '../../program.ts';
import type { History, Parts, PastStation } from './plant.ts';
import type { ScenarioLot } from './script.ts';
import { serialOf, sufferingOf } from './script.ts';

/** From one load to the next beside the test itself, ms: letting go, laying in, scanning. Common practice, no source. */
const HANDLING_MS = 10_000;
const OPERATORS = ['R. Tamm', 'L. Vance', 'J. Okafor'] as const;

type Tested = ScenarioLot & { readonly profile: ProfileRevision };

/** Tests a whole lot at the line, load by load, and tests again what failed. Rejects with what cannot be kept. */
export async function testLot(
  history: History,
  line: PastStation,
  lot: Tested,
  parts: Parts,
  seed: number,
): Promise<void> {
  const chance = stream(seed, 'scenario', 0);
  const operator = OPERATORS[seed % OPERATORS.length] ?? OPERATORS[0];
  const failed: string[] = [];
  for (let first = 1; first <= lot.parts; first += line.nests) {
    const serials = Array.from({ length: line.nests }, (_, nest) => {
      const number = first + nest;
      if (number > lot.parts) return null;
      const serial = serialOf(lot, number);
      const sufferings = sufferingOf(chance, lot, number, nest);
      parts.set(serial, { draw: { seed: seed * 100_000 + number, index: 0 }, sufferings });
      return serial;
    });
    failed.push(...(await testLoad(history, line, { lot, serials, operator, seed: seed * 10_000 + first }, parts)));
  }
  // Once more, in another nest: a seal that leaks is the nest's, a part that leaks is the part's.
  for (const [index, serial] of failed.entries()) {
    const part = parts.get(serial);
    if (part === undefined) continue;
    const isNests = lot.trouble?.is === 'leaking-nest' && part.sufferings.some(({ what }) => what === 'leak');
    parts.set(serial, { ...part, sufferings: isNests ? [] : part.sufferings });
    const serials = Array.from({ length: line.nests }, (_, nest) => (nest === 0 ? serial : null));
    await testLoad(history, line, { lot, serials, operator, seed: seed * 10_000 + 5000 + index }, parts);
  }
  await history.keeper.pause();
}

/** One cycle; the serials that failed in it. */
async function testLoad(
  { clock }: History,
  line: PastStation,
  load: {
    readonly lot: Tested;
    readonly serials: readonly (string | null)[];
    readonly operator: string;
    readonly seed: number;
  },
  parts: Parts,
): Promise<string[]> {
  const { lot, serials, operator, seed } = load;
  line.layIn(lot.profile.content, serials, parts, seed);
  const plan = line.plan({ profile: lot.profile, kind: 'line', condition: 'ambient' });
  const occasion = { lot: lot.lot, program: PROGRAM, actor: operatorOf(operator), seed };
  const { measurement } = await line.run({ plan, load: serials }, occasion);
  clock.pass(HANDLING_MS);
  return measurement.results.flatMap(({ serial, verdict }) => (verdict === 'fail' ? [serial] : []));
}
