import { createHash } from 'node:crypto';
import { expect } from 'vitest';
import { auditView } from '../../../server/audit/audits.ts';
import { drawnFrom } from '../../../server/audit/drawing.ts';
import { auditJson } from '../../../server/report/audit-exports.ts';
import { AuditedLots } from '../../support/audited-lots.ts';
import { ACTOR, PROFILE } from '../../support/ledger-content.ts';
import { test } from '../../support/ledger-fixture.ts';

/** The draw as its method says it, made anew from what the JSON holds and with another SHA-256. */
function drawnAgain(list: readonly string[], n: number, seed: string): string[] {
  const row = [...list];
  let k = 0;
  const below = (m: number): number => {
    for (;;) {
      const digest = createHash('sha256').update(`sha256-counter/1|${seed}|${k}`).digest('hex');
      k += 1;
      const x = Number.parseInt(digest.slice(0, 12), 16);
      if (x < 2 ** 48 - (2 ** 48 % m)) return x % m;
    }
  };
  for (let i = 0; i < n; i += 1) {
    const j = i + below(list.length - i);
    [row[i], row[j]] = [row[j]!, row[i]!];
  }
  return row.slice(0, n);
}

test('whoever has the JSON can make the draw again: list, hash and seed are in it, whatever passed later', ({
  store,
}) => {
  const lots = new AuditedLots(store);
  store.samplingPlan({ partNumber: PROFILE.partNumber, plan: { kind: 'fixed', n: 5 }, reason: 'r', actor: ACTOR });
  const before = lots.line('L-1', 12);
  const audit = lots.draw('L-1');
  lots.line('L-1', 6);
  const view = auditView(store, audit, 'Alder Quay');
  const { draw } = JSON.parse(auditJson(view, drawnFrom(store, audit))) as {
    readonly draw: {
      readonly lotSerials: readonly string[];
      readonly lotHash: string;
      readonly lotSize: number;
      readonly seed: string;
      readonly serials: readonly string[];
    };
  };
  expect(draw.lotSerials).toEqual(before);
  expect(draw.lotSize).toBe(12);
  expect(createHash('sha256').update(draw.lotSerials.join('\n')).digest('hex')).toBe(draw.lotHash);
  expect(drawnAgain(draw.lotSerials, draw.serials.length, draw.seed)).toEqual(draw.serials);
});
