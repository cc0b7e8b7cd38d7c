import type { ReactElement } from 'react';
import type { AuditComparison, ComparedCell, Tested } from '../../../server/audit/comparison/contract.ts';
import type { Cell, Stage } from '../../../server/audit/evaluation/contract.ts';
import { pointText, stageText } from '../../../station/words/audit-text.ts';
import { digitsOf } from '../../../station/words/comparison-text.ts';
import type { SideNames } from '../../../station/words/comparison-text.ts';
import { fill } from '../../../station/words/fill.ts';
import { numberText, probabilityText, signedText } from '../../../station/words/number-text.ts';
import { useAuditVoice } from './audit-voice.ts';

interface Told {
  readonly comparison: AuditComparison;
  readonly names: SideNames;
}

const OF_A_SIDE = 4;

/** Every point of every condition that both have, with what is said of it. */
export function ComparisonTable({ comparison, names }: Told): ReactElement {
  const { lab } = useAuditVoice();
  const words = lab.comparison;
  const { table } = words;
  const { here, cells, tests } = comparison;
  const ofSide = [table.n, table.mean, table.sd, table.ppk];
  const last = [table.difference, table.chance, table.shown, table.ratio, table.chance];
  return (
    <section className="card compared">
      <h2>{words.tableTitle}</h2>
      <div className="wide" role="region" aria-label={words.tableTitle} tabIndex={0}>
        <table className="cycles lots">
          <thead>
            <tr>
              <th scope="col" rowSpan={2}>
                {table.point}
              </th>
              {[names.here, names.there].map((name) => (
                <th key={name} scope="colgroup" colSpan={OF_A_SIDE}>
                  {name}
                </th>
              ))}
              <th scope="colgroup" colSpan={3}>
                {fill(table.means, { ...names })}
              </th>
              <th scope="colgroup" colSpan={2}>
                {fill(table.spreads, { ...names })}
              </th>
            </tr>
            <tr>
              {[...ofSide, ...ofSide, ...last].map((name, column) => (
                <th key={`${column} ${name}`} scope="col" className="number">
                  {name}
                </th>
              ))}
            </tr>
          </thead>
          {here.stages
            .filter(({ stage }) => cells.some((cell) => cell.stage === stage))
            .map((stage) => (
              <StageRows key={stage.stage} comparison={comparison} stage={stage} />
            ))}
        </table>
      </div>
      <p className="note">{fill(words.tableNote, { tests })}</p>
    </section>
  );
}

function StageRows({
  comparison: { cells, here, there },
  stage,
}: {
  readonly comparison: AuditComparison;
  readonly stage: Stage;
}): ReactElement {
  const { tongue } = useAuditVoice();
  const nameOf = ({ step }: ComparedCell): string => {
    const [own, other] = [here, there].map((side) => pointText(tongue, side, step));
    return own === other ? (own ?? '') : `${own ?? ''} / ${other ?? ''}`;
  };
  return (
    <tbody>
      <tr>
        <th scope="rowgroup" colSpan={14} className="group">
          {stageText(tongue, stage)}
        </th>
      </tr>
      {cells
        .filter((cell) => cell.stage === stage.stage)
        .map((cell) => (
          <Row key={cell.step} cell={cell} name={nameOf(cell)} />
        ))}
    </tbody>
  );
}

function Row({ cell, name }: { readonly cell: ComparedCell; readonly name: string }): ReactElement {
  const { tongue } = useAuditVoice();
  const { language } = tongue;
  const { mean, spread, differenceKpa, shownFromKpa } = cell;
  const digits = mean === null ? 2 : Math.max(2, digitsOf((mean.high - mean.low) / 2));
  const kPa = (value: number): string => signedText(value, digits, language);
  const ratio = (value: number): string => numberText(value, 2, language);
  return (
    <tr>
      <th scope="row">{name}</th>
      <SideCells cell={cell.here} />
      <SideCells cell={cell.there} />
      <td className="number first">
        <b>{kPa(differenceKpa)}</b> {mean !== null && `(${kPa(mean.low)} … ${kPa(mean.high)})`}
      </td>
      <Chance tested={mean} />
      <td className="number">{shownFromKpa === null ? '–' : numberText(shownFromKpa, digits, language)}</td>
      <td className="number first">
        <b>{spread === null ? '–' : ratio(spread.value)}</b>{' '}
        {spread !== null && `(${ratio(spread.low)} … ${ratio(spread.high)})`}
      </td>
      <Chance tested={spread} />
    </tr>
  );
}

function SideCells({ cell: { n, meanKpa, sdKpa, ppk, atLeast } }: { readonly cell: Cell }): ReactElement {
  const { tongue } = useAuditVoice();
  const { language } = tongue;
  const number = (value: number | null): string => (value === null ? '–' : numberText(value, 2, language));
  const index = ppk === null ? '–' : `${number(ppk)} (${number(atLeast)})`;
  return (
    <>
      <td className="number first">{n}</td>
      <td className="number">{signedText(meanKpa, 2, language)}</td>
      <td className="number">{number(sdKpa)}</td>
      <td className="number">{index}</td>
    </>
  );
}

/** A word, not a colour: whether it differs, and how surely. */
function Chance({ tested }: { readonly tested: Tested | null }): ReactElement {
  const { lab, tongue } = useAuditVoice();
  const { yes, no, undecided } = lab.comparison.table;
  if (tested === null) return <td className="number">{undecided}</td>;
  const p = probabilityText(tested.adjusted, tongue.language);
  return (
    <td className={tested.isBeyondChance ? 'number beyond' : 'number'}>
      {fill(tested.isBeyondChance ? yes : no, { p })}
    </td>
  );
}
