import type { ReactElement } from 'react';
import type { LiveView } from '../../../server/line/contract.ts';
import { pressureFigure } from '../shared/figures.ts';
import { useFit } from './use-fit.ts';
import type { Voice } from './wording.ts';

/** Is there pressure: always at the same place, never empty. "Vented" is said of a fresh measurement only. */
export function PressureRow({ live, voice }: { readonly live: LiveView | null; readonly voice: Voice }): ReactElement {
  const { words, wish } = voice;
  const { pressure: say } = words.line;
  const { settings } = words.line;
  const state = live?.pressure.state ?? 'unknown';
  const kPaAbs = live?.pressure.kPaAbs ?? null;
  const shown =
    kPaAbs === null
      ? null
      : pressureFigure(kPaAbs, live?.pressure.barometerKpaAbs ?? null, wish, {
          below: settings.belowAmbient,
          above: settings.aboveAmbient,
        });
  const row = useFit<HTMLDivElement>(`${state} ${shown?.number.length ?? 0} ${shown?.unit ?? ''}`);
  return (
    <div className={state === 'vented' ? 'safe' : 'safe pressure'} data-pressure={state} ref={row}>
      {state !== 'vented' && <Triangle />}
      <span role={state === 'vented' ? undefined : 'alert'}>{say[state]}</span>
      <span className="m">
        {shown === null ? (
          <span className="unit no-news">{say.noNews}</span>
        ) : (
          <>
            {shown.number}{' '}
            <span className="unit">{`${shown.unit}${state === 'vented' ? `, ${say.measured}` : ''}`}</span>
          </>
        )}
      </span>
    </div>
  );
}

/** Caution (IEC 60073 yellow with its shape). */
export function Triangle(): ReactElement {
  return (
    <svg className="triangle" viewBox="0 0 40 36" aria-hidden="true">
      <path d="M20 3L37.500 33.500H2.500Z" />
      <path d="M20 13v10M20 26.500v3" />
    </svg>
  );
}
