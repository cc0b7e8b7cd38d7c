import { expect, test } from 'vitest';
import { studiedLags } from '../../../server/audit/soak-study.ts';
import type { StudiedLags } from '../../../server/audit/soak-study.ts';
import type { DummyRun } from '../../../station/soak/lags-fit.ts';
import { stream } from '../../../station/random.ts';
import { dummyRun, drawSoakedPart } from '../../support/soak-truth.ts';

/** What a study came to that says enough. */
function enough(runs: readonly DummyRun[]): StudiedLags {
  const study = studiedLags(runs);
  if ('code' in study) throw new Error(study.code);
  return study;
}

test('a study of 16 dummies finds lags that the slowest 1 % of parts stay within', () => {
  const chance = stream(1, 'study', 0);
  const dummies = Array.from({ length: 16 }, () => drawSoakedPart(chance));
  const study = enough(dummies.map((part, k) => dummyRun(part, k, 25, 125)));
  expect(study.dummies).toBe(16);
  // True 99 % points: 90 exp(2.326 x 0.10) = 114 s and 300 exp(2.326 x 0.12) = 397 s (Phi⁻¹(0.99) = 2.326, any normal table).
  expect(study.shellS).toBeGreaterThan(108);
  expect(study.shellS).toBeLessThan(170);
  expect(study.coreS).toBeGreaterThan(390);
  expect(study.coreS).toBeLessThan(600);
  // The place of a dummy is up to 0.5 K off the thermometer's: two lags cannot follow that.
  expect(study.worstRmsK).toBeLessThan(0.6);
});

test('a few dummies say nothing of the slowest', () => {
  const chance = stream(2, 'study', 0);
  const runs = Array.from({ length: 7 }, (_, k) => dummyRun(drawSoakedPart(chance), k, 25, 125));
  expect(studiedLags(runs)).toMatchObject({ code: 'too-few-dummies', facts: { dummies: 7, fitted: 7, least: 8 } });
});

test('a dummy that is driven twice is one dummy, by the slower of its runs', () => {
  const chance = stream(3, 'study', 0);
  const dummies = Array.from({ length: 8 }, () => drawSoakedPart(chance));
  const once = enough(dummies.map((part, k) => dummyRun(part, k, 25, 125)));
  const twice = enough(
    dummies.flatMap((part, k) => [dummyRun(part, k, 25, 125), { ...dummyRun(part, 100 + k, 25, -40), dummy: k }]),
  );
  expect(twice.dummies).toBe(8);
  expect(twice.middle.coreS).toBeGreaterThanOrEqual(once.middle.coreS);
});

/** Nine dummies, one more than is asked for; the last one's thermometer shows something else. */
const withOne = (shown: (coreC: Float64Array, airC: Float64Array) => Float64Array): DummyRun[] => {
  const chance = stream(4, 'study', 0);
  return Array.from({ length: 9 }, (_, k) => {
    const run = dummyRun(drawSoakedPart(chance), k, 25, 125);
    return k < 8 ? run : { ...run, coreC: shown(run.coreC, run.airC) };
  });
};

test.each([
  ['does not move: its wire is off', (core: Float64Array) => core.map(() => 25)],
  [
    'stands off the part: half of it is the air',
    (core: Float64Array, air: Float64Array) => core.map((value, i) => (i % 200 < 100 ? value : (value + air[i]!) / 2)),
  ],
  [
    'jumps by 8 K for ten minutes',
    (core: Float64Array) => core.map((value, i) => (i >= 400 && i < 520 ? value + 8 : value)),
  ],
])('a dummy whose thermometer %s is not left out: it may be the slowest', (_name, shown) => {
  expect(enough(withOne((core) => core)).dummies).toBe(9);
  expect(studiedLags(withOne(shown))).toMatchObject({ code: 'dummy-not-fitted', facts: { dummies: 9, fitted: 8 } });
});

test('a dummy that fits in one of its two runs only is not fitted', () => {
  const runs = withOne((core) => core);
  const again = { ...runs[0]!, coreC: runs[0]!.coreC.map(() => 25) };
  expect(studiedLags([...runs, again])).toMatchObject({ code: 'dummy-not-fitted', facts: { dummies: 9, fitted: 8 } });
});
