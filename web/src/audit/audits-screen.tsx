import type { ReactElement } from 'react';
import { Link } from 'wouter';
import type { AuditLine } from '../../../server/audit/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { numberText } from '../../../station/words/number-text.ts';
import { Asked } from '../desk/asked.tsx';
import { DeskFrame } from '../desk/desk-frame.tsx';
import { dateAndTime } from '../shared/figures.ts';
import { useAudits } from './audit-data.ts';
import { useAuditVoice } from './audit-voice.ts';
import type { AuditVoice } from './audit-voice.ts';
import { LinkLine } from './link-line.tsx';
import './audit.css';
import { Wide } from '../desk/wide.tsx';

export const auditPath = (audit: string): string => `/audits/${encodeURIComponent(audit)}`;

/** The latest audits, the newest first. */
export function AuditsScreen(): ReactElement {
  const { lab } = useAuditVoice();
  const audits = useAudits({});
  return (
    <DeskFrame
      page="audits"
      title={lab.title}
      isSimulated={audits.data?.some(({ origin }) => origin === 'simulated') ?? false}
    >
      <h1>{lab.title}</h1>
      <LinkLine />
      <AuditList />
    </DeskFrame>
  );
}

/** The list alone, or the way to a first draw. */
export function AuditList(): ReactElement {
  const { lab } = useAuditVoice();
  const audits = useAudits({});
  return (
    <Asked query={audits}>
      {(lines) =>
        lines.length === 0 ? (
          <p className="card">
            {lab.none} <Link href="/lots">{lab.toLots}</Link>
          </p>
        ) : (
          <section className="card">
            <Wide label={lab.title}>
              <AuditTable lines={lines} />
            </Wide>
          </section>
        )
      }
    </Asked>
  );
}

export function AuditTable({ lines }: { readonly lines: readonly AuditLine[] }): ReactElement {
  const voice = useAuditVoice();
  const { columns } = voice.lab;
  return (
    <table className="cycles lots audits">
      <thead>
        <tr>
          <th scope="col">{columns.lot}</th>
          <th scope="col">{columns.partNumber}</th>
          <th scope="col">{columns.drawn}</th>
          <th scope="col" className="number">
            {columns.parts}
          </th>
          <th scope="col">{columns.phase}</th>
          <th scope="col" className="number">
            {columns.weakest}
          </th>
          <th scope="col">{columns.decision}</th>
        </tr>
      </thead>
      <tbody>
        {lines.map(({ audit, lot, partNumber, drawnAt, parts, phase, weakest, decision }) => (
          <tr key={audit}>
            <td>
              <Link className="code" href={auditPath(audit)} aria-label={fill(voice.lab.open, { lot, partNumber })}>
                {lot}
              </Link>
            </td>
            <td className="code">{partNumber}</td>
            <td>
              <time dateTime={drawnAt}>{dateAndTime(drawnAt, voice.wish.language)}</time>
            </td>
            <td className="number">{parts}</td>
            <td>{voice.tongue.words.phases[phase]}</td>
            <td className="number">{weakestText(voice, weakest)}</td>
            <td>{decision === null ? '–' : voice.tongue.words.decided[decision.decision]}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function weakestText({ lab, wish }: AuditVoice, weakest: AuditLine['weakest']): string {
  if (weakest === null) return '–';
  const text = (value: number): string => numberText(value, 2, wish.language);
  return fill(lab.ppkBound, { ppk: text(weakest.ppk), atLeast: text(weakest.atLeast) });
}
