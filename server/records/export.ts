import { mayHaveMoved } from '../../station/cycle/record.ts';
import type { CycleRecord } from '../../station/cycle/record.ts';
import { hashOf } from '../../station/hash.ts';
import type { Plan } from '../../station/profile/plan.ts';
import type { Catalogue } from '../../station/words/catalogue.ts';

/** The stable JSON of one cycle (format 1, described in DEVELOPERS.md). Nests count from 1, as people count them. */
export function exportOf(record: CycleRecord, plan: Plan, words: Catalogue) {
  const { measurement, circumstances } = record;
  return {
    format: 1,
    partNumber: plan.profile.content.partNumber,
    plan: {
      kind: plan.kind,
      condition: plan.condition,
      rule: plan.rule,
      profileRevision: plan.profile.revision,
      station: plan.rig.revision.station,
      rigIssue: plan.rig.revision.issue,
      steps: plan.steps,
    },
    hashes: {
      plan: measurement.plan,
      profile: plan.profile.hash,
      rig: plan.rig.hash,
      measurement: hashOf(measurement),
      trace: circumstances.trace,
    },
    circumstances,
    nests: measurement.results.map(({ nest, serial, verdict, why }) => ({
      nest: nest + 1,
      serial,
      verdict,
      why: why.map((each) => ({
        ...each,
        ...(each.by === 'part' ? words.reasons[each.code] : entryOf(words.faults, each.code)),
      })),
    })),
    readings: measurement.judgements.map(
      ({ nest, step, quantity, value, u, unit, low, high, guard, margin, verdict, inGuardBand, arithmetic }) => ({
        nest: nest + 1,
        step,
        quantity,
        value,
        u,
        unit,
        low,
        high,
        guard,
        margin,
        verdict,
        inGuardBand,
        arithmetic: arithmetic.map(([term, amount, of]) => ({ term, value: amount, unit: of })),
      }),
    ),
    leaks: measurement.readings.flatMap((reading) =>
      reading.kind === 'leak'
        ? [
            {
              nest: reading.nest + 1,
              ended: reading.ended,
              flowPaM3PerS: reading.flowPaM3PerS,
              testKpaAbs: reading.testKpaAbs,
            },
          ]
        : [],
    ),
    faults: measurement.faults.map((fault) => ({ ...fault, nest: fault.nest === null ? null : fault.nest + 1 })),
    phases: measurement.phases.map(({ phase, fromMs, toMs }) => ({ phase, ms: toMs - fromMs })),
    // A cycle that was refused before it began measured no pressure.
    vented: mayHaveMoved(measurement) ? measurement.vented : null,
  };
}

const entryOf = <T>(table: Readonly<Record<string, T>>, key: string): T | undefined => table[key];
