import type { ReactElement } from 'react';
import type { SamplingPlanView } from '../../../server/audit/contract.ts';
import { stageText } from '../../../station/words/audit-text.ts';
import { fill } from '../../../station/words/fill.ts';
import { useAuditVoice } from './audit-voice.ts';

export type ProfileCondition = SamplingPlanView['conditions'][number];

/** A condition of the profile in its place, and whether it is tested. */
export interface ConditionPlace extends ProfileCondition {
  readonly isChosen: boolean;
}

/** All of a profile's conditions in its order: what holds until somebody says otherwise. */
export const asInProfile = (conditions: readonly ProfileCondition[]): readonly ConditionPlace[] =>
  conditions.map((each) => ({ ...each, isChosen: true }));

/** The place moved by one, towards the begin (-1) or the end (1); as it was where there is no such place. */
export function moved(places: readonly ConditionPlace[], at: number, by: -1 | 1): readonly ConditionPlace[] {
  const [one, other] = [places[at], places[at + by]];
  if (one === undefined || other === undefined) return places;
  return places.map((place, index) => (index === at ? other : index === at + by ? one : place));
}

/** Which conditions, in which order: ticked, and moved by keys. */
export function ConditionOrder(props: {
  readonly places: readonly ConditionPlace[];
  readonly onChange: (places: readonly ConditionPlace[]) => void;
}): ReactElement {
  const { places, onChange } = props;
  const { lab, tongue } = useAuditVoice();
  const { draw: words } = lab;
  return (
    <fieldset className="condition-order">
      <legend>{words.conditions}</legend>
      <ol>
        {places.map(({ condition, targetC, isChosen }, at) => {
          const name = stageText(tongue, { stage: at + 1, condition, targetC, isAgain: false });
          return (
            <li key={condition}>
              <label className="check">
                <input
                  type="checkbox"
                  checked={isChosen}
                  onChange={(event) =>
                    onChange(
                      places.map((place, index) =>
                        index === at ? { ...place, isChosen: event.target.checked } : place,
                      ),
                    )
                  }
                />
                {name}
              </label>
              <button
                type="button"
                className="btn"
                aria-label={fill(words.earlier, { condition: name })}
                disabled={at === 0}
                onClick={() => onChange(moved(places, at, -1))}
              >
                <Arrow up />
              </button>
              <button
                type="button"
                className="btn"
                aria-label={fill(words.later, { condition: name })}
                disabled={at === places.length - 1}
                onClick={() => onChange(moved(places, at, 1))}
              >
                <Arrow />
              </button>
            </li>
          );
        })}
      </ol>
    </fieldset>
  );
}

const Arrow = ({ up = false }: { readonly up?: boolean }): ReactElement => (
  <svg viewBox="0 0 16 16" width="16" height="16" aria-hidden="true">
    <path d={up ? 'M3 10l5-5 5 5' : 'M3 6l5 5 5-5'} fill="none" stroke="currentColor" strokeWidth="2" />
  </svg>
);
