import { useCallback } from 'react';
import type { ReactElement } from 'react';
import { Link } from 'wouter';
import type { AuditComparison } from '../../../server/audit/comparison/contract.ts';
import { comparedErrors } from '../../../server/report/figures/compared-errors.ts';
import type { FigureSetting } from '../../../server/report/figures/drawing.ts';
import { caveatText, comparisonAnswer } from '../../../station/words/comparison-text.ts';
import type { SideNames } from '../../../station/words/comparison-text.ts';
import { fill } from '../../../station/words/fill.ts';
import { Asked } from '../desk/asked.tsx';
import { DeskFrame } from '../desk/desk-frame.tsx';
import { dateAndTime } from '../shared/figures.ts';
import { useComparison } from './audit-data.ts';
import { useAuditVoice } from './audit-voice.ts';
import type { AuditVoice } from './audit-voice.ts';
import { auditPath } from './audits-screen.tsx';
import { comparisonPath } from './compare-choice.tsx';
import { ComparisonTable } from './comparison-table.tsx';
import { Figure } from './figure.tsx';
import { LinkLine } from './link-line.tsx';
import './audit.css';
import './comparison.css';

/** One audit against another of the same part number: what differs beyond chance in words, then the picture and numbers. */
export function ComparisonScreen({
  params: { audit, other },
}: {
  readonly params: { readonly audit: string; readonly other: string };
}): ReactElement {
  const voice = useAuditVoice();
  const words = voice.lab.comparison;
  const query = useComparison(audit, other);
  const { data } = query;
  const names = data === undefined ? null : sideNames(voice, data);
  return (
    <DeskFrame
      page="audits"
      title={names === null ? words.title : `${words.title}: ${fill(words.where, { ...names })}`}
      isSimulated={data?.here.origin === 'simulated' || data?.there.origin === 'simulated'}
      where={data === undefined || names === null ? null : `${data.partNumber} / ${fill(words.where, { ...names })}`}
    >
      <LinkLine />
      <Asked query={query}>{(comparison) => <Comparison comparison={comparison} />}</Asked>
    </DeskFrame>
  );
}

function Comparison({ comparison }: { readonly comparison: AuditComparison }): ReactElement {
  const voice = useAuditVoice();
  const { here, there, standing } = comparison;
  const names = sideNames(voice, comparison);
  const say = [voice.tongue, voice.lab.comparison] as const;
  const { says, more, note } = comparisonAnswer(say, comparison, names);
  const words = voice.lab.comparison;
  return (
    <div className="audit comparison">
      <section className={`card compared-answer ${standing}`}>
        <h1>{says}</h1>
        {more.length > 0 && (
          <ul>
            {more.map((text) => (
              <li key={text}>{text}</li>
            ))}
          </ul>
        )}
        {note !== '' && <p>{note}</p>}
      </section>
      <p className="files">
        {[here, there].map(({ audit }, place) => (
          <Link key={audit} className="btn" href={auditPath(audit)}>
            {fill(words.back, { lot: place === 0 ? names.here : names.there })}
          </Link>
        ))}
        <Link className="btn" href={comparisonPath(there.audit, here.audit)}>
          {words.turned}
        </Link>
        <a className="btn" href={`/api${comparisonPath(here.audit, there.audit)}/comparison.csv`}>
          {words.csv}
        </a>
      </p>
      <Caveats comparison={comparison} names={names} />
      {comparison.cells.length > 0 && <Picture comparison={comparison} names={names} />}
      {comparison.cells.length > 0 && <ComparisonTable comparison={comparison} names={names} />}
    </div>
  );
}

/** The lot of each; with the time of its draw where both are of one lot. */
function sideNames({ wish }: AuditVoice, { here, there }: AuditComparison): SideNames {
  if (here.lot !== there.lot) return { here: here.lot, there: there.lot };
  const named = ({ lot, drawnAt }: AuditComparison['here']): string =>
    `${lot} (${dateAndTime(drawnAt, wish.language)})`;
  return { here: named(here), there: named(there) };
}

interface Told {
  readonly comparison: AuditComparison;
  readonly names: SideNames;
}

function Caveats({ comparison, names }: Told): ReactElement {
  const { tongue, lab } = useAuditVoice();
  const words = lab.comparison;
  const texts = comparison.caveats.map((caveat) => caveatText([tongue, words], comparison, names, caveat));
  return (
    <section className="card caveats">
      {texts.length === 0 ? (
        <p>{words.alikeOtherwise}</p>
      ) : (
        <>
          <h2>{words.caveatsTitle}</h2>
          <ul>
            {texts.map((text) => (
              <li key={text}>{text}</li>
            ))}
          </ul>
        </>
      )}
    </section>
  );
}

function Picture({ comparison, names }: Told): ReactElement {
  const { lab } = useAuditVoice();
  const words = lab.comparison;
  const draw = useCallback((setting: FigureSetting) => comparedErrors(comparison, setting), [comparison]);
  return (
    <section className="card errors">
      <h2>{words.figureTitle}</h2>
      <p className="legend">
        <span>
          <svg viewBox="0 0 48 16" aria-hidden="true">
            <path d="M0 8H48" stroke="var(--ink)" strokeWidth="2.5" />
            <circle cx="24" cy="8" r="5" fill="var(--ink)" />
          </svg>
          {names.here}
        </span>
        <span>
          <svg viewBox="0 0 48 16" aria-hidden="true">
            <path d="M0 8H48" stroke="var(--ink-3)" strokeWidth="2" strokeDasharray="7 4" />
            <rect x="19" y="3" width="10" height="10" fill="var(--paper)" stroke="var(--ink-3)" strokeWidth="2" />
          </svg>
          {names.there}
        </span>
      </p>
      <Figure height={380} draw={draw} />
      <p className="note">{fill(words.figureNote, { here: names.here })}</p>
    </section>
  );
}
