import { expect, test } from 'vitest';
import { hasNoFewerConditions, isNoWeakerProfile } from '../../../server/audit/same-weight.ts';
import type { ProfileContent } from '../../../station/profile/schema.ts';
import { PROFILE } from '../../support/ledger-content.ts';

test('a return to ambient is a condition of its own', () => {
  expect(hasNoFewerConditions(['ambient', 'hot'], ['ambient', 'hot', 'ambient'])).toBe(false);
  expect(hasNoFewerConditions(['ambient', 'hot', 'ambient'], ['hot', 'ambient'])).toBe(true);
  expect(hasNoFewerConditions(['hot', 'ambient', 'ambient'], ['ambient', 'hot', 'ambient'])).toBe(true);
  expect(hasNoFewerConditions(['ambient', 'ambient'], ['ambient', 'hot'])).toBe(false);
});

test('a profile weighs as much as another where whatever passes by it passes by that one too', () => {
  const { errorBand, leakHold, lag, noise, supply, points, rules, load } = PROFILE;
  const cases: readonly [string, Partial<ProfileContent>, boolean][] = [
    ['title', { title: 'another', document: { title: 'Print', revision: 'D' } }, true],
    ['narrower band', { errorBand: { ...errorBand, kPa: 1 } }, true],
    ['wider band', { errorBand: { ...errorBand, kPa: 2 } }, false],
    ['wider when hot', { errorBand: { ...errorBand, factors: [{ partC: 0, factor: 2 }] } }, false],
    ['wider leak', { leakHold: { ...leakHold, limitStdCm3PerMin: 1 } }, false],
    ['longer lag', { lag: { ...lag, limitMs: 11 } }, false],
    ['more noise', { noise: { ...noise, limitV: 0.003 } }, false],
    ['less current', { supply: { ...supply, currentMa: { low: 1, high: 10 } } }, false],
    ['more current', { supply: { ...supply, currentMa: { low: 2, high: 11 } } }, false],
    ['fewer points', { points: points.slice(1) }, false],
    ['one point more', { points: [...points, { ...points[0]!, id: 'p115-up', branch: 'rising' }] }, true],
    ['another load', { load: { ...load, ohm: 10_000 } }, false],
    ['another rule of the line', { rules: { ...rules, line: { kind: 'simple' } } }, true],
    ['another rule of the audit', { rules: { ...rules, audit: { kind: 'guard-band', factor: 1 } } }, false],
  ];
  for (const [name, change, expected] of cases)
    expect([name, isNoWeakerProfile({ ...PROFILE, ...change }, PROFILE)]).toEqual([name, expected]);
});
