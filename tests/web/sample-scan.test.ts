import { expect, test } from 'vitest';
import type { AuditView } from '../../server/audit/contract.ts';
import { layingRefusal, tickRefusal, unfoundParts } from '../../web/src/audit/sample-scan.ts';

const part = (serial: string, more: Partial<AuditView['sample'][number]> = {}): AuditView['sample'][number] => ({
  serial,
  state: 'drawn',
  reason: null,
  load: null,
  nest: null,
  line: null,
  ...more,
});
const of = {
  sample: [
    part('B-2', { state: 'found' }),
    part('B-1'),
    part('A-9'),
    part('A-1', { state: 'found', load: 1, nest: 3 }),
    part('A-2', { state: 'missing', reason: 'fell' }),
  ],
};
const nests = 3;

test('a part of another lot, one in two nests and one that was tested are refused at the scan, and named', () => {
  const places = ['B-2', null];
  expect(layingRefusal(of, { places, nests }, 'C-1')).toEqual({ code: 'not-drawn', facts: { serial: 'C-1' } });
  expect(layingRefusal(of, { places, nests }, 'B-2')).toEqual({ code: 'twice', facts: { serial: 'B-2', nest: 1 } });
  expect(layingRefusal(of, { places, nests }, 'A-1')?.facts).toEqual({ serial: 'A-1', load: 1, nest: 3 });
  expect(layingRefusal(of, { places, nests }, 'A-2')?.code).toBe('missing');
  expect(layingRefusal(of, { places, nests }, 'B-1')).toBeNull();
  expect(layingRefusal(of, { places: ['B-2', null, 'B-1'], nests }, 'A-9')?.code).toBe('full');
});

test('ticking off takes what was drawn, found before or kept as missing included', () => {
  expect(tickRefusal(of, 'C-1')?.code).toBe('not-drawn');
  expect(tickRefusal(of, 'A-1')?.code).toBe('tested');
  for (const serial of ['B-1', 'B-2', 'A-2']) expect(tickRefusal(of, serial)).toBeNull();
});

test('who looks for a part chooses it from those that nobody found, by serial', () => {
  expect(unfoundParts(of)).toEqual(['A-9', 'B-1', 'B-2']);
});
