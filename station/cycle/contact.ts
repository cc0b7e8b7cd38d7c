import type { CycleEvent } from './event.ts';
import { earlyEnd } from './diagnosis.ts';
import { NestAperture } from './aperture.ts';
import type { Test } from './test.ts';
import { outputReading } from './point.ts';

/**
 * Power and contact, then the output at ambient, before any fill. A part that is not there, not connected or not of
 * this kind ends here: the leak pressure might hurt it, and an open port would hold none.
 */
export async function* contact(test: Test): AsyncGenerator<CycleEvent, void> {
  yield test.enter('contact');
  const { rig, stop, sampling, watch, profile, instruments } = test;
  const { nominalV, settleMs, apertureMs } = profile.supply;
  for (const nest of test.underTest) await rig.supply(nest, nominalV, stop);
  await sampling.pass(settleMs);
  for (const nest of test.underTest) watch.expectSupply(nest, nominalV);

  const fromMs = sampling.nowMs;
  const apertures = test.nests.map(() => new NestAperture());
  await sampling.pass(apertureMs, (block) => {
    for (const nest of test.underTest) {
      const samples = block.nests[nest];
      if (samples !== undefined) apertures[nest]?.take(samples);
    }
  });
  for (const nest of test.underTest) {
    const aperture = apertures[nest] ?? new NestAperture();
    yield test.read(nest, 'contact', fromMs, {
      kind: 'current',
      supplyMa: aperture.supplyMa.measured(instruments.currentMa),
      outputV: aperture.outputV.measured(instruments.outputV),
      supplyV: aperture.supplyV.measured(instruments.supplyV),
    });
  }
  yield* endEarly(test);
}

export async function* ambientCheck(test: Test): AsyncGenerator<CycleEvent, void> {
  yield test.enter('ambient-check');
  yield* outputReading(test, 'ambient-check', test.profile.ambientPlausibility.apertureMs);
  yield* endEarly(test);
}

/** Shuts off the empty nests and those whose readings so far forbid a fill. */
async function* endEarly(test: Test): AsyncGenerator<CycleEvent, void> {
  for (const nest of test.underTest) {
    const reason = earlyEnd(
      test.plan,
      test.readings.filter((reading) => reading.nest === nest),
    );
    if (reason !== null) yield await test.end(nest, reason.code);
  }
  for (let nest = 0; nest < test.nests.length; nest += 1) {
    if (test.nests[nest]?.is === 'empty') await test.rig.isolate(nest, true, test.stop);
  }
}
