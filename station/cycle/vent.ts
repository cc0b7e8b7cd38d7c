import { StationFault } from '../faults.ts';
import { checkOutputZero, compareVented, Gathering } from './crosscheck.ts';
import type { CycleEvent } from './event.ts';
import { meanOf } from './means.ts';
import type { Test } from './test.ts';

const VENTED_KPA = 0.5;
const VENT_LIMIT_MS = 5000;
/** The gas is hot after a vent from vacuum and draws more in while it cools: until then nests are not at ambient. */
const REST_MS = 500;
const LOOK_MS = 100;
/** Several times the time in which gas takes a nest's temperature. Engineering assumption. */
const STILL_LIMIT_MS = 5000;
const RELEASE_LIMIT_MS = 3000;

/**
 * Opens everything to ambient and proves it by measurement; then, with supplies off, looks once more whether the
 * instruments agree and read zero, so that one that drifted during the test cannot have made a verdict.
 */
export async function* vent(test: Test): AsyncGenerator<CycleEvent, void> {
  yield test.enter('vent');
  const { rig, stop, sampling, watch } = test;
  await rig.vent(stop);
  for (let nest = 0; nest < test.nests.length; nest += 1) {
    watch.expectSupply(nest, null);
    await rig.supply(nest, 0, stop);
    await rig.isolate(nest, false, stop);
  }
  const kPaAbs = test.nests.map(() => Number.NaN);
  const vented = await sampling.until(VENT_LIMIT_MS, (block) => {
    for (let nest = 0; nest < kPaAbs.length; nest += 1) {
      kPaAbs[nest] = meanOf(block.nests[nest]?.referenceKpaAbs ?? new Float64Array());
    }
    return kPaAbs.every((nest) => Math.abs(nest - block.barometerKpaAbs) < VENTED_KPA);
  });
  if (!vented) throw new StationFault('not-vented', { facts: { highestKpaAbs: Math.max(...kPaAbs) } });
  await sampling.pass(REST_MS);
  const gathering = await still(test);
  checkOutputZero(test, gathering);
  yield test.vented(
    true,
    gathering.references.map(({ mean }) => mean),
  );
}

/**
 * What the instruments on the vented gas read once they agree. Gas that came into a cold or hot nest goes on drawing more in,
 * or pushing some out, until it has the nest's temperature: in a chamber it is looked at again for so long. Throws
 * `instrument-disagrees` when they still do not.
 */
async function still(test: Test): Promise<Gathering> {
  const limitMs = test.plan.rig.revision.chamber ? STILL_LIMIT_MS : 0;
  for (let waitedMs = 0; ; waitedMs += LOOK_MS) {
    const gathering = new Gathering(test.nests.length);
    await test.sampling.pass(LOOK_MS, (block) => gathering.take(block));
    try {
      compareVented(test, gathering);
      return gathering;
    } catch (cause) {
      if (waitedMs >= limitMs) throw cause;
    }
  }
}

/**
 * Opens the clamps, if they are closed; the rig refuses unless the guard is shut and the vent measured. A stopped cycle
 * is released as well: the stop is over once the rig is safe, and only a trip still counts.
 */
export async function* release(test: Test): AsyncGenerator<CycleEvent, void> {
  yield test.enter('release');
  const { rig, sampling } = test;
  const { trip } = rig;
  sampling.heed(trip);
  let released = false;
  try {
    released = !(await rig.interlocks(trip)).clamped;
    if (!released) await rig.release(trip);
    for (let waitedMs = 0; waitedMs < RELEASE_LIMIT_MS && !released; waitedMs += LOOK_MS) {
      await sampling.pass(LOOK_MS);
      released = !(await rig.interlocks(trip)).clamped;
    }
  } catch (cause) {
    // The results stand; what is left is a clamp that a person has to see to.
    yield test.fail(cause);
  }
  yield { type: 'released', atMs: sampling.nowMs, released };
}
