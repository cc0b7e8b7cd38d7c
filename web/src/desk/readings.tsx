import { useState } from 'react';
import type { ReactElement } from 'react';
import type { JudgedReading, RecordView } from '../../../server/records/contract.ts';
import type { Why } from '../../../station/cycle/result.ts';
import { fill } from '../../../station/words/fill.ts';

import { numberText } from '../../../station/words/number-text.ts';
import { ToleranceBar } from '../shared/tolerance-bar.tsx';
import { barGeometry } from '../shared/tolerance-geometry.ts';
import { useDeskVoice } from './desk-voice.ts';
import {
  SUM_DIGITS,
  acceptedText,
  allowedText,
  amount,
  decidingReading,
  nameOf,
  readingNumber,
  sameReading,
  signedNumber,
  termText,
  unitOf,
  unitText,
} from './record-words.ts';
import { Wide } from './wide.tsx';

const [BAR_PX, ROW_PX] = [300, 30];

/** Every reading of a nest in its tolerance, beside the first test of the serial, and the sum behind the one chosen. */
export function Readings(props: {
  readonly readings: readonly JudgedReading[];
  readonly first: readonly JudgedReading[];
  readonly why: Why | null;
  readonly rule: RecordView['rule'];
}): ReactElement {
  const { readings, first, why, rule } = props;
  const { desk } = useDeskVoice();
  const [picked, setPicked] = useState<JudgedReading | null>(null);
  const shown = picked ?? decidingReading(readings, why);
  if (readings.length === 0 || shown === null)
    return (
      <section className="card">
        <h2>{desk.record.readings}</h2>
        <p>{desk.record.noReadings}</p>
      </section>
    );
  return (
    <div className="side-by-side">
      <section className="card">
        <h2>
          {desk.record.readings}
          {first.length > 0 && <small>{desk.record.readingsFirst}</small>}
        </h2>
        <Sheet readings={readings} first={first} shown={shown} onPick={setPicked} />
      </section>
      <Sum reading={shown} rule={rule} />
    </div>
  );
}

function Sheet(props: {
  readonly readings: readonly JudgedReading[];
  readonly first: readonly JudgedReading[];
  readonly shown: JudgedReading;
  onPick: (reading: JudgedReading) => void;
}): ReactElement {
  const { readings, first, shown, onPick } = props;
  const { desk } = useDeskVoice();
  const { record } = desk;
  return (
    <Wide label={record.reading}>
      <table className="sheet">
        <thead>
          <tr>
            <th scope="col">{record.reading}</th>
            <th scope="col" className="in-tolerance">
              {record.inTolerance}
            </th>
            <th scope="col" className="num">
              {record.value}
            </th>
            <th scope="col" className="num">
              {record.uncertainty}
            </th>
            <th scope="col">
              <span className="unseen">{record.asUnit}</span>
            </th>
            <th scope="col" className="num">
              {record.allowed}
            </th>
            <th scope="col" className="num">
              {record.margin}
            </th>
            {first.length > 0 && (
              <th scope="col" className="num">
                {record.change}
              </th>
            )}
            <th scope="col">
              <span className="unseen">{record.sum}</span>
            </th>
          </tr>
        </thead>
        <tbody>
          {readings.map((reading) => (
            <Row
              key={`${reading.step} ${reading.quantity}`}
              reading={reading}
              first={first.length === 0 ? undefined : (first.find((each) => sameReading(each, reading)) ?? null)}
              isShown={sameReading(reading, shown)}
              onPick={onPick}
            />
          ))}
        </tbody>
      </table>
    </Wide>
  );
}

