import { expect } from 'vitest';
import { auditView } from '../../../server/audit/audits.ts';
import { evidenceOf } from '../../../server/audit/evidence.ts';
import { stateOfAudit } from '../../../server/audit/audits.ts';
import { slopeVPerKpa } from '../../../station/profile/transfer.ts';
import { issueOf } from '../../../station/profile/revision.ts';
import { AuditedLots } from '../../support/audited-lots.ts';
import { ACTOR, PROFILE } from '../../support/ledger-content.ts';
import { test } from '../../support/ledger-fixture.ts';

test("the line's readings are those of the lot's own last passed test, by the revision that it was tested by", ({
  store,
}) => {
  const lots = new AuditedLots(store);
  store.samplingPlan({ partNumber: PROFILE.partNumber, plan: { kind: 'fixed', n: 2 }, reason: 'r', actor: ACTOR });
  const serials = lots.line('L-1', 2);
  const own = store.latest(1)[0]!.record.measurement;
  // The same serials again in another lot, tested later but before the draw.
  lots.line('L-2', 2, serials);
  // A later revision has twice the slope; the parts were not tested by it.
  const { transfer } = PROFILE;
  if (transfer.kind !== 'ratiometric') throw new Error('a ratiometric profile is wanted here');
  const twice = { ...PROFILE, transfer: { ...transfer, slopePerKpa: 2 * transfer.slopePerKpa, offsetRatio: -0.19 } };
  const profile = issueOf(2, twice);
  const audit = lots.draw('L-1', { profile });
  const line = evidenceOf(store, stateOfAudit(store, audit), profile.content).line;
  const slope = slopeVPerKpa(transfer, PROFILE.supply.nominalV);
  const wanted = own.judgements
    .filter(({ quantity }) => quantity === 'output')
    .map(({ nest, step, value, low, high }) => ({
      ...{ serial: own.load[nest], step, errorKpa: (value - ((low ?? 0) + (high ?? 0)) / 2) / slope },
    }));
  const sorted = (all: readonly { serial?: string | null | undefined; step: string; errorKpa: number }[]) =>
    [...all].sort((a, b) => `${a.serial ?? ''} ${a.step}`.localeCompare(`${b.serial ?? ''} ${b.step}`));
  expect(sorted(line)).toEqual(sorted(wanted));
  expect(auditView(store, audit, 'Alder Quay').input.line).toHaveLength(wanted.length);
});
