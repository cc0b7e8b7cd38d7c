import { mayHaveMoved } from '../../station/cycle/record.ts';
import type { CycleRecord } from '../../station/cycle/record.ts';
import type { Reading } from '../../station/cycle/reading.ts';
import { readTrace } from '../../station/cycle/trace.ts';
import type { Plan } from '../../station/profile/plan.ts';
import type { Frame, OutcomeView, ReadingView, Taken } from './contract.ts';

/** Between two frames of the picture of a test, ms. */
const FRAME_MS = 100;

/** A kept record as the screen of its station shows it; which rejects are waiting is the station's to say. */
export function outcomeOf(
  { measurement, circumstances }: CycleRecord,
  plan: Plan,
  standing: { readonly waiting: ReadonlySet<number>; readonly isPerhapsUnseen: boolean },
): OutcomeView {
  const { openedMonotonicMs, closedMonotonicMs } = circumstances;
  const moved = mayHaveMoved(measurement);
  return {
    cycle: circumstances.cycle,
    closedAt: circumstances.closedAt,
    partNumber: plan.profile.content.partNumber,
    lot: circumstances.lot,
    nests: measurement.results.map(({ nest, serial, verdict, why }) => ({
      nest: nest + 1,
      serial,
      verdict,
      why,
      readings: measurement.judgements.filter((each) => each.nest === nest && isShown(each)).map(readingView),
      isWaiting: standing.waiting.has(nest + 1),
    })),
    faults: measurement.faults.map((fault) => ({ ...fault, nest: fault.nest === null ? null : fault.nest + 1 })),
    vented: moved ? measurement.vented : null,
    tookMs: moved ? closedMonotonicMs - openedMonotonicMs : 0,
    taken: measurement.readings.flatMap((reading) => takenOf(reading) ?? []),
    isPerhapsUnseen: standing.isPerhapsUnseen,
  };
}

/** The plausibility before the fill has no specification behind it: it is shown where it is the reason. */
const isShown = ({ step, verdict }: { step: string; verdict: string }): boolean =>
  step !== 'ambient-check' || verdict === 'fail';

function readingView({
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
}: CycleRecord['measurement']['judgements'][number]): ReadingView {
  return { step, quantity, value, u, unit, low, high, guard, margin, verdict, inGuardBand };
}

/** What an instrument read, before anything is made of it; null for what is computed. */
export function takenOf(reading: Reading): Taken | null {
  const place = { nest: reading.nest + 1, step: reading.step, atMs: reading.toMs };
  switch (reading.kind) {
    case 'output':
      return {
        ...place,
        quantity: 'output',
        value: reading.outputV.value,
        unit: 'V',
        kPaAbs: reading.referenceKpaAbs.value,
      };
    case 'current':
      return { ...place, quantity: 'supply-current', value: reading.supplyMa.value, unit: 'mA', kPaAbs: null };
    case 'leak':
    case 'lag':
    case 'noise':
      return null;
  }
}

/** The picture of a test out of its trace, as often as a live one has it. */
export function framesOf(trace: Uint8Array): Frame[] {
  let nextMs = 0;
  return readTrace(trace).flatMap(({ atMs, controllerKpaAbs, nests }) => {
    if (atMs < nextMs) return [];
    nextMs = atMs + FRAME_MS;
    return [
      {
        atMs,
        kPaAbs: controllerKpaAbs,
        nests: nests.map(({ referenceKpaAbs, outputV }) => ({ kPaAbs: referenceKpaAbs, outputV })),
      },
    ];
  });
}
