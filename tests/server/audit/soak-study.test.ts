import { expect, test } from 'vitest';
import { studiedLags } from '../../../server/audit/soak-study.ts';
import { stream } from '../../../station/random.ts';
import { dummyRun, drawSoakedPart } from '../../support/soak-truth.ts';

test('a study of 16 dummies finds lags that the slowest 1 % of parts stay within', () => {
  const chance = stream(1, 'study', 0);
  const dummies = Array.from({ length: 16 }, () => drawSoakedPart(chance));
  const study = studiedLags(dummies.map((part, k) => dummyRun(part, k, 25, 125)));
  expect(study).toMatchObject({ dummies: 16, unfitted: 0 });
  // True 99 % points: 90 exp(2.326 x 0.10) = 114 s and 300 exp(2.326 x 0.12) = 397 s (Phi⁻¹(0.99) = 2.326, any normal table).
  expect(study?.shellS).toBeGreaterThan(108);
  expect(study?.shellS).toBeLessThan(170);
  expect(study?.coreS).toBeGreaterThan(390);
  expect(study?.coreS).toBeLessThan(600);
  // The place of a dummy is up to 0.5 K off the thermometer's: two lags cannot follow that.
  expect(study?.worstRmsK).toBeLessThan(0.6);
});

test('a few dummies say nothing of the slowest', () => {
  const chance = stream(2, 'study', 0);
  const runs = Array.from({ length: 7 }, (_, k) => dummyRun(drawSoakedPart(chance), k, 25, 125));
  expect(studiedLags(runs)).toBeNull();
});

test('a dummy that is driven twice is one dummy, by the slower of its runs', () => {
  const chance = stream(3, 'study', 0);
  const dummies = Array.from({ length: 8 }, () => drawSoakedPart(chance));
  const once = studiedLags(dummies.map((part, k) => dummyRun(part, k, 25, 125)))!;
  const twice = studiedLags(
    dummies.flatMap((part, k) => [dummyRun(part, k, 25, 125), { ...dummyRun(part, 100 + k, 25, -40), dummy: k }]),
  )!;
  expect(twice.dummies).toBe(8);
  expect(twice.middle.coreS).toBeGreaterThanOrEqual(once.middle.coreS);
});
