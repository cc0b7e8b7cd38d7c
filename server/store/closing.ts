import { canonicalJson } from '../../station/hash.ts';
import type { CycleRecord } from '../../station/cycle/record.ts';
import type { CycleOpened } from './entry-format.ts';
import { StoreError } from './errors.ts';

/**
 * A record closes the cycle that was opened and no other: what both say is the same, and every loaded nest has exactly
 * one result under its serial. Throws `record-disagrees`, naming what differs.
 */
export function checkRecord(record: CycleRecord, opening: CycleOpened): void {
  const { measurement, circumstances } = record;
  const said: CycleOpened = {
    cycle: circumstances.cycle,
    station: circumstances.station,
    origin: circumstances.origin,
    kind: measurement.kind,
    lot: circumstances.lot,
    load: [...measurement.load],
    plan: measurement.plan,
    openedAt: circumstances.openedAt,
    openedMonotonicMs: circumstances.openedMonotonicMs,
    program: circumstances.program,
    actor: circumstances.actor,
    seed: circumstances.seed,
    ...(circumstances.audit === undefined ? {} : { audit: circumstances.audit }),
  };
  const differs = differing(said, opening);
  if (differs !== '') throw disagrees(opening.cycle, differs);
  const loaded = loadedNests(opening);
  const judged = [...measurement.results].sort((a, b) => a.nest - b.nest);
  const fits = judged.every(({ nest, serial }, each) => nest === loaded[each]?.[0] && serial === loaded[each][1]);
  if (judged.length !== loaded.length || !fits) throw disagrees(opening.cycle, 'results');
}

/** What is kept of a cycle that was cut off: no reading, no verdict, the reason. */
export function interruptedRecord(opening: CycleOpened, now: { at: string; monotonicMs: number }): CycleRecord {
  const { kind, plan, load, ...where } = opening;
  return {
    measurement: {
      format: 1,
      kind,
      plan,
      load,
      phases: [],
      readings: [],
      judgements: [],
      results: loadedNests(opening).map(([nest, serial]) => ({
        nest,
        serial,
        verdict: 'none',
        why: [{ by: 'station', code: 'interrupted', facts: {} }],
      })),
      faults: [{ code: 'interrupted', phase: 'unknown', nest: null, facts: {} }],
      vented: false,
    },
    circumstances: {
      ...where,
      closedAt: now.at,
      // The clock of the process that closes it: not to be compared with that of the process that opened it.
      closedMonotonicMs: now.monotonicMs,
      trace: null,
      barometerKpaAbs: null,
      roomC: null,
    },
  };
}

function loadedNests({ load }: CycleOpened): [nest: number, serial: string][] {
  return load.flatMap((serial, nest) => (serial === null ? [] : [[nest, serial] as [number, string]]));
}

function differing(said: CycleOpened, opening: CycleOpened): string {
  const keys = [...new Set([...Object.keys(said), ...Object.keys(opening)])] as (keyof CycleOpened)[];
  const same = (key: keyof CycleOpened): boolean =>
    said[key] === opening[key] || canonicalJson([said[key] ?? null]) === canonicalJson([opening[key] ?? null]);
  return keys.filter((key) => !same(key)).join(', ');
}

function disagrees(cycle: string, key: string): StoreError {
  return new StoreError('record-disagrees', `the record of cycle ${cycle} has another ${key} than its opening`, {
    facts: { cycle, differs: key },
  });
}
