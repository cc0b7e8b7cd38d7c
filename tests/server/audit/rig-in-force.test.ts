import { afterAll, beforeAll, expect, test } from 'vitest';
import { auditView, stateOfAudit } from '../../../server/audit/audits.ts';
import { rigsInForce } from '../../../server/audit/rig-in-force.ts';
import type { Store } from '../../../server/store/store.ts';
import { auditedLedger } from '../../support/audited-ledger.ts';
import type { AuditedLedger } from '../../support/audited-ledger.ts';

const actor = { name: 'T. Aas', role: 'test engineer', proof: 'stated' } as const;
const calibrated = (store: Store, evidence: string): number =>
  store.proof({ station: 'LAB-9', proof: 'calibration', state: 'valid', evidence, until: null, actor }).sequence;

let ledger: AuditedLedger;
beforeAll(async () => {
  ledger = await auditedLedger(['K90-1', 'K90-2'], { parts: 10, audited: 3 });
}, 60_000);
afterAll(() => {
  ledger.remove();
});

const auditOf = (lot: string): string => ledger.store.audits.drawn({ partNumber: 'AQ-1105', lot }, 1)[0]!.audit;

test('a calibration of today is not that of yesterday', () => {
  const { store } = ledger;
  const before = auditView(store, auditOf('K90-1'), 'p').rig;
  expect(before.inForce).toHaveLength(1);
  expect(before.inForce[0]).toMatchObject({ tests: 3, calibration: { evidence: 'simulated station', state: 'valid' } });
  calibrated(store, 'CAL-2026-044');
  // Those of another station or of another kind are none of its own.
  store.proof({ station: 'EOL-9', proof: 'calibration', state: 'valid', evidence: 'X', until: null, actor });
  store.proof({ station: 'LAB-9', proof: 'master-check', state: 'valid', evidence: 'Y', until: null, actor });
  expect(auditView(store, auditOf('K90-1'), 'p').rig).toEqual(before);
});

test('one that was kept between two openings holds for the later, and both are said', () => {
  const { store } = ledger;
  const { cycles } = stateOfAudit(store, auditOf('K90-2'));
  const { cycles: others } = stateOfAudit(store, auditOf('K90-1'));
  // Cycles of both lots: what was kept between them is between these.
  const opened = others.map(({ record }) => store.openingSequenceOf(record.circumstances.cycle)!);
  expect(opened).toEqual([...opened].sort((a, b) => a - b));
  for (const { record, sequence } of [...others, ...cycles]) {
    const at = store.openingSequenceOf(record.circumstances.cycle)!;
    expect(at).toBeLessThan(sequence);
    expect(store.proofBefore('LAB-9', 'calibration', at)?.sequence).toBeLessThan(at);
  }
  const [first, second, third] = others;
  const renewed = calibrated(store, 'CAL-2026-050');
  // The same records, opened once more under the new calibration: what a second load of the audit would be.
  const again = [second!, third!].map(({ record, ...place }, k) => {
    const cycle = `again-${k}`;
    const { plan } = record.measurement;
    const {
      closedAt: _a,
      closedMonotonicMs: _b,
      trace: _c,
      barometerKpaAbs: _d,
      roomC: _e,
      ...opening
    } = record.circumstances;
    store.openCycle({ ...opening, cycle, load: [...record.measurement.load] }, store.document('plan', plan));
    return { ...place, record: { ...record, circumstances: { ...record.circumstances, cycle } } };
  });
  const lines = rigsInForce(store, { cycles: [first!, ...again] });
  expect(lines.map(({ tests, calibration }) => [tests, calibration?.evidence])).toEqual([
    [1, 'simulated station'],
    [2, 'CAL-2026-050'],
  ]);
  expect(lines[1]!.calibration!.sequence).toBe(renewed);
  expect(lines[1]).toMatchObject({ from: again[0]!.record.circumstances.openedAt });
});
