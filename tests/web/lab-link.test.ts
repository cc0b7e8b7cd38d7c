import { expect, test } from 'vitest';
import type { LabView } from '../../server/lab/contract.ts';
import { withLab } from '../../web/src/audit/lab-link.ts';
import { unheard } from '../../web/src/audit/lab-words.ts';

const lab = (station: string, door: LabView['door']): LabView =>
  ({ station, door, chamberC: 23, partC: [23], isVented: true, guardShut: true, roomC: 23 }) as unknown as LabView;

test('a view takes the place of the one of its station', () => {
  const before = [lab('LAB-1', 'running'), lab('LAB-2', 'running')];
  expect(withLab(before, lab('LAB-2', 'ready'))).toEqual([lab('LAB-1', 'running'), lab('LAB-2', 'ready')]);
});

test('without a link nobody says that a door may be opened, nor what was measured', () => {
  expect(unheard(lab('LAB-1', 'ready'))).toMatchObject({
    ...{ station: 'LAB-1', door: 'not-measured', chamberC: null, partC: [], isVented: null },
  });
});
