import type { ReactElement } from 'react';
import type { AuditView, Decided } from '../../../server/audit/contract.ts';
import { becauseText, judgedText, leftOutText, namesOf, proposedText } from '../../../station/words/audit-text.ts';
import { fill } from '../../../station/words/fill.ts';
import { missesText } from '../../../station/words/plan-text.ts';
import { dateAndTime } from '../shared/figures.ts';
import { useSuspects } from './audit-data.ts';
import { useAuditVoice } from './audit-voice.ts';
import type { AuditVoice } from './audit-voice.ts';
import { DecisionForm, StillHeld, SuspectsFile } from './decision-form.tsx';

/** What becomes of the lot: proposed by the plan's rule, decided by a person, never edited. */
export function DecisionPanel({ view }: { readonly view: AuditView }): ReactElement {
  const voice = useAuditVoice();
  const { lab, tongue } = voice;
  const { decision: words } = lab;
  const { proposal, misses, missesJudged } = view.evaluation;
  const names = namesOf(view);
  const leftOut = leftOutText(tongue, view.draw.leftOut);
  const ofLot = { partNumber: view.partNumber, lot: view.lot };
  return (
    <section className="card decision">
      <h2>
        {words.title} <span className="note">{proposedText(tongue, proposal.decision)}</span>
      </h2>
      <ul className="because">
        {proposal.because.map((reason) => {
          const text = becauseText(tongue, names, reason);
          return <li key={text}>{text}</li>;
        })}
      </ul>
      {leftOut !== null && <p>{leftOut}</p>}
      <p className="note">
        {words.misses}: {missesText(tongue, misses)}{' '}
        {missesJudged !== null && <b>{judgedText(tongue, missesJudged)}</b>}
      </p>
      {view.lotNow !== null && <LotNow now={view.lotNow} />}
      {[view.decision, ...view.before].map(
        (decided) => decided !== null && <Kept key={decided.sequence} decided={decided} />,
      )}
      {view.decision?.decision === 'accept' && <StillHeld {...ofLot} />}
      {view.decision !== null && <p className="note">{words.follow}</p>}
      {view.phase !== 'deciding' && view.phase !== 'decided' && (
        <p className="note">{view.phase === 'opening' ? words.stillInside : words.unfinished}</p>
      )}
      <DecisionForm
        path={['audits', view.audit, 'decisions']}
        first={proposal.decision ?? 'hold'}
        mayOnlyHold={view.phase !== 'deciding' && view.phase !== 'decided'}
        beside={(choice) =>
          choice === 'hold' || choice === 'reject' ? <Suspects view={view} /> : <StillHeld {...ofLot} />
        }
      />
    </section>
  );
}

/** How the lot stands, where that does not rest on this audit. */
function LotNow({ now }: { readonly now: Decided }): ReactElement {
  const { tongue, wish } = useAuditVoice();
  const { by, reason, sequence } = now;
  const facts = { decided: decisionText(tongue, now), time: dateAndTime(now.at, wish.language), by, reason, sequence };
  return (
    <p className={`kept ${now.decision}`}>
      <b>{tongue.words.lotNow.name}:</b> {fill(tongue.words.lotNow.text, facts)}
    </p>
  );
}

const decisionText = ({ words }: AuditVoice['tongue'], { decision, concession }: Decided): string =>
  concession === null ? words.decided[decision] : words.acceptedUnderConcession;

function Kept({ decided }: { readonly decided: Decided }): ReactElement {
  const voice = useAuditVoice();
  const { lab, tongue, wish } = voice;
  const { decision, at, by, reason, concession } = decided;
  const name = decisionText(tongue, decided);
  return (
    <p className={`kept ${decision}`}>
      <b>{fill(lab.decision.kept, { decision: name, time: dateAndTime(at, wish.language), by, reason })}</b>{' '}
      {concession !== null && concessionText(voice, concession)}
    </p>
  );
}

function concessionText(
  { lab }: AuditVoice,
  { reference, quantity, until }: NonNullable<Decided['concession']>,
): string {
  const { decision: words } = lab;
  return fill(words.concession, {
    reference,
    quantity: quantity === null ? '' : fill(words.ofParts, { quantity }),
    until: until === null ? '' : fill(words.untilDate, { date: until.slice(0, 10) }),
  });
}

/** Which lots a hold takes with it, and the list of their parts. */
function Suspects({ view }: { readonly view: AuditView }): ReactElement | null {
  const { lab } = useAuditVoice();
  const { decision: words } = lab;
  const { data } = useSuspects(view.partNumber, view.lot, true);
  if (data === undefined) return null;
  const neighbours = data.filter(({ is }) => is !== 'this');
  const parts = data.reduce((sum, each) => sum + each.parts, 0);
  return (
    <p>
      {neighbours.length === 0
        ? words.suspectsNone
        : fill(words.suspects, {
            lots: neighbours.length,
            names: neighbours.map(({ lot }) => lot).join(', '),
            parts,
          })}{' '}
      <SuspectsFile partNumber={view.partNumber} lot={view.lot} />
    </p>
  );
}
