import {
  characteristicNotes,
  characteristicRows,
  characteristicTitle,
} from '../../../station/words/audit-characteristics.ts';
import type { CharacteristicCell } from '../../../station/words/audit-characteristics.ts';
import { stageText } from '../../../station/words/audit-text.ts';
import type { AuditView } from '../../audit/contract.ts';
import { serialEnd } from '../figures/drawing.ts';
import { stageName } from './conditions.ts';
import type { Sheet } from './sheet.ts';
import { table } from './table.ts';
import type { Column } from './table.ts';
import type { Voice } from './voice.ts';

interface Row extends CharacteristicCell {
  readonly name: string;
  readonly unit: string;
}

/** Hysteresis, linearity, effect of the supply and response of the sample: a table each stage, or each characteristic alone. */
export function characteristics(sheet: Sheet, view: AuditView, voice: Voice): void {
  const { tongue } = voice;
  const { evaluation, input } = view;
  const found = characteristicRows(tongue, voice.names, evaluation.characteristics, input.spanKpa);
  if (found.length === 0) return;
  const rows = found.flatMap(({ name, unit, cells }) => cells.map((cell): Row => ({ ...cell, name, unit })));
  const own = input.stages.map((stage) => ({ stage, rows: rows.filter((row) => row.stage === stage.stage) }));
  sheet.section(characteristicTitle(tongue, evaluation.characteristics), 60 + 13 * found.length);
  if (found.length === 1)
    table(
      sheet,
      columns(voice, ({ name, stage }) => `${name}; ${stageName(stage, voice)}`),
      rows,
    );
  else
    for (const { stage, rows: here } of own) {
      if (here.length === 0) continue;
      sheet.subheading(stageText(tongue, stage), 24 + 13 * here.length);
      table(
        sheet,
        columns(voice, ({ name }) => name),
        here,
      );
    }
  sheet.note(characteristicNotes(tongue, evaluation.characteristics, input.spanKpa));
}

function columns(voice: Voice, what: (row: Row) => string): Column<Row>[] {
  const { report, tongue } = voice;
  const { columns: heads } = report;
  const words = tongue.words.characteristics;
  return [
    { head: words.what, share: 34, text: what },
    { head: words.unit, share: 7, text: ({ unit }) => unit },
    { head: heads.n, share: 6, align: 'right', text: ({ n }) => String(n) },
    { head: heads.mean, share: 10, align: 'right', text: ({ mean }) => mean },
    { head: heads.sd, share: 10, align: 'right', text: ({ sd }) => sd ?? report.unknown },
    { head: words.most, share: 10, align: 'right', text: ({ largest }) => largest, isStrong: () => true },
    { head: words.mostPercent, share: 13, align: 'right', text: ({ percent }) => percent ?? report.unknown },
    { head: words.mostPart, share: 12, text: ({ serial }) => serialEnd(serial) },
  ];
}
