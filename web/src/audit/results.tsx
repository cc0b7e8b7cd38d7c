import { useCallback, useState } from 'react';
import type { ReactElement } from 'react';
import type { AuditView } from '../../../server/audit/contract.ts';
import type { Cell } from '../../../server/audit/evaluation/contract.ts';
import { capabilityMark } from '../../../server/report/figures/capability-mark.ts';
import type { FigureSetting } from '../../../server/report/figures/drawing.ts';
import { errorOverPressure } from '../../../server/report/figures/error-over-pressure.ts';
import { lineAgainstLab } from '../../../server/report/figures/line-against-lab.ts';
import { normalPlot } from '../../../server/report/figures/normal-plot.ts';
import { spreadOfCell } from '../../../server/report/figures/spread.ts';
import { trendOfAudits } from '../../../server/report/figures/trend.ts';
import { cellText, errorNote, findingText, namesOf, pointText, stageText } from '../../../station/words/audit-text.ts';
import { fill } from '../../../station/words/fill.ts';
import { numberText, probabilityText, signedText } from '../../../station/words/number-text.ts';
import { useAuditVoice } from './audit-voice.ts';
import { CharacteristicsOf } from './characteristics.tsx';
import { TrendLinks } from './compare-choice.tsx';
import { Drift } from './drift.tsx';
import { Figure } from './figure.tsx';
import { Wide } from '../desk/wide.tsx';

interface Place {
  readonly stage: number;
  readonly step: string;
}

/** What the audit measured: the errors themselves, how capable each point is, what was noticed. */
export function Results({ view }: { readonly view: AuditView }): ReactElement {
  const [chosen, setChosen] = useState<Place | null>(null);
  const shown = chosen ?? view.evaluation.weakest;
  return (
    <>
      <Findings view={view} />
      <Errors view={view} />
      <Capability view={view} shown={shown} onChoose={setChosen} />
      {shown !== null && <Spread view={view} at={shown} />}
      <CharacteristicsOf view={view} />
      <Drift view={view} />
      <Agreement view={view} />
      <Trend view={view} />
    </>
  );
}

function Findings({ view }: { readonly view: AuditView }): ReactElement {
  const { lab, tongue } = useAuditVoice();
  const texts = view.evaluation.findings.map((finding) => findingText(tongue, namesOf(view), finding));
  return (
    <section className="card findings">
      <h2>{lab.evaluation.findings}</h2>
      {texts.length === 0 ? (
        <p>{lab.evaluation.nothing}</p>
      ) : (
        <ul>
          {texts.map((text) => (
            <li key={text}>{text}</li>
          ))}
        </ul>
      )}
    </section>
  );
}

function Errors({ view }: { readonly view: AuditView }): ReactElement {
  const { lab, tongue } = useAuditVoice();
  const { input, evaluation } = view;
  const draw = useCallback(
    (setting: FigureSetting) => errorOverPressure({ input, evaluation }, setting),
    [input, evaluation],
  );
  return (
    <section className="card errors">
      <h2>{lab.evaluation.errors}</h2>
      <p className="note">{errorNote(view, tongue)}</p>
      <Figure height={400} draw={draw} />
    </section>
  );
}

