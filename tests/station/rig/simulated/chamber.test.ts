import { expect, test } from 'vitest';
import { Chamber } from '../../../../station/rig/simulated/chamber.ts';
import { middlePart } from '../../../../station/rig/simulated/part.ts';
import { checkCase, inputsOf, named } from '../../../reference/physics-cases.ts';
import { oneBar } from '../../../support/parts.ts';

test.each(named('two_time_constant_soak'))('%s', (_name, given) => {
  const i = inputsOf(given, 'T0_C', 'T1_C', 'rampRate_K_per_s', 'tauShell_s', 'tauCore_s');
  const chamber = new Chamber(1, i.T0_C + 273.15, i.rampRate_K_per_s === 0 ? Infinity : i.rampRate_K_per_s);
  chamber.load(0, { ...middlePart(oneBar), shellTauS: i.tauShell_s, coreTauS: i.tauCore_s });
  chamber.head(i.T1_C + 273.15);
  let ms = 0;
  // A step of the air arrives over the first millisecond.
  chamber.pass(1);
  ms += 1;
  const core = (): number => chamber.partK(0) - 273.15;
  let within1KFromMs = 0;
  const passTo = (untilMs: number): void => {
    for (; ms < untilMs; ) {
      const step = Math.min(20, untilMs - ms);
      chamber.pass(step);
      ms += step;
      if (Math.abs(core() - i.T1_C) > 1) within1KFromMs = ms;
    }
  };
  checkCase(given, (name, at) => {
    if (name !== 'timeToWithin1K_s') {
      passTo(at['t_s']! * 1000);
      return core();
    }
    return within1KFromMs / 1000;
  });
});

test('a part comes in warmer than the fixture and forgets it within minutes', () => {
  const chamber = new Chamber(1, 296.15);
  chamber.load(0, { ...middlePart(oneBar), warmerK: 0.4 });
  expect(chamber.bodyK(0) - 296.15).toBeCloseTo(0.4, 10);
  // The gas finds 0.4 of what the part is warmer.
  expect(chamber.partK(0) - 296.15).toBeCloseTo(1, 10);
  for (let ms = 0; ms < 60_000; ms += 20) chamber.pass(20);
  expect(chamber.bodyK(0) - 296.15).toBeCloseTo(0.4 / Math.E, 6);
});
