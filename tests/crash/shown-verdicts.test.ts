import { afterAll, beforeAll, expect, test } from 'vitest';
import { buildProduct } from '../support/product.ts';
import type { Built } from '../support/product.ts';
import { killAtRandom } from './shown-verdicts.ts';

const seed = Number(process.env['SEED'] ?? 20_261_125);

let built: Built;
beforeAll(async () => {
  built = await buildProduct({ screens: false });
}, 60_000);
afterAll(() => built.remove());

test(`server and station killed at 12 random instants (SEED=${seed}): every verdict that was shown has its record`, async () => {
  const report = await killAtRandom(built, { kills: 12, seed });
  expect(report.faults).toEqual([]);
  expect(report.kills.server + report.kills.station).toBe(12);
  // The kills met tests that ran, and verdicts were shown between them.
  expect(report.interrupted).toBeGreaterThan(0);
  expect(report.shownPasses).toBeGreaterThan(5);
}, 180_000);