function Capability(props: {
  readonly view: AuditView;
  readonly shown: Place | null;
  readonly onChoose: (place: Place) => void;
}): ReactElement {
  const { view, shown, onChoose } = props;
  const { lab, tongue } = useAuditVoice();
  const { input, evaluation } = view;
  const stages = input.stages.filter(({ stage }) => evaluation.cells.some((cell) => cell.stage === stage));
  const steps = input.points.map(({ step }) => step);
  const n = Math.max(0, ...evaluation.cells.map((cell) => cell.n));
  const { notes } = tongue.words;
  return (
    <section className="card capability">
      <h2>{lab.evaluation.capability}</h2>
      <p className="note">{fill(lab.evaluation.capabilityNote, { n })}</p>
      <Wide label={lab.evaluation.capability}>
        <table>
          <thead>
            <tr>
              <th scope="col">{lab.evaluation.point}</th>
              {stages.map((stage) => (
                <th key={stage.stage} scope="col">
                  {stageText(tongue, stage)}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {steps.map((step) => (
              <tr key={step}>
                <th scope="row">{pointText(tongue, namesOf(view), step)}</th>
                {stages.map(({ stage }) => {
                  const cell = evaluation.cells.find((each) => each.stage === stage && each.step === step);
                  return (
                    <td key={stage}>
                      {cell !== undefined && (
                        <CellKey
                          view={view}
                          cell={cell}
                          isShown={shown?.stage === stage && shown.step === step}
                          onChoose={onChoose}
                        />
                      )}
                    </td>
                  );
                })}
              </tr>
            ))}
          </tbody>
        </table>
      </Wide>
      <p className="note">
        {fill(notes.capability, { wanted: numberText(input.wantedPpk, 2, tongue.language), most: 3 })}
      </p>
    </section>
  );
}

function CellKey(props: {
  readonly view: AuditView;
  readonly cell: Cell;
  readonly isShown: boolean;
  readonly onChoose: (place: Place) => void;
}): ReactElement {
  const { view, cell, isShown, onChoose } = props;
  const { lab, tongue } = useAuditVoice();
  const { wantedPpk } = view.input;
  const isLow = cell.ppk !== null && cell.ppk < wantedPpk;
  const number = (value: number | null): string => (value === null ? '–' : numberText(value, 2, tongue.language));
  const draw = useCallback(
    (setting: FigureSetting) => capabilityMark({ ...cell, wantedPpk }, setting),
    [cell, wantedPpk],
  );
  const place = cellText(tongue, namesOf(view), cell);
  return (
    <button
      type="button"
      className={isLow ? 'cell low' : 'cell'}
      aria-pressed={isShown}
      aria-label={`${fill(lab.evaluation.choose, { cell: place })}: Ppk ${fill(lab.ppkBound, { ppk: number(cell.ppk), atLeast: number(cell.atLeast) })}`}
      onClick={() => onChoose({ stage: cell.stage, step: cell.step })}
    >
      <span>
        <b>{number(cell.ppk)}</b> <small>{fill(lab.evaluation.atLeast, { ppk: number(cell.atLeast) })}</small>
      </span>
      <Figure height={20} fontSize={12} draw={draw} />
    </button>
  );
}

function Spread({ view, at }: { readonly view: AuditView; readonly at: Place }): ReactElement | null {
  const { lab, tongue } = useAuditVoice();
  const { input, evaluation } = view;
  const { stage, step } = at;
  const spread = useCallback(
    (setting: FigureSetting) => spreadOfCell({ input, evaluation, stage, step }, setting),
    [input, evaluation, stage, step],
  );
  const normal = useCallback(
    (setting: FigureSetting) => normalPlot({ input, evaluation, stage, step }, setting),
    [input, evaluation, stage, step],
  );
  const cell = evaluation.cells.find((each) => each.stage === stage && each.step === step);
  if (cell === undefined) return null;
  const words = lab.evaluation;
  const { language } = tongue;
  const p = cell.normality.adjusted;
  const { tolerance } = cell;
  const isBeyond = tolerance !== null && Math.max(-tolerance.lowKpa, tolerance.highKpa) > cell.allowedKpa;
  return (
    <section className="card spread">
      <h2>{cellText(tongue, namesOf(view), cell)}</h2>
      <p className="note">
        {cell.sdKpa !== null && fill(words.spreadText, { sd: numberText(cell.sdKpa, 2, language) })}{' '}
        {p !== null && fill(p < 0.05 ? words.notNormal : words.normal, { p: probabilityText(p, language) })}{' '}
        {tolerance !== null &&
          fill(words.tolerance, {
            low: signedText(tolerance.lowKpa, 2, language),
            high: signedText(tolerance.highKpa, 2, language),
          })}{' '}
        {isBeyond && words.outside}
      </p>
      <div className="pair">
        <Figure height={260} draw={spread} />
        <Figure height={260} draw={normal} />
      </div>
    </section>
  );
}

function Agreement({ view }: { readonly view: AuditView }): ReactElement {
  const { lab, tongue } = useAuditVoice();
  const words = lab.evaluation;
  const compared = view.evaluation.lineAgainstLab;
  const draw = useCallback(
    (setting: FigureSetting) => (compared === null ? null : lineAgainstLab(compared, setting)),
    [compared],
  );
  const text = (value: number | null): string => (value === null ? '–' : signedText(value, 2, tongue.language));
  return (
    <section className="card agreement">
      <h2>{words.agreement}</h2>
      {compared === null ? (
        <p>{words.noAgreement}</p>
      ) : (
        <>
          <p>
            {fill(words.agreementText, {
              bias: numberText(Math.abs(compared.biasKpa), 2, tongue.language),
              way: compared.biasKpa < 0 ? words.lower : words.higher,
              low: text(compared.lowKpa),
              high: text(compared.highKpa),
            })}
          </p>
          <Figure height={260} draw={draw} />
          <p className="note">{tongue.words.notes.agreement}</p>
        </>
      )}
    </section>
  );
}

function Trend({ view }: { readonly view: AuditView }): ReactElement | null {
  const { lab, tongue } = useAuditVoice();
  const { trend, input } = view;
  const { wantedPpk } = input;
  const draw = useCallback(
    (setting: FigureSetting) => trendOfAudits({ trend, wantedPpk }, setting),
    [trend, wantedPpk],
  );
  if (trend.length === 0) return null;
  return (
    <section className="card trend">
      <h2>{lab.evaluation.trend}</h2>
      <Figure height={260} draw={draw} />
      <p className="note">{fill(tongue.words.notes.trend, { wanted: numberText(wantedPpk, 2, tongue.language) })}</p>
      <TrendLinks view={view} />
    </section>
  );
}
