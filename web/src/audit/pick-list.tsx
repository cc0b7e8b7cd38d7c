import type { ReactElement } from 'react';
import type { AuditView } from '../../../server/audit/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { dateAndTime } from '../shared/figures.ts';
import { useAuditVoice } from './audit-voice.ts';

/** Prints the pick list alone, not the page that it belongs to. */
export function printPickList(): void {
  const { dataset } = document.documentElement;
  dataset['print'] = 'pick-list';
  window.addEventListener('afterprint', () => delete dataset['print'], { once: true });
  window.print();
}

/** The sheet to find the parts by: on paper only. By serial, with a box for each part and lines to sign on. */
export function PickList({ view }: { readonly view: AuditView }): ReactElement {
  const { lab, tongue, wish } = useAuditVoice();
  const { pick: words } = lab;
  const { partNumber, lot, draw, sample } = view;
  const parts = sample.toSorted((a, b) => (a.serial < b.serial ? -1 : 1));
  return (
    <section className="pick-list">
      <h2>{fill(words.title, { lot, partNumber })}</h2>
      <p>
        {fill(words.count, { n: parts.length, lotSize: draw.lotSize })}{' '}
        {fill(words.drawn, { time: dateAndTime(draw.at, wish.language), by: draw.by, number: draw.number })}
      </p>
      <p className="lines">
        <span>{words.name}</span>
        <span>{words.date}</span>
        <span>{fill(words.found, { n: parts.length })}</span>
      </p>
      <p>{words.hint}</p>
      <table>
        <thead>
          <tr>
            <th scope="col" aria-label={words.tick} />
            <th scope="col">{words.serial}</th>
            <th scope="col">{words.line}</th>
            <th scope="col">{words.remark}</th>
          </tr>
        </thead>
        <tbody>
          {parts.map(({ serial, state, reason, line }) => (
            <tr key={serial}>
              <td>
                <span className={state === 'found' ? 'box ticked' : 'box'} />
              </td>
              <td className="code">{serial}</td>
              <td>
                {line !== null &&
                  fill(words.lineAt, { station: line.station, time: dateAndTime(line.at, wish.language) })}
              </td>
              <td>{state === 'missing' && `${tongue.words.parts.missing}: ${reason ?? ''}`}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}
