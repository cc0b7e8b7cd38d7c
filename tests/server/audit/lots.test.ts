import { mean, standardDeviation } from 'simple-statistics';
import { expect, test } from 'vitest';
import { countsOf, latestLots, lotView, reasonsOf } from '../../../server/audit/lots.ts';
import type { LotResult } from '../../../server/store/lot-history.ts';
import { lineHere } from '../../support/line.ts';
import type { LineHere } from '../../support/line.ts';

const serial = (n: number): string => `AQ1105-26K24-${String(n).padStart(5, '0')}`;

/** A load of two, the one in nest 2 leaking where it is said so; its reject goes into its bin. */
async function load(here: LineHere, serials: readonly string[], leaks: boolean): Promise<void> {
  here.line.command({
    type: 'demo',
    parts: leaks ? [{ nest: 2, what: 'leak', size: 2.5, partNumber: null }] : [],
    fault: null,
  });
  here.scan(...serials);
  const { outcome } = await here.test();
  for (const { nest, isWaiting } of outcome?.nests ?? [])
    if (isWaiting) here.line.command({ type: 'acknowledge', cycle: outcome?.cycle ?? '', nest });
}

test('a lot as the line made it: counts, reasons by nest, readings with the index of their moving range', async () => {
  const here = await lineHere();
  await here.ready();
  const LOADS = 26;
  for (let each = 0; each < LOADS; each += 1)
    await load(here, [serial(2 * each + 1), serial(2 * each + 2)], each % 13 === 0);
  // A reject is tested once more, and fails again; its first attempt stays the one that counts.
  here.scan(serial(2));
  here.line.command({ type: 'leave-empty', nest: 2 });
  const again = await here.test();
  expect(again.outcome?.nests[0]).toMatchObject({ serial: serial(2), verdict: 'fail' });
  here.line.command({ type: 'acknowledge', cycle: again.outcome?.cycle ?? '', nest: 1 });
  here.store.checkpoint();

  const lot = lotView(here.store, 'AQ-1105', 'K24-3');
  expect(lot).toMatchObject({
    state: 'open',
    origin: 'simulated',
    pressureClass: '1 bar',
    revisions: [3],
    decided: null,
  });
  expect(lot.counts).toEqual({
    parts: 52,
    passed: 50,
    failed: 2,
    notJudged: 0,
    retested: 1,
    firstPass: { passed: 50, of: 52 },
  });
  expect(lot.reasons).toEqual([{ reason: 'leak', parts: 2, nests: [{ station: 'EOL-1', nest: 2, parts: 2, of: 26 }] }]);

  // The same from the records themselves, by a general-purpose statistics library.
  const values = (step: string, nest?: number): number[] =>
    here.store
      .byLot('AQ-1105', 'K24-3', 1000)
      .reverse()
      .filter(({ record }) => record.measurement.results.length === 2)
      .flatMap(({ record }) => record.measurement.judgements)
      .filter((each) => each.step === step && each.quantity === 'output' && (nest === undefined || each.nest === nest))
      .map(({ value }) => value);
  const point = lot.points.find(({ step }) => step === '60-kpa');
  const all = values('60-kpa');
  expect(point?.all.n).toBe(all.length);
  expect(point?.all.mean).toBeCloseTo(mean(all), 12);
  const [first, second] = point?.nests ?? [];
  expect([first, second].map((group) => [group?.station, group?.nest])).toEqual([
    ['EOL-1', 1],
    ['EOL-1', 2],
  ]);
  const own = values('60-kpa', 0);
  expect(first?.mean).toBeCloseTo(mean(own), 12);
  // Sample standard deviation (divisor n - 1) from the library's population one.
  expect(first?.sd).toBeCloseTo(standardDeviation(own) * Math.sqrt(own.length / (own.length - 1)), 12);
  // Cpk of individuals: mean moving range over d2 = 1.128 (NIST/SEMATECH e-Handbook, 6.3.2.2).
  const moving = mean(own.slice(1).map((value, at) => Math.abs(value - (own[at] ?? 0)))) / 1.128;
  const { low, high } = point ?? {};
  const cpk = Math.min((high ?? 0) - mean(own), mean(own) - (low ?? 0)) / (3 * moving);
  expect(first?.cpk).toBeCloseTo(cpk, 2);
  // One-sided quantities have no index, nor have groups of fewer than 25: nest 2 has 24 whole readings.
  expect(lot.points.find(({ quantity }) => quantity === 'leak')?.all.cpk).toBeNull();

  await here.ready('AQ-1105', 'K24-4');
  await load(here, [serial(901), serial(902)], false);
  here.store.checkpoint();
  expect(latestLots(here.store, 10).map((each) => [each.partNumber, each.lot, each.counts.parts])).toEqual([
    ['AQ-1105', 'K24-4', 2],
    ['AQ-1105', 'K24-3', 52],
  ]);
  expect(() => lotView(here.store, 'AQ-1105', 'K99')).toThrow(/No part of AQ-1105, lot K99/);
}, 120_000);

const result = (serialOf: number, verdict: LotResult['verdict'], more: Partial<LotResult> = {}): LotResult => ({
  sequence: 1,
  station: 'EOL-1',
  kind: 'line',
  at: '2026-11-25T12:00:00.000Z',
  nest: 0,
  serial: serial(serialOf),
  verdict,
  blame: null,
  reason: null,
  origin: 'simulated',
  plan: 'a'.repeat(64),
  ...more,
});

test('a part is counted once, by its last judged cycle; what was never judged apart', () => {
  expect(
    countsOf([
      result(1, 'none'),
      result(1, 'fail'),
      result(1, 'pass'),
      result(2, 'none'),
      result(3, 'pass'),
      result(3, 'none'),
    ]),
  ).toEqual({ parts: 3, passed: 2, failed: 0, notJudged: 1, retested: 1, firstPass: { passed: 1, of: 2 } });
});

test('reasons: the most frequent first, each with the nests it came from', () => {
  const leak = { blame: 'part', reason: 'leak' };
  const reasons = reasonsOf([
    result(1, 'fail', { ...leak, nest: 4 }),
    result(2, 'fail', { ...leak, nest: 4 }),
    result(3, 'fail', { ...leak, nest: 0 }),
    result(4, 'fail', { blame: 'part', reason: 'slow', nest: 0 }),
    result(5, 'pass', { nest: 4 }),
  ]);
  expect(reasons).toEqual([
    {
      reason: 'leak',
      parts: 3,
      nests: [
        { station: 'EOL-1', nest: 5, parts: 2, of: 3 },
        { station: 'EOL-1', nest: 1, parts: 1, of: 2 },
      ],
    },
    { reason: 'slow', parts: 1, nests: [{ station: 'EOL-1', nest: 1, parts: 1, of: 2 }] },
  ]);
});
