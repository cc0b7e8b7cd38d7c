import type { ReactElement } from 'react';
import type { LotView } from '../../../server/audit/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { useAuditVoice } from './audit-voice.ts';
import { DecisionForm, StillHeld, SuspectsFile } from './decision-form.tsx';

/** What becomes of a lot without an audit of its own: a neighbour is let go, a lot is held at sight. */
export function LotDecision({ view }: { readonly view: LotView }): ReactElement {
  const { decision: words } = useAuditVoice().lab;
  const { partNumber, lot, state, decided } = view;
  const isNeighbour = state === 'on-hold' && decided !== null && decided.neighbourOf !== null;
  return (
    <section className="card decision">
      <h2>{words.ofLot}</h2>
      <p>{isNeighbour ? fill(words.mayGo, { lot }) : words.noAudit}</p>
      {(state === 'on-hold' || state === 'rejected') && (
        <p>
          <SuspectsFile partNumber={partNumber} lot={lot} />
        </p>
      )}
      <DecisionForm
        key={state}
        path={['lots', partNumber, lot, 'decisions']}
        first={isNeighbour ? 'accept' : 'hold'}
        mayOnlyHold={false}
        beside={(choice) =>
          choice === 'accept' || choice === 'concession' ? (
            <StillHeld partNumber={partNumber} lot={lot} />
          ) : (
            <p>{words.thisOnly}</p>
          )
        }
      />
    </section>
  );
}
