import { useEffect } from 'react';
import type { ReactElement } from 'react';
import { Link, useParams, useSearch } from 'wouter';
import type { CycleLine, RecordView, SerialLife } from '../../../server/records/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { auditPath } from '../audit/audits-screen.tsx';
import { sayingOf } from '../line/wording.ts';
import { Asked, Failed } from './asked.tsx';
import { Believed } from './believed.tsx';
import { useLife, useRecord } from './desk-data.ts';
import { DeskFrame } from './desk-frame.tsx';
import { useDeskVoice } from './desk-voice.ts';
import type { DeskVoice } from './desk-voice.ts';
import { Finding } from './finding.tsx';
import { Life } from './life.tsx';
import { lotPath } from './lot-words.ts';
import { Readings } from './readings.tsx';
import { factsText, sheetOf } from './record-words.ts';
import { TestRan } from './test-ran.tsx';
import { ProblemError } from '../shared/http.ts';

/** One serial: its life, the cycle that is chosen (`?cycle=`, else the last), what was measured and why to believe it. */
export function RecordScreen(): ReactElement {
  const { desk } = useDeskVoice();
  const serial = serialOf(useParams()['serial'] ?? '');
  const wanted = new URLSearchParams(useSearch()).get('cycle');
  const life = useLife(serial);
  const cycles = life.data?.cycles ?? [];
  const chosen = cycles.find(({ cycle }) => cycle === wanted) ?? cycles[0];
  const isUnknown = life.error instanceof ProblemError && life.error.problem.code === 'no-such-serial';
  return (
    <DeskFrame
      page="records"
      title={serial}
      serial={serial}
      isSimulated={chosen?.origin === 'simulated'}
      isFinding={isUnknown}
      where={chosen === undefined ? null : <Where line={chosen} />}
    >
      {isUnknown ? (
        <NoSuchSerial serial={serial} />
      ) : (
        <Asked query={life}>
          {(found) =>
            chosen === undefined ? <NoSuchSerial serial={serial} /> : <Whole life={found} chosen={chosen} />
          }
        </Asked>
      )}
      <p className="note not-printed">
        <Link href="/records">{desk.record.toRecords}</Link>
      </p>
    </DeskFrame>
  );
}

/** A serial out of the address, where it may stand escaped. */
function serialOf(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

function Where({ line }: { readonly line: CycleLine }): ReactElement {
  const { words } = useDeskVoice();
  return (
    <>
      {line.partNumber} / {words.line.setup.lot} <b className="code">{line.lot}</b>
    </>
  );
}

function NoSuchSerial({ serial }: { readonly serial: string }): ReactElement {
  const { desk } = useDeskVoice();
  return (
    <section className="card" role="alert">
      <h1>{fill(desk.record.noSuchSerial, { serial })}</h1>
      <p>{desk.record.noSuchSerialHint}</p>
    </section>
  );
}

function Whole({ life, chosen }: { readonly life: SerialLife; readonly chosen: CycleLine }): ReactElement {
  const record = useRecord(chosen.cycle);
  const first = firstOf(life, chosen);
  const birth = useRecord(first?.cycle ?? null);
  // Whoever chooses another cycle finds its finding at the top again.
  useEffect(() => {
    window.scrollTo(0, 0);
  }, [chosen.cycle]);
  return (
    <>
      {record.data !== undefined && <Finding record={record.data} nest={nestOf(chosen, life.serial)} />}
      {record.isError && record.data === undefined && (
        <Failed error={record.error} again={() => void record.refetch()} />
      )}
      <LotsOf life={life} />
      <Life life={life} chosen={chosen.cycle} first={first?.cycle ?? null} />
      {record.data !== undefined && (
        <Panels
          record={record.data}
          nest={nestOf(chosen, life.serial)}
          birth={
            birth.data === undefined || first === undefined
              ? null
              : { record: birth.data, nest: nestOf(first, life.serial) }
          }
        />
      )}
    </>
  );
}

/** What became of the lot that the part belongs to, and the audits that tested it. */
function LotsOf({ life }: { readonly life: SerialLife }): ReactElement {
  const { record } = useDeskVoice().desk;
  const audits = new Map(life.cycles.flatMap(({ audit, lot }) => (audit === null ? [] : [[audit, lot]])));
  return (
    <p className="lots-of">
      {life.lots.map(({ partNumber, lot, decision }) => (
        <span key={`${partNumber} ${lot}`} className={decision ?? undefined}>
          <Link href={lotPath(partNumber, lot)}>{fill(record.ofLot, { lot })}</Link>:{' '}
          <b>{decision === null ? record.noDecision : record.decisions[decision]}</b>.{' '}
        </span>
      ))}
      {audits.size > 0 && record.audited}{' '}
      {[...audits].map(([audit, lot]) => (
        <Link key={audit} href={auditPath(audit)}>
          {fill(record.toAudit, { lot })}
        </Link>
      ))}
    </p>
  );
}

/** The first cycle of this serial in which it was judged, if that is not the chosen one. */
function firstOf({ cycles, serial }: SerialLife, chosen: CycleLine): CycleLine | undefined {
  const judged = cycles.filter(({ nests }) => nests.some((each) => each.serial === serial && each.verdict !== 'none'));
  const first = judged.at(-1);
  return first?.cycle === chosen.cycle ? undefined : first;
}

const nestOf = ({ nests }: CycleLine, serial: string): number =>
  nests.find((each) => each.serial === serial)?.nest ?? 1;

function Panels(props: {
  readonly record: RecordView;
  readonly nest: number;
  readonly birth: { readonly record: RecordView; readonly nest: number } | null;
}): ReactElement {
  const { record, nest, birth } = props;
  const why = record.line.nests.find((each) => each.nest === nest)?.why ?? null;
  return (
    <>
      <Faults record={record} />
      <Readings
        key={record.line.cycle}
        readings={sheetOf(record.readings, nest)}
        first={birth === null ? [] : sheetOf(birth.record.readings, birth.nest)}
        why={why}
        rule={record.rule}
      />
      <div className="side-by-side">
        <TestRan record={record} nest={nest} />
        <Believed record={record} />
      </div>
    </>
  );
}

/** What was wrong with the station: across the page, never in a part's place. */
function Faults({ record }: { readonly record: RecordView }): ReactElement | null {
  const voice = useDeskVoice();
  const { desk } = voice;
  const { faults } = record.line;
  if (faults.length === 0) return null;
  return (
    <section className="card faults">
      <h2>{desk.record.faults}</h2>
      <ul>
        {faults.map(({ code, phase, nest, facts: given }, at) => {
          const { says, next } = sayingOf(voice, 'station', code);
          const facts = { fault: says, phase: placeText(voice, phase), nest: nest ?? '' };
          return (
            <li key={`${code} ${at}`}>
              <b>{fill(nest === null ? desk.record.faultIn : desk.record.faultAt, facts)}.</b> {next}.{' '}
              <span className="note">{factsText(voice, given)}</span>
            </li>
          );
        })}
      </ul>
    </section>
  );
}

/** The phase of a fault: a pressure point by its name in the profile, what a newer program added as it is stored. */
function placeText({ words }: DeskVoice, phase: string): string {
  const phases: Readonly<Record<string, string>> = words.line.phases;
  return phases[phase] ?? phase.replace(/^point:/, '');
}
