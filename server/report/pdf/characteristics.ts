import { characteristicNotes, characteristicRows } from '../../../station/words/audit-characteristics.ts';
import type { CharacteristicCell } from '../../../station/words/audit-characteristics.ts';
import { stageText } from '../../../station/words/audit-text.ts';
import type { AuditView } from '../../audit/contract.ts';
import { serialEnd } from '../figures/drawing.ts';
import type { Sheet } from './sheet.ts';
import { table } from './table.ts';
import type { Column } from './table.ts';
import type { Voice } from './voice.ts';

interface Row extends CharacteristicCell {
  readonly name: string;
  readonly unit: string;
}

/** Hysteresis, linearity, effect of the supply and response of the sample: a table each stage. */
export function characteristics(sheet: Sheet, view: AuditView, voice: Voice): void {
  const { tongue } = voice;
  const { evaluation, input } = view;
  const rows = characteristicRows(tongue, voice.names, evaluation.characteristics, input.spanKpa);
  if (rows.length === 0) return;
  sheet.section(tongue.words.characteristics.title, 60 + 13 * rows.length);
  for (const stage of input.stages) {
    const own = rows.flatMap(({ name, unit, cells }) =>
      cells.filter((cell) => cell.stage === stage.stage).map((cell): Row => ({ ...cell, name, unit })),
    );
    if (own.length === 0) continue;
    sheet.subheading(stageText(tongue, stage), 24 + 13 * own.length);
    table(sheet, columns(voice), own);
  }
  sheet.note(characteristicNotes(tongue, evaluation.characteristics, input.spanKpa));
}

function columns(voice: Voice): Column<Row>[] {
  const { report, tongue } = voice;
  const { columns: heads } = report;
  const words = tongue.words.characteristics;
  return [
    { head: words.what, share: 34, text: ({ name }) => name },
    { head: words.unit, share: 7, text: ({ unit }) => unit },
    { head: heads.n, share: 6, align: 'right', text: ({ n }) => String(n) },
    { head: heads.mean, share: 10, align: 'right', text: ({ mean }) => mean },
    { head: heads.sd, share: 10, align: 'right', text: ({ sd }) => sd ?? report.unknown },
    { head: words.most, share: 10, align: 'right', text: ({ largest }) => largest, isStrong: () => true },
    { head: words.mostPercent, share: 13, align: 'right', text: ({ percent }) => percent ?? report.unknown },
    { head: words.mostPart, share: 12, text: ({ serial }) => serialEnd(serial) },
  ];
}
