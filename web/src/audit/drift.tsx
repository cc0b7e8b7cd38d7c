import { useCallback } from 'react';
import type { ReactElement } from 'react';
import type { AuditView } from '../../../server/audit/contract.ts';
import type { Drift as Drifted, Stage } from '../../../server/audit/evaluation/contract.ts';
import { driftByStage } from '../../../server/report/figures/drift.ts';
import type { FigureSetting } from '../../../server/report/figures/drawing.ts';
import { driftHeading, namesOf, pointText } from '../../../station/words/audit-text.ts';
import { numberText, signedText } from '../../../station/words/number-text.ts';
import { useAuditVoice } from './audit-voice.ts';
import { Figure } from './figure.tsx';

/** How the same parts changed since the first test at ambient: the picture, then the numbers. */
export function Drift({ view }: { readonly view: AuditView }): ReactElement {
  const { lab, tongue } = useAuditVoice();
  const { input, evaluation } = view;
  const draw = useCallback(
    (setting: FigureSetting) => driftByStage({ input, evaluation }, setting),
    [input, evaluation],
  );
  if (evaluation.drifts.length === 0)
    return (
      <section className="card drift">
        <h2>{lab.evaluation.drift}</h2>
        <p>{lab.evaluation.noDrift}</p>
      </section>
    );
  return (
    <section className="card drift">
      <h2>{lab.evaluation.drift}</h2>
      <div className="beside">
        <div>
          <Figure height={260} draw={draw} />
          <p className="note">{tongue.words.notes.drift}</p>
        </div>
        <DriftTable view={view} />
      </div>
      <p className="note">{tongue.words.drift.note}</p>
      <p className="files">
        <a className="btn" href={`/api/audits/${encodeURIComponent(view.audit)}/drift.csv`}>
          {lab.driftCsv}
        </a>
      </p>
    </section>
  );
}

function DriftTable({ view }: { readonly view: AuditView }): ReactElement {
  const { lab, tongue } = useAuditVoice();
  const { drift: words } = tongue.words;
  const { stages } = view.input;
  const { drifts } = view.evaluation;
  const numbers = [words.n, words.mean, words.bounds, words.sd, words.largest, words.added];
  return (
    <div className="wide" role="region" aria-label={lab.evaluation.drift} tabIndex={0}>
      <table className="cycles lots drifts">
        <thead>
          <tr>
            <th scope="col">{words.point}</th>
            {numbers.map((name) => (
              <th key={name} scope="col" className="number">
                {name}
              </th>
            ))}
          </tr>
        </thead>
        {stages
          .filter(({ stage }) => drifts.some((each) => each.stage === stage))
          .map((stage) => (
            <DriftRows key={stage.stage} view={view} stage={stage} />
          ))}
      </table>
    </div>
  );
}

function DriftRows({ view, stage }: { readonly view: AuditView; readonly stage: Stage }): ReactElement {
  const { tongue } = useAuditVoice();
  const { language } = tongue;
  const signed = (kPa: number | undefined): string => (kPa === undefined ? '–' : signedText(kPa, 2, language));
  const rowOf = ({ step, n, meanKpa, bounds, sdKpa, largest, addedKpa }: Drifted): ReactElement => (
    <tr key={step}>
      <th scope="row">{pointText(tongue, namesOf(view), step)}</th>
      <td className="number">{n}</td>
      <td className="number">
        <b>{signed(meanKpa)}</b>
      </td>
      <td className="number">{bounds === null ? '–' : `${signed(bounds.lowKpa)} … ${signed(bounds.highKpa)}`}</td>
      <td className="number">{sdKpa === null ? '–' : numberText(sdKpa, 2, language)}</td>
      <td className="number">
        {signed(largest.kPa)} <span className="code">{largest.serial}</span>
      </td>
      <td className="number">{stage.condition === 'ambient' ? '–' : numberText(addedKpa, 2, language)}</td>
    </tr>
  );
  return (
    <tbody>
      <tr>
        <th scope="rowgroup" colSpan={7} className="group">
          {driftHeading(tongue, view.input.stages, stage)}
        </th>
      </tr>
      {view.evaluation.drifts.filter((each) => each.stage === stage.stage).map(rowOf)}
    </tbody>
  );
}
