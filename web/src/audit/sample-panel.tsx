import type { ReactElement } from 'react';
import type { AuditView } from '../../../server/audit/contract.ts';
import { leftOutText, planText, stageText } from '../../../station/words/audit-text.ts';
import { fill } from '../../../station/words/fill.ts';
import { recordPath } from '../desk/record-words.ts';
import { dateAndTime } from '../shared/figures.ts';
import { Link } from 'wouter';
import { useAuditVoice } from './audit-voice.ts';
import { Wide } from '../desk/wide.tsx';

/** What was drawn, and what became of each part. */
export function SamplePanel({ view }: { readonly view: AuditView }): ReactElement {
  const { lab, tongue, wish } = useAuditVoice();
  const { sample: words } = lab;
  const { draw, sample, input } = view;
  const leftOut = leftOutText(tongue, draw.leftOut);
  return (
    <section className="card sample">
      <h2>{words.title}</h2>
      <p>
        {fill(words.drawn, {
          n: draw.serials.length,
          lotSize: draw.lotSize,
          time: dateAndTime(draw.at, wish.language),
          by: draw.by,
        })}
        {'. '}
        {planText(tongue, input.plan, draw.serials.length)}{' '}
        {draw.severity === 'tightened' && tongue.words.plans.tightened}
      </p>
      <p>
        {fill(words.order, { conditions: input.stages.map((stage) => stageText(tongue, stage)).join(', ') })}
        {leftOut !== null && `. ${leftOut}`}
      </p>
      {draw.number > 1 && <p>{fill(words.again, { number: draw.number })}</p>}
      <p className="note seed">{fill(words.seed, { seed: draw.seed, method: draw.method, sequence: draw.sequence })}</p>
      <Wide label={words.title}>
        <table className="cycles lots">
          <thead>
            <tr>
              <th scope="col">{words.serial}</th>
              <th scope="col">{words.state}</th>
              <th scope="col" className="number">
                {words.load}
              </th>
              <th scope="col" className="number">
                {words.nest}
              </th>
            </tr>
          </thead>
          <tbody>
            {sample.map(({ serial, state, reason, load, nest }) => (
              <tr key={serial}>
                <td>
                  <Link className="code" href={recordPath(serial)}>
                    {serial}
                  </Link>
                </td>
                <td>
                  {tongue.words.parts[state]}
                  {reason !== null && `: ${reason}`}
                </td>
                <td className="number">{load ?? ''}</td>
                <td className="number">{nest ?? ''}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Wide>
    </section>
  );
}
