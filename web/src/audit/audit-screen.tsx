import type { ReactElement } from 'react';
import { Link } from 'wouter';
import type { AuditView } from '../../../server/audit/contract.ts';
import { fourAnswers } from '../../../station/words/audit-answers.ts';
import type { Answer, FourAnswers } from '../../../station/words/audit-answers.ts';
import { fill } from '../../../station/words/fill.ts';
import { Asked } from '../desk/asked.tsx';
import { DeskFrame } from '../desk/desk-frame.tsx';
import { lotPath } from '../desk/lot-words.ts';
import { dateAndTime } from '../shared/figures.ts';
import { useAudit } from './audit-data.ts';
import { useAuditVoice } from './audit-voice.ts';
import { CompareChoice } from './compare-choice.tsx';
import { DecisionPanel } from './decision-panel.tsx';
import { FindPanel } from './find-panel.tsx';
import { LabPanel } from './lab-panel.tsx';
import { LinkLine } from './link-line.tsx';
import { PickList, printPickList } from './pick-list.tsx';
import { Results } from './results.tsx';
import { SamplePanel } from './sample-panel.tsx';
import { NameField } from './told.tsx';
import './audit.css';

/** One audit, from its draw to its decision: what is to be done now comes first, results as soon as there are some. */
export function AuditScreen({ params }: { readonly params: { readonly audit: string } }): ReactElement {
  const { lab, wish } = useAuditVoice();
  const query = useAudit(params.audit);
  const view = query.data;
  return (
    <DeskFrame
      page="audits"
      title={`${lab.audit} ${view?.lot ?? ''}`}
      isSimulated={view?.origin === 'simulated'}
      where={
        view === undefined ? null : (
          <>
            {view.plant} / {view.partNumber}, {view.pressureClass} /{' '}
            <Link href={lotPath(view.partNumber, view.lot)}>{fill(lab.toLot, { lot: view.lot })}</Link> /{' '}
            {fill(lab.where, { time: dateAndTime(view.drawnAt, wish.language), revision: view.profile.revision })}
          </>
        )
      }
    >
      <LinkLine />
      <Asked query={query}>{(audit) => <Audit view={audit} />}</Asked>
    </DeskFrame>
  );
}

function Audit({ view }: { readonly view: AuditView }): ReactElement {
  const { tongue, lab } = useAuditVoice();
  const { input, evaluation, phase } = view;
  const answers = fourAnswers(tongue, {
    ...evaluation,
    stages: input.stages,
    points: input.points,
    missing: input.missing.length,
    parts: input.parts.length,
    wantedPpk: input.wantedPpk,
  });
  const isOver = phase === 'decided' || phase === 'abandoned';
  const isAtWork = !isOver && phase !== 'deciding';
  const isLoaded = view.sample.some(({ load }) => load !== null);
  const hasResults = evaluation.cells.length > 0;
  return (
    <div className="audit">
      <Answers answers={answers} />
      <Files view={view} />
      {isAtWork && !isLoaded && <FindPanel view={view} />}
      <LabPanel view={view} isAtWork={isAtWork} />
      {hasResults ? <Results view={view} /> : <p className="card note">{lab.evaluation.notYet}</p>}
      {hasResults && <CompareChoice view={view} />}
      {phase !== 'abandoned' && <DecisionPanel view={view} />}
      {!isOver && (isLoaded || !isAtWork) && <FindPanel view={view} />}
      <SamplePanel view={view} />
      <PickList view={view} />
    </div>
  );
}

function Answers({ answers }: { readonly answers: FourAnswers }): ReactElement {
  const { good, weakest, capable, sure, standing } = answers;
  return (
    <section className={`answers ${standing}`}>
      <div className="good">
        <StandingMark standing={standing} />
        <div>
          <h1>{good.says}</h1>
          <p>{good.note}</p>
        </div>
      </div>
      {[weakest, capable, sure].map((answer) => (
        <AnswerCell key={answer.question} answer={answer} />
      ))}
    </section>
  );
}

const AnswerCell = ({ answer }: { readonly answer: Answer }): ReactElement => (
  <div>
    <p className="note">{answer.question}</p>
    <p className="says">{answer.says}</p>
    <p className="note">{answer.note}</p>
  </div>
);

/** A mark within, near, or beyond its limits; two dashes where nothing can be said yet. */
function StandingMark({ standing }: Pick<FourAnswers, 'standing'>): ReactElement {
  const at = { good: 32, weak: 50, bad: 66, open: 32 }[standing];
  return (
    <svg className="standing-mark" viewBox="0 0 76 64" aria-hidden="true">
      <path d="M14 8H6v48h8M50 8h8v48h-8" fill="none" stroke="currentColor" strokeWidth="6" />
      {standing === 'open' ? (
        <path d="M20 32h8M36 32h8" stroke="currentColor" strokeWidth="6" />
      ) : (
        <rect x={at - 6} y="22" width="12" height="20" fill="currentColor" />
      )}
    </svg>
  );
}

function Files({ view }: { readonly view: AuditView }): ReactElement {
  const { lab, wish } = useAuditVoice();
  const at = `/api/audits/${encodeURIComponent(view.audit)}`;
  return (
    <div className="files">
      <NameField />
      <a className="btn" href={`${at}/report.pdf?paper=A4&language=${wish.language}`}>
        {lab.files.pdf}, A4
      </a>
      <a className="btn" href={`${at}/report.pdf?paper=Letter&language=${wish.language}`}>
        {lab.files.pdf}, {lab.files.letter}
      </a>
      <a className="btn" href={`${at}/readings.csv`}>
        {lab.files.csv}
      </a>
      <a className="btn" href={`${at}/audit.json`}>
        {lab.files.json}
      </a>
      <button type="button" className="btn" onClick={printPickList}>
        {lab.sample.print}
      </button>
    </div>
  );
}
