import { HttpProblem } from '../http/problem.ts';
import type { LotResult } from '../store/lot-history.ts';
import type { LedgerReader } from '../store/reader.ts';

/** What became of a lot's parts at the line, in order: an audit of the lot is told apart. Empty for a lot that is not known. */
export const lineResults = (reader: LedgerReader, partNumber: string, lot: string): LotResult[] =>
  reader.lots.results(partNumber, lot).filter(({ kind }) => kind === 'line');

/** The serials whose last judged line test was passed. */
export function passedOf(results: readonly LotResult[]): Set<string> {
  const last = new Map<string, LotResult['verdict']>();
  for (const { serial, verdict } of results) if (verdict !== 'none') last.set(serial, verdict);
  return new Set([...last].flatMap(([serial, verdict]) => (verdict === 'pass' ? [serial] : [])));
}

/** To be thrown where a lot is asked for that nothing is kept of. */
export const noSuchLot = (partNumber: string, lot: string): HttpProblem =>
  new HttpProblem(404, 'no-such-lot', `No part of ${partNumber}, lot ${lot} is kept here. Check the code.`, {
    partNumber,
    lot,
  });
