import { expect, test } from 'vitest';
import { drawSample } from '../../../server/audit/drawing.ts';
import { stateOfAudit } from '../../../server/audit/audits.ts';
import { aheadOf, wallS } from '../../../server/lab/estimate.ts';
import type { Road } from '../../../server/lab/estimate.ts';
import type { LabView } from '../../../server/lab/contract.ts';
import { fromBench } from '../../../server/lab/soak-books.ts';
import { isSoaked, soakFrom } from '../../../station/soak/core-observer.ts';
import { labHere } from '../../support/lab.ts';
import { PROFILES, lineHere } from '../../support/line.ts';

const ENGINEER = { name: 'M. Orrell', role: 'quality engineer', proof: 'stated' } as const;
const PROFILE = PROFILES.find(({ content }) => content.partNumber === 'AQ-1105')!;
const { partNumber } = PROFILE.content;

const ROAD: Road = {
  stage: 1,
  stages: [{ targetC: 123, leastS: 0 }],
  lags: { shellS: 100, coreS: 1e-6 },
  rampKPerS: 1e6,
  testS: 20,
  roomC: 23,
  touch: { lowC: 16, highC: 43 },
  loadsToCome: 0,
  handlingS: 300,
};
const start = { at: 'soaking', stage: 1, state: soakFrom(23, { low: 23, high: 23 }), soakedS: 0 } as const;

test('a single lag after a step takes ln(distance over what is left) of it, up and down (closed form)', () => {
  const ahead = aheadOf(ROAD, start)!;
  // 100 K until 1 K is left (what counts as soaked): 100 s x ln 100; then from 122 °C until 43 °C: 100 s x ln(99/20).
  const upS = 100 * Math.log(100);
  const downS = 100 * Math.log(99 / 20);
  // The air's first straight step of 5 s lags by at most half of it at each of the two, and steps are 5 s.
  expect(ahead.load.chamberS).toBeGreaterThan(upS + downS - 1);
  expect(ahead.load.chamberS).toBeLessThan(upS + downS + 4 * 5);
  expect(ahead.load).toMatchObject({ testS: 20, handS: 0 });
  expect(ahead.audit).toEqual(ahead.load);
});

test('the least soak of the profile counts from where the soak is', () => {
  const road = { ...ROAD, stages: [{ targetC: 123, leastS: 3600 }] };
  const all = aheadOf(road, start)!.load.chamberS;
  const half = aheadOf(road, { ...start, soakedS: 1800 })!.load.chamberS;
  expect(all - half).toBe(1800);
  expect(all).toBeGreaterThan(3600);
});

test('loads to come cost a whole load each and the hands between; a condition that is never reached has no end', () => {
  const road = { ...ROAD, roomC: 23, loadsToCome: 3 };
  const bench = { ...start, state: fromBench(23, 23) };
  const { load, audit } = aheadOf(road, bench)!;
  expect(audit.chamberS).toBeCloseTo(4 * load.chamberS, 9);
  expect(audit).toMatchObject({ testS: 80, handS: 900 });
  const { chamberS } = audit;
  // A simulated chamber goes faster than the wall, hands do not.
  expect(wallS(audit, { pace: 2, soakPace: 60 })).toBeCloseTo(chamberS / 60 + 80 / 2 + 900, 9);
  expect(wallS(audit, { pace: 1, soakPace: 1 })).toBeCloseTo(chamberS + 80 + 900, 9);
  expect(aheadOf({ ...road, lags: { shellS: 1e9, coreS: 1 } }, bench)).toBeNull();
});

test('what is behind is not counted again: testing the last condition leaves the test and the way down', () => {
  const hot = soakFrom(123, { low: 123, high: 123 });
  expect(isSoaked(hot, 123)).toBe(true);
  const testing = aheadOf(ROAD, { at: 'testing', stage: 1, state: hot, leftS: 5 })!.load;
  const down = aheadOf(ROAD, { at: 'coming-down', state: hot })!.load;
  expect(testing).toEqual({ ...down, testS: 5 });
  expect(aheadOf(ROAD, { at: 'coming-down', state: start.state })!.load.chamberS).toBe(0);
});

test('a simulated audit ends within 5 % of its time of what was said at every look since its first test, and within 10 % before', async () => {
  const line = await lineHere();
  await line.ready(partNumber, 'K24-3');
  for (const first of [1, 3]) {
    line.scan(...[first, first + 1].map((n) => `AQ1105-0000${n}`));
    await line.test();
  }
  const { store, clock } = line;
  store.samplingPlan({ partNumber, plan: { kind: 'fixed', n: 4 }, reason: 'process audit', actor: ENGINEER });
  const audit = drawSample(store, {
    ...{ station: 'LAB-1', profile: PROFILE, lot: 'K24-3', returnToAmbient: false, actor: ENGINEER },
  });
  const lab = await labHere(store, clock, 2);
  await lab.ready(partNumber);
  expect(lab.view().ends).toBeNull();
  const { serials } = stateOfAudit(store, audit).drawn.content;
  const said: { readonly nowS: number; readonly ends: NonNullable<LabView['ends']>; readonly doing: string }[] = [];
  const loads: [fromS: number, toS: number][] = [];
  for (const places of [serials.slice(0, 2), serials.slice(2)]) {
    const fromS = clock.nowMs() / 1000;
    lab.lab.command({ type: 'begin', by: 'M. Orrell', audit, places });
    await lab.until(({ ends, doing, door }) => {
      if (ends !== null) said.push({ nowS: clock.nowMs() / 1000, ends, doing });
      return doing !== 'soaking' && doing !== 'testing' && door === 'ready';
    });
    loads.push([fromS, clock.nowMs() / 1000]);
    lab.lab.command({ type: 'taken-out', by: 'M. Orrell' });
    await lab.until(({ doing }) => doing === 'rest');
  }
  const [[firstFrom, firstTo], [secondFrom, secondTo]] = loads as [[number, number], [number, number]];
  // Here hands take no time but that of the way down that was cut short by them.
  const handsS = secondFrom - firstTo;
  const wholeS = secondTo - firstFrom;
  const first = said[0]!.ends;
  expect(first).toMatchObject({ loadsToCome: 1, handlingS: 30 });
  expect(Math.abs(first.audit.leftS - first.handlingS + handsS - wholeS) / wholeS).toBeLessThan(0.1);
  // Before a test was seen it is taken to last as stated, which leaves out what the station waits for beside: some seconds
  // each, and a fortieth of a load here, where soaks pass a hundred times faster than tests.
  const firstTestS = said.find(({ doing }) => doing === 'testing')!.nowS;
  const seenS = said.find(({ nowS, doing }) => nowS > firstTestS && doing === 'soaking')!.nowS;
  for (const { nowS, ends } of said.filter(({ nowS: at }) => at < firstTo)) {
    const tookS = firstTo - nowS;
    expect(Math.abs(ends.load.leftS - tookS)).toBeLessThan((nowS < seenS + 1 ? 0.1 : 0.05) * (firstTo - firstFrom));
    expect(Date.parse(ends.load.at)).toBeCloseTo(Date.UTC(2025, 0, 1) + 1000 * (nowS + ends.load.leftS), -1);
  }
  for (const { nowS, ends } of said.filter(({ nowS: at }) => at >= secondFrom)) {
    expect(Math.abs(ends.load.leftS - (secondTo - nowS))).toBeLessThan(0.05 * (secondTo - secondFrom));
    expect(ends.audit).toEqual(ends.load);
  }
  expect(new Set(said.map(({ doing }) => doing))).toEqual(new Set(['soaking', 'testing', 'coming-down']));
}, 120_000);
