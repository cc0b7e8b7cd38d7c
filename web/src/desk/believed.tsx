import type { ReactElement, ReactNode } from 'react';
import type { RecordView } from '../../../server/records/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { dateAndTime, pressureFigure } from '../shared/figures.ts';
import { numberText } from '../../../station/words/number-text.ts';
import { useDeskVoice } from './desk-voice.ts';
import { hashText } from './record-words.ts';

const COMMAND = 'barolot verify';

/** What the record rests on, and what was recomputed about it just now. */
export function Believed({ record }: { readonly record: RecordView }): ReactElement {
  const voice = useDeskVoice();
  const { desk, words, wish } = voice;
  const text = desk.record;
  const { line, hashes, verified, circumstances, rule, profileRevision, document, rigIssue } = record;
  const isWhole = verified.chain && verified.trace !== false;
  const when = (iso: string): string => dateAndTime(iso, wish.language);
  const findings = [
    text.entryHolds,
    verified.chain ? text.chainHolds : text.chainBroken,
    verified.trace === null ? text.traceNone : verified.trace ? text.traceHolds : text.traceBroken,
  ];
  const rows: readonly (readonly [string, ReactNode])[] = [
    [text.checks, findings.join('; ')],
    [
      text.profile,
      `${fill(text.profileText, { partNumber: line.partNumber, revision: profileRevision })}, ${record.title}`,
    ],
    [text.document, `${document.title}, ${document.revision}`],
    [text.station, fill(text.stationText, { station: line.station, issue: rigIssue })],
    [
      text.origin,
      line.origin === 'real'
        ? text.real
        : circumstances.seed === null
          ? text.simulatedOnly
          : fill(text.simulatedSeed, { seed: circumstances.seed }),
    ],
    [text.program, circumstances.program],
    [text.operator, fill(text[record.proof], { name: circumstances.operator })],
    [
      text.rule,
      rule.kind === 'simple'
        ? text.ruleSimple
        : fill(text.ruleGuard, { factor: numberText(rule.factor, 3, wish.language) }),
    ],
    [text.room, roomText(record)],
    [text.times, `${when(circumstances.openedAt)}, ${when(circumstances.closedAt)}`],
    [
      text.entry,
      <Hash key="entry" text={fill(text.entryText, { sequence: line.sequence, hash: '' })} hash={hashes.entry} />,
    ],
    [text.before, <Hash key="before" text="" hash={hashes.before} />],
    [text.hashes, <Hashes key="hashes" record={record} />],
  ];

  function roomText({ circumstances: { barometerKpaAbs, roomC } }: RecordView): string {
    const { number, unit } =
      barometerKpaAbs === null
        ? { number: '', unit: '' }
        : pressureFigure(barometerKpaAbs, null, wish, {
            below: words.line.settings.belowAmbient,
            above: words.line.settings.aboveAmbient,
          });
    const pressure = number === '' ? [] : [`${number} ${unit}`];
    return [...pressure, ...(roomC === null ? [] : [`${numberText(roomC, 1, wish.language)} °C`])].join(', ');
  }

  return (
    <section className="card">
      <h2>
        {text.believed}
        <small className={isWhole ? undefined : 'fail'}>{isWhole ? text.believedYes : text.believedNo}</small>
      </h2>
      <table className="kv">
        <tbody>
          {rows.map(([name, value]) =>
            value === '' ? null : (
              <tr key={name}>
                <th scope="row">{name}</th>
                <td>{value}</td>
              </tr>
            ),
          )}
        </tbody>
      </table>
      <p className="note">{fill(text.wholeLedger, { command: COMMAND })}</p>
      <p className="deeds not-printed">
        <a className="btn" href={`/api/records/cycles/${encodeURIComponent(line.cycle)}/export`} download>
          {text.export}
        </a>
        <button type="button" onClick={() => window.print()}>
          {text.print}
        </button>
      </p>
    </section>
  );
}

/** A hash shortened for the eye; whole for whoever copies, and on paper. */
function Hash({ text, hash }: { readonly text: string; readonly hash: string }): ReactElement {
  return (
    <span className="code" title={hash}>
      {text}
      {hashText(hash)}
    </span>
  );
}

function Hashes({ record: { hashes } }: { readonly record: RecordView }): ReactElement {
  const { record } = useDeskVoice().desk;
  const named: readonly (readonly [string, string | null])[] = [
    [record.hashMeasurement, hashes.measurement],
    [record.hashPlan, hashes.plan],
    [record.hashProfile, hashes.profile],
    [record.hashRig, hashes.rig],
    [record.hashTrace, hashes.trace],
    [record.entry, hashes.entry],
    [record.before, hashes.before],
  ];
  return (
    <details>
      <summary>{record.showHashes}</summary>
      <dl className="hashes">
        {named.map(([name, hash]) =>
          hash === null ? null : (
            <div key={name}>
              <dt>{name}</dt>
              <dd className="code">{hash}</dd>
            </div>
          ),
        )}
      </dl>
    </details>
  );
}
