import { useState } from 'react';
import type { ReactElement } from 'react';
import type { AuditView } from '../../../server/audit/contract.ts';
import type { LabView } from '../../../server/lab/contract.ts';
import { stageText } from '../../../station/words/audit-text.ts';
import { fill } from '../../../station/words/fill.ts';
import { numberText } from '../../../station/words/number-text.ts';
import { clockTime, dateAndTime } from '../shared/figures.ts';
import { useLabs, useReadiness, useTell } from './audit-data.ts';
import { useAuditVoice } from './audit-voice.ts';
import { asHeard, useLabLink } from './lab-link.ts';
import { doingText, doorText, durationText, endingText, stageLine, stoppedText, waitText } from './lab-words.ts';
import { NestScan } from './nest-scan.tsx';
import { Refused, Signed, useName } from './told.tsx';

/** The lab station that an audit was drawn for: what it does, what it waits for, what a person does next. */
export function LabPanel(props: { readonly view: AuditView; readonly isAtWork: boolean }): ReactElement | null {
  const { view, isAtWork } = props;
  const labs = useLabs();
  const link = useLabLink();
  const station = labs.data?.find((each) => each.station === view.station);
  // What became of the audit changes nothing about a load that is inside.
  if (station === undefined || (!isAtWork && station.load?.audit !== view.audit)) return null;
  return <Station lab={asHeard(station, link)} view={view} />;
}

function Station({ lab, view }: { readonly lab: LabView; readonly view: AuditView }): ReactElement {
  const voice = useAuditVoice();
  const { lab: words } = voice.lab;
  const name = useName();
  const told = useTell();
  const path = ['stations', lab.station, 'lab', 'commands'];
  const command = (body: object): void => {
    stop.reset();
    told.mutate({ path, body });
  };
  // A stop waits for nothing that was told before it.
  const stop = useTell();
  const asking = { lab, view, name, command, clear: told.reset };
  const isOwn = lab.load?.audit === view.audit;
  // What became of an audit takes no heat out of its parts.
  const isToComeOut = isOwn && (view.phase === 'opening' || view.phase === 'abandoned');
  return (
    <section className="card lab" aria-label={fill(words.title, { station: lab.station })}>
      <h2>{fill(words.title, { station: lab.station })}</h2>
      <p className="doing" role="status">
        {doingText(voice, lab)}
      </p>
      {lab.load !== null && <p>{isOwn ? stageLine(voice, lab, view) : fill(words.other, { lot: lab.load.lot })}</p>}
      <Temperatures lab={lab} />
      {isOwn && lab.ends !== null && <Ends ends={lab.ends} />}
      <p className={`door ${lab.door}`}>
        <DoorMark state={lab.door} />
        {doorText(voice, lab)}
      </p>
      {lab.progress !== null && <p>{fill(words.progress, lab.progress)}</p>}
      <div className="acts">
        <Signed />
        {lab.doing !== 'rest' && (
          <button
            type="button"
            className="btn"
            disabled={lab.isStopping}
            onClick={() => stop.mutate({ path, body: { type: 'stop' } })}
          >
            {lab.isStopping ? words.stopping : words.stop}
          </button>
        )}
        {view.phase === 'stopped' && (
          <>
            <p className="caution-line">{stoppedText(voice, view, lab)}</p>
            <button
              type="button"
              className="btn do"
              disabled={name === '' || lab.doing !== 'rest'}
              onClick={() => command({ type: 'resume', by: name, audit: view.audit })}
            >
              {words.resume}
            </button>
          </>
        )}
        {isToComeOut && lab.doing === 'rest' && lab.door !== 'ready' && (
          <button
            type="button"
            className="btn do"
            disabled={name === ''}
            onClick={() => command({ type: 'resume', by: name, audit: view.audit })}
          >
            {words.comeDown}
          </button>
        )}
        {isToComeOut && (
          <button
            type="button"
            className="btn do"
            disabled={name === '' || lab.door !== 'ready'}
            onClick={() => command({ type: 'taken-out', by: name })}
          >
            {words.takenOut}
          </button>
        )}
      </div>
      <Refused error={told.error ?? stop.error} />
      {lab.trouble !== null && <p className="caution-line">{voice.words.faults[lab.trouble].says}</p>}
      {view.phase === 'stopped' && lab.doing === 'rest' && <Due {...asking} />}
      {(view.phase === 'finding' || view.phase === 'loading') && lab.doing === 'rest' && (
        <NextLoad key={view.runs.length} {...asking} />
      )}
      <p className="caution">{words.caution}</p>
      {lab.origin === 'simulated' && <p className="note">{words.faster}</p>}
      <Interruptions view={view} />
    </section>
  );
}

/** Open: a tick; anything else: a bar across. */
export const DoorMark = ({ state }: { readonly state: LabView['door'] }): ReactElement => (
  <svg className="door-mark" viewBox="0 0 24 24" aria-hidden="true">
    {state === 'ready' ? (
      <path d="M4 13l5 5L20 6" fill="none" stroke="currentColor" strokeWidth="3" />
    ) : (
      <path d="M12 3a9 9 0 100 18 9 9 0 000-18zM6 12h12" fill="none" stroke="currentColor" strokeWidth="3" />
    )}
  </svg>
);

