import { hashOf } from '../../station/hash.ts';
import { english } from '../../station/words/en.ts';
import { openReader } from '../store/reader.ts';
import type { KeptCycle } from '../store/reader.ts';
import { account } from './account.ts';
import { EXIT, exitOf, WrongUse } from './exit.ts';
import { exportOf } from '../records/export.ts';
import type { Out } from './out.ts';
import { ledgerIn } from './setting.ts';

/** Most cycles of one serial that are listed. */
const MOST = 50;

/**
 * `barolot show`: a cycle by its id, or the life of a serial: every cycle that it was in, and the latest in full. What
 * is shown is what was stored: verdicts as they were.
 */
export function show(
  what: string | undefined,
  options: { data: string; sums: boolean; json: boolean },
  out: Out,
): number {
  const reader = openReader(ledgerIn(options.data));
  try {
    const kept =
      what === undefined ? reader.latest(MOST) : found(what, reader.byCycle(what), reader.bySerial(what, MOST));
    const [latest] = kept;
    if (latest === undefined) {
      out.line('No cycle is kept yet. barolot cycle <part number> --keep makes one.');
      return EXIT.passed;
    }
    if (options.json) {
      out.json(
        kept.map(({ sequence, at, hash, record }) => ({
          entry: { sequence, at, hash },
          ...exportOf(record, reader.document('plan', record.measurement.plan), english),
        })),
      );
      return EXIT.passed;
    }
    if (what === undefined || kept.length > 1) for (const each of kept) out.line(lifeLine(each, what));
    if (what === undefined) return EXIT.passed;
    out.line('');
    out.line(account(latest.record, reader.document('plan', latest.record.measurement.plan), english, options));
    out.line(
      `Entry ${latest.sequence} of ${latest.at}, ${latest.hash.slice(0, 16)}; measurement ${hashOf(latest.record.measurement).slice(0, 16)}. barolot verify checks the whole ledger.`,
    );
    return exitOf(latest.record.measurement.results);
  } finally {
    reader.close();
  }
}

function found(what: string, byCycle: KeptCycle | undefined, bySerial: KeptCycle[]): KeptCycle[] {
  const kept = byCycle === undefined ? bySerial : [byCycle];
  if (kept.length === 0) throw new WrongUse(`nothing is kept under "${what}": give a serial or the id of a cycle`);
  return kept;
}

/** One cycle as a line: when, which, and what became of whom. */
function lifeLine({ record }: KeptCycle, serial: string | undefined): string {
  const { measurement, circumstances } = record;
  const results = measurement.results.filter(
    (result) => record.circumstances.cycle === serial || serial === undefined || result.serial === serial,
  );
  const verdicts = results.map(
    (result) => `${result.serial} ${english.verdicts[result.verdict].toLowerCase()}${whyText(result.why[0])}`,
  );
  return `${circumstances.closedAt}  ${measurement.kind}  ${circumstances.station}  ${verdicts.join(', ')}  ${circumstances.cycle}`;
}

const whyText = (why: { readonly code: string } | undefined): string => (why === undefined ? '' : ` (${why.code})`);
