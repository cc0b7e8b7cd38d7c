import { assert } from '../assert.ts';
import type { Fault } from '../faults.ts';
import type { Plan } from '../profile/plan.ts';
import { REASONS } from '../reasons.ts';
import { reasonsOf } from './diagnosis.ts';
import type { Load } from './event.ts';
import type { Judgement } from './judge.ts';
import type { Reading } from './reading.ts';
import type { NestResult } from './result.ts';

/**
 * The result of every loaded nest. A fault of the station leaves all of them unjudged. A part passes only when every
 * reading of the plan is there and passes: what was not measured cannot be good.
 */
export function resultsOf(
  plan: Plan,
  load: Load,
  readings: readonly Reading[],
  judgements: readonly Judgement[],
  faults: readonly Fault[],
): NestResult[] {
  return load.flatMap((serial, nest): NestResult[] => {
    if (serial === null) return [];
    const fault = faults[0];
    if (fault !== undefined) return [{ nest, serial, verdict: 'none', why: faults.map((each) => byStation(each)) }];
    const own = readings.flatMap((reading, i) => (reading.nest === nest ? [i] : []));
    const ownReadings = own.flatMap((i) => readings[i] ?? []);
    const ownJudgements = own.flatMap((i) => judgements[i] ?? []);
    assert(ownJudgements.length === ownReadings.length, 'each reading has its judgement');
    const why = reasonsOf(plan, ownReadings, ownJudgements).map(({ code, facts }) => ({
      by: 'part' as const,
      code,
      facts,
    }));
    const first = why[0];
    if (first !== undefined) return [{ nest, serial, verdict: REASONS[first.code].verdict, why }];
    assert(isComplete(plan, ownReadings), 'a part passes only on every reading of its plan');
    assert(
      ownJudgements.every(({ verdict }) => verdict === 'pass'),
      'a failing reading gives a reason',
    );
    return [{ nest, serial, verdict: 'pass', why: [] }];
  });
}

const byStation = (fault: Fault) => ({ by: 'station' as const, code: fault.code, facts: fault.facts });

/** Whether the readings of one nest hold everything that the plan asks for, each once. */
export function isComplete(plan: Plan, readings: readonly Reading[]): boolean {
  const taken = readings.map(({ kind, step }) => `${kind} ${step}`).sort();
  const wanted = plan.steps.map(({ reads, step }) => `${reads} ${step}`).sort();
  return taken.length === wanted.length && taken.every((reading, i) => reading === wanted[i]);
}