/** `first` undefined: there is no first test to compare with; null: it has no such reading. */
function Row(props: {
  readonly reading: JudgedReading;
  readonly first: JudgedReading | null | undefined;
  readonly isShown: boolean;
  onPick: (reading: JudgedReading) => void;
}): ReactElement {
  const { reading, first, isShown, onPick } = props;
  const voice = useDeskVoice();
  const { desk, wish, words } = voice;
  const name = nameOf(voice, reading);
  return (
    <tr className={reading.verdict === 'fail' ? 'bad' : undefined} aria-current={isShown ? 'true' : undefined}>
      <th scope="row">{name}</th>
      <td>
        <span className="bar">
          <ToleranceBar reading={reading} isOneSided={reading.low === null} width={BAR_PX} height={ROW_PX} />
          {first !== undefined && first !== null && <BirthMark reading={reading} first={first} />}
        </span>
      </td>
      <td className="num">{readingNumber(voice, reading, reading.value)}</td>
      <td className="num note">{readingNumber(voice, reading, 2 * reading.u)}</td>
      <td className="unit">{unitOf(reading)}</td>
      <td className="num">{allowedText(voice, reading)}</td>
      <td className="num">{numberText(reading.margin, 2, wish.language)}</td>
      {first !== undefined && (
        <td className="num">{first === null ? '' : signedNumber(voice, reading, reading.value - first.value)}</td>
      )}
      <td>
        <button
          type="button"
          className="pick"
          aria-pressed={isShown}
          aria-label={fill(desk.record.choose, { reading: name })}
          onClick={() => onPick(reading)}
        >
          Σ
        </button>
        {reading.inGuardBand && <span className="unseen">{words.line.outcome.inGuardBand}</span>}
      </td>
    </tr>
  );
}

/** Where the first test of this serial read, as an open mark on the same track. */
function BirthMark({
  reading,
  first,
}: {
  readonly reading: JudgedReading;
  readonly first: JudgedReading;
}): ReactElement | null {
  const { mark, beyond } = barGeometry({ ...reading, value: first.value }, reading.low === null, BAR_PX);
  if (mark === null || beyond !== null) return null;
  return (
    <svg className="birth-of" viewBox={`0 0 ${BAR_PX} ${ROW_PX}`} aria-hidden="true">
      <rect className="birth" x={mark - 3} y={ROW_PX * 0.1} width="6" height={ROW_PX * 0.8} />
    </svg>
  );
}

/** How a reading became its judgement, number by number, down to what the rule accepts. */
function Sum({ reading, rule }: { readonly reading: JudgedReading; readonly rule: RecordView['rule'] }): ReactElement {
  const voice = useDeskVoice();
  const { desk, words, wish } = voice;
  const { record } = desk;
  const unit = unitOf(reading);
  const isBad = reading.verdict === 'fail';
  const limits: readonly (readonly [string, number])[] = [
    ...(reading.low === null ? [] : [[record.limitLow, reading.low] as const]),
    ...(reading.high === null ? [] : [[record.limitHigh, reading.high] as const]),
  ];
  return (
    <section className="card" aria-live="polite">
      <h2>{fill(record.sumOf, { reading: nameOf(voice, reading) })}</h2>
      <table className="sum">
        <tbody>
          {reading.arithmetic.map(({ term, value, unit: of }) => (
            <tr key={term}>
              <th scope="row">{termText(voice, term)}</th>
              <td className="num">{amount(voice, value)}</td>
              <td className="unit">{unitText(of)}</td>
            </tr>
          ))}
          {limits.map(([name, value]) => (
            <tr key={name}>
              <th scope="row">{name}</th>
              <td className="num">{readingNumber(voice, reading, value, SUM_DIGITS)}</td>
              <td className="unit">{unit}</td>
            </tr>
          ))}
          <tr>
            <th scope="row">{record.uOfReading}</th>
            <td className="num">{amount(voice, reading.u)}</td>
            <td className="unit">{unitText(reading.unit)}</td>
          </tr>
          <tr>
            <th scope="row">
              {record.guard}
              {rule.kind === 'guard-band' && ` (${numberText(rule.factor, 3, wish.language)} u)`}
            </th>
            <td className="num">{amount(voice, reading.guard)}</td>
            <td className="unit">{unitText(reading.unit)}</td>
          </tr>
          <tr>
            <th scope="row">{record.accepted}</th>
            <td className="num">{acceptedText(voice, reading)}</td>
            <td className="unit">{unit}</td>
          </tr>
          <tr className={isBad ? 'total bad' : 'total'}>
            <th scope="row">{isBad ? (reading.inGuardBand ? record.failGuard : record.fail) : record.pass}</th>
            <td className="num">{readingNumber(voice, reading, reading.value, SUM_DIGITS)}</td>
            <td className="unit">{unit}</td>
          </tr>
        </tbody>
      </table>
      <p className="note">
        {words.line.table.margin} {numberText(reading.margin, 2, wish.language)}
      </p>
    </section>
  );
}
