import type { ReactElement } from 'react';
import { Link } from 'wouter';
import type { LabView } from '../../../server/lab/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { DeskFrame } from '../desk/desk-frame.tsx';
import { useLabs } from './audit-data.ts';
import { useAuditVoice } from './audit-voice.ts';
import { AuditList, auditPath } from './audits-screen.tsx';
import { DoorMark, Temperatures } from './lab-panel.tsx';
import { asHeard, useLabLink } from './lab-link.ts';
import { doingText, doorText } from './lab-words.ts';
import { LinkLine } from './link-line.tsx';

/** A lab station: what it does now, what is in its chamber, and the audits. */
export function LabScreen({ params }: { readonly params: { readonly station: string } }): ReactElement {
  const { lab: words } = useAuditVoice().lab;
  const labs = useLabs();
  const link = useLabLink();
  const lab = labs.data?.find(({ station }) => station === params.station);
  return (
    <DeskFrame
      page="audits"
      title={fill(words.title, { station: params.station })}
      isSimulated={lab?.origin === 'simulated'}
    >
      <h1>{fill(words.title, { station: params.station })}</h1>
      <LinkLine />
      {labs.data !== undefined && lab === undefined && (
        <p className="card">{fill(words.noSuchStation, { station: params.station })}</p>
      )}
      {lab !== undefined && <Standing lab={asHeard(lab, link)} />}
      <AuditList />
    </DeskFrame>
  );
}

function Standing({ lab }: { readonly lab: LabView }): ReactElement {
  const voice = useAuditVoice();
  const { lab: words } = voice.lab;
  const { load } = lab;
  return (
    <section className="card lab" aria-label={fill(words.title, { station: lab.station })}>
      <p className="doing" role="status">
        {doingText(voice, lab)}
      </p>
      <p>
        {load === null ? (
          words.nothingInside
        ) : (
          <Link href={auditPath(load.audit)}>
            {fill(words.inside, { load: load.load, lot: load.lot, partNumber: load.partNumber })}
          </Link>
        )}
      </p>
      <Temperatures lab={lab} />
      <p className={`door ${lab.door}`}>
        <DoorMark state={lab.door} />
        {doorText(voice, lab)}
      </p>
      {lab.trouble !== null && <p className="caution-line">{voice.words.faults[lab.trouble].says}</p>}
      <p className="caution">{words.caution}</p>
    </section>
  );
}
