import { useState } from 'react';
import type { ReactElement } from 'react';
import { Link, useLocation } from 'wouter';
import type { OtherAudit } from '../../../server/audit/comparison/contract.ts';
import type { AuditView } from '../../../server/audit/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { dateAndTime } from '../shared/figures.ts';
import { useOthers } from './audit-data.ts';
import { useAuditVoice } from './audit-voice.ts';
import type { AuditVoice } from './audit-voice.ts';

export const comparisonPath = (audit: string, other: string): string =>
  `/audits/${encodeURIComponent(audit)}/against/${encodeURIComponent(other)}`;

/** A choice of the part number's other audits; the last that was accepted is chosen until somebody chooses. */
export function CompareChoice({ view }: { readonly view: Pick<AuditView, 'audit'> }): ReactElement {
  const voice = useAuditVoice();
  const { choice } = voice.lab.comparison;
  const { data: others } = useOthers(view.audit);
  const [chosen, setChosen] = useState<string | null>(null);
  const [, go] = useLocation();
  const accepted = others?.find(({ decision }) => decision?.decision === 'accept');
  const other = chosen ?? (accepted ?? others?.[0])?.audit ?? null;
  return (
    <section className="card compare">
      <h2>{choice.title}</h2>
      {other === null || others === undefined ? (
        <p>{others === undefined ? '' : choice.none}</p>
      ) : (
        <form
          className="acts"
          onSubmit={(event) => {
            event.preventDefault();
            go(comparisonPath(view.audit, other));
          }}
        >
          <label className="field grows">
            {choice.which}
            <select value={other} onChange={({ target }) => setChosen(target.value)}>
              {others.map((each) => (
                <option key={each.audit} value={each.audit}>
                  {optionText(voice, each)}
                </option>
              ))}
            </select>
          </label>
          <button type="submit" className="btn">
            {choice.go}
          </button>
        </form>
      )}
    </section>
  );
}

function optionText({ lab, tongue, wish }: AuditVoice, { lot, drawnAt, phase, decision }: OtherAudit): string {
  const isDecided = phase === 'decided' && decision !== null;
  return fill(lab.comparison.choice.option, {
    lot,
    time: dateAndTime(drawnAt, wish.language),
    state: isDecided ? tongue.words.decided[decision.decision] : tongue.words.phases[phase],
  });
}

/** From the trend to each of the audits before. */
export function TrendLinks({ view }: { readonly view: Pick<AuditView, 'audit' | 'trend'> }): ReactElement | null {
  const { lab } = useAuditVoice();
  const others = view.trend.filter(({ audit }) => audit !== view.audit);
  if (others.length === 0) return null;
  return (
    <p className="trend-links not-printed">
      {lab.comparison.choice.fromTrend}{' '}
      {others.map(({ audit, lot }) => (
        <Link key={audit} className="code" href={comparisonPath(view.audit, audit)}>
          {lot}
        </Link>
      ))}
    </p>
  );
}
