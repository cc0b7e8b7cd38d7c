import type { ReactElement } from 'react';
import type { AuditView } from '../../../server/audit/contract.ts';
import { serialEnd } from '../../../server/report/figures/drawing.ts';
import {
  characteristicNotes,
  characteristicRows,
  characteristicTitle,
} from '../../../station/words/audit-characteristics.ts';
import type { CharacteristicCell, CharacteristicRow } from '../../../station/words/audit-characteristics.ts';
import { namesOf, stageText } from '../../../station/words/audit-text.ts';
import { fill } from '../../../station/words/fill.ts';
import { useAuditVoice } from './audit-voice.ts';

/** Hysteresis, linearity, effect of the supply and response of the sample: a row each, a column a stage. */
export function CharacteristicsOf({ view }: { readonly view: AuditView }): ReactElement | null {
  const { tongue } = useAuditVoice();
  const { input, evaluation } = view;
  const { characteristics } = tongue.words;
  const title = characteristicTitle(tongue, evaluation.characteristics);
  const rows = characteristicRows(tongue, namesOf(view), evaluation.characteristics, input.spanKpa);
  const stages = input.stages.filter(({ stage }) =>
    rows.some(({ cells }) => cells.some((each) => each.stage === stage)),
  );
  if (rows.length === 0) return null;
  return (
    <section className="card characteristics">
      <h2>{title}</h2>
      <div className="wide" role="region" aria-label={title} tabIndex={0}>
        <table>
          <thead>
            <tr>
              <th scope="col">{characteristics.what}</th>
              {stages.map((stage) => (
                <th key={stage.stage} scope="col">
                  {stageText(tongue, stage)}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {rows.map((row) => (
              <tr key={row.name}>
                <th scope="row">{row.name}</th>
                {stages.map(({ stage }) => (
                  <Cell key={stage} row={row} cell={row.cells.find((each) => each.stage === stage)} />
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <p className="note">{characteristicNotes(tongue, evaluation.characteristics, input.spanKpa)}</p>
    </section>
  );
}

function Cell(props: { readonly row: CharacteristicRow; readonly cell: CharacteristicCell | undefined }): ReactElement {
  const { tongue } = useAuditVoice();
  const { row, cell } = props;
  const words = tongue.words.characteristics;
  if (cell === undefined) return <td />;
  return (
    <td>
      <b>{fill(words.largest, { value: cell.largest, unit: row.unit })}</b> {serialEnd(cell.serial)}
      <small>
        {cell.percent !== null && `${fill(words.percent, { percent: cell.percent })}; `}
        {cell.sd === null ? words.sampleOne : fill(words.sample, { mean: cell.mean, sd: cell.sd })}
      </small>
    </td>
  );
}