export function Temperatures({ lab }: { readonly lab: LabView }): ReactElement {
  const voice = useAuditVoice();
  const { lab: words } = voice.lab;
  const { wish } = voice;
  const text = (value: number): string => numberText(value, 1, wish.language);
  const { soak, chamberC } = lab;
  const left = soak?.leftS ?? null;
  // On the way down nobody waits any more once the door may be opened.
  const isWaiting = lab.doing === 'soaking' || (lab.doing === 'coming-down' && lab.door !== 'ready');
  return (
    <dl className="lot-facts">
      {chamberC !== null && (
        <div>
          <dt>{words.air}</dt>
          <dd>{fill(words.degrees, { value: text(chamberC) })}</dd>
        </div>
      )}
      {soak !== null && (
        <>
          <div>
            <dt>{words.parts}</dt>
            <dd>{fill(words.range, { low: text(soak.coreLowC), high: text(soak.coreHighC) })}</dd>
          </div>
          {isWaiting && (
            <div>
              <dt>{lab.doing === 'coming-down' ? words.touchIn : words.testIn}</dt>
              <dd>
                {soak.heldBy !== null && fill(words.heatOff, { why: voice.words.faults[soak.heldBy].says })}
                {left !== null && waitText(voice, left, lab.soakPace)}
              </dd>
            </div>
          )}
        </>
      )}
    </dl>
  );
}

/** When the load and the whole audit end, and what that counts on. */
function Ends({ ends }: { readonly ends: NonNullable<LabView['ends']> }): ReactElement {
  const voice = useAuditVoice();
  const { lab: words } = voice.lab;
  const { load, audit, loadsToCome, handlingS } = ends;
  const loads = { loads: loadsToCome, duration: durationText(voice, handlingS) };
  return (
    <>
      <dl className="lot-facts">
        <div>
          <dt>{words.endsLoad}</dt>
          <dd>{endingText(voice, load)}</dd>
        </div>
        <div>
          <dt>{words.endsAudit}</dt>
          <dd>{endingText(voice, audit)}</dd>
        </div>
      </dl>
      <p className="note">
        {words.endsHint} {loadsToCome > 0 && fill(words.endsLoads, loads)}
      </p>
    </>
  );
}

interface Asking {
  readonly lab: LabView;
  readonly view: AuditView;
  readonly name: string;
  readonly command: (body: object) => void;
  /** Something else is being done: what was refused is no news any more. */
  readonly clear: () => void;
}

/** What has to be shown first; then the parts are scanned into their nests. A proof that runs out meanwhile takes no scan back. */
function NextLoad(props: Asking): ReactElement {
  const { lab, view, name, command, clear } = props;
  const voice = useAuditVoice();
  const { lab: words } = voice.lab;
  const [places, setPlaces] = useState<readonly (string | null)[]>([]);
  const readiness = useReadiness(lab.station, view.partNumber).data;
  if (readiness === undefined) return <p role="status">{voice.desk.page.asking}</p>;
  const study = readiness.soakStudy;
  const isDue = study === null || readiness.proofs.some(({ state }) => state !== 'valid');
  if (isDue && places.length === 0) return <Due {...props} />;
  return (
    <>
      <Due {...props} />
      <NestScan
        lab={lab}
        view={view}
        places={places}
        setPlaces={setPlaces}
        mayBegin={name !== '' && !isDue}
        onScan={clear}
        begin={(places) => command({ type: 'begin', by: name, audit: view.audit, places })}
      />
      {study !== null && (
        <p className="note">
          {fill(words.studied, {
            time: dateAndTime(study.at, voice.wish.language),
            shell: numberText(study.shellS, 0, voice.wish.language),
            core: numberText(study.coreS, 0, voice.wish.language),
            dummies: study.dummies,
          })}
        </p>
      )}
    </>
  );
}

/** What the station has to show before it goes on; nothing when it has shown everything. */
function Due({ lab, view, name, command }: Asking): ReactElement | null {
  const { lab: words } = useAuditVoice().lab;
  const { partNumber } = view;
  const readiness = useReadiness(lab.station, partNumber).data;
  if (readiness === undefined) return null;
  const due = readiness.proofs.filter(({ state }) => state !== 'valid').map(({ proof }) => proof);
  const study = readiness.soakStudy;
  const isNamed = name !== '';
  if (due.length === 0 && study !== null) return null;
  return (
    <div className="due">
      <h3>{words.due}</h3>
      <ul>
        {due.includes('calibration') && <li>{words.calibration}</li>}
        {due.includes('characterisation') && (
          <li>
            {fill(words.characterise, { partNumber })}{' '}
            <button type="button" className="btn" onClick={() => command({ type: 'characterise', partNumber })}>
              {words.characteriseGo}
            </button>
          </li>
        )}
        {study === null && (
          <li>
            {fill(words.study, { partNumber })}{' '}
            <button
              type="button"
              className="btn"
              disabled={!isNamed}
              onClick={() => command({ type: 'study-soak', by: name, partNumber })}
            >
              {words.studyGo}
            </button>
          </li>
        )}
        {due.includes('master-check') && (
          <li>
            {words.masters}{' '}
            <button
              type="button"
              className="btn"
              disabled={!isNamed}
              onClick={() => command({ type: 'state-masters', by: name, partNumber })}
            >
              {words.mastersGo}
            </button>
          </li>
        )}
      </ul>
    </div>
  );
}

function Interruptions({ view }: { readonly view: AuditView }): ReactElement | null {
  const voice = useAuditVoice();
  const { lab: words } = voice.lab;
  if (view.interruptions.length === 0) return null;
  return (
    <>
      <h3>{words.interruptions}</h3>
      <ul>
        {view.interruptions.map(({ at, load, stage, what }) => {
          const found = view.input.stages.find((each) => each.stage === stage);
          const faults: Readonly<Record<string, { readonly says: string }>> = voice.words.faults;
          return (
            <li key={at}>
              {fill(words.interruption, {
                time: clockTime(at, voice.wish.language),
                load,
                condition: found === undefined ? '' : stageText(voice.tongue, found),
                what: faults[what]?.says ?? what,
              })}
            </li>
          );
        })}
      </ul>
    </>
  );
}
