import { expect, test } from 'vitest';
import type { Message } from '../../../station/host/message.ts';
import { labHere } from '../../support/lab.ts';
import { lineHere } from '../../support/line.ts';

test('a study that says too little is told, is not kept, and is forgotten when a new one begins', async () => {
  const { store, clock } = await lineHere();
  const lab = await labHere(store, clock, 2);
  const study = async (): Promise<void> => {
    lab.lab.command({ type: 'study-soak', by: 'T. Aas', partNumber: 'AQ-1105' });
    expect(lab.view().trouble).toBeNull();
    await lab.until(({ doing }) => doing === 'learning');
    await lab.until(({ doing }) => doing === 'rest');
  };
  // The wire of one dummy's thermometer is off.
  lab.host.onMessage = (message: Message) => {
    if (message.type === 'soak-studied') message.runs[0]?.coreC.fill(23);
    return true;
  };
  await study();
  expect(lab.view().trouble).toBe('study-too-little');
  expect(lab.lab.readiness('AQ-1105').soakStudy).toBeNull();
  lab.host.onMessage = () => true;
  await study();
  expect(lab.view().trouble).toBeNull();
  expect(lab.lab.readiness('AQ-1105').soakStudy?.dummies).toBeGreaterThanOrEqual(8);
}, 120_000);
