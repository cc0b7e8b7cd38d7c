import { expect } from 'vitest';
import { tellSample } from '../../../server/audit/sampling.ts';
import { auditInside } from '../../../server/lab/load.ts';
import { AuditedLots } from '../../support/audited-lots.ts';
import { ACTOR, PROFILE, STATION } from '../../support/ledger-content.ts';
import { test } from '../../support/ledger-fixture.ts';

test('a load that nobody took out is inside, however many samples were drawn since', ({ store }) => {
  const lots = new AuditedLots(store);
  const plan = { kind: 'fixed', n: 4 } as const;
  store.samplingPlan({ partNumber: PROFILE.partNumber, plan, reason: 'r', actor: ACTOR });
  lots.line('L-1', 4);
  lots.line('L-2', 4);
  expect(auditInside(store, STATION)).toBeNull();
  const audit = lots.draw('L-1');
  const { serials } = lots.drawnOf(audit);
  lots.load(audit, 'L-1', serials.slice(0, 2), new Set());
  expect(auditInside(store, STATION)).toBeNull();
  lots.load(audit, 'L-1', serials.slice(2), new Set(), false);
  for (let k = 0; k < 120; k += 1)
    tellSample(store, lots.draw('L-2'), { type: 'abandon', reason: 'printer jam', by: 'M. Orrell' }, ACTOR);
  expect(auditInside(store, STATION)?.audit).toBe(audit);
  expect(auditInside(store, 'LAB-9')).toBeNull();
  store.audit(() => ({ audit, act: 'opened', load: 2, airC: 23, dewPointC: 12, actor: ACTOR }));
  expect(auditInside(store, STATION)).toBeNull();
});
