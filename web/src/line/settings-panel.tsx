import type { ReactElement } from 'react';
import { UNITS, setPreferences } from '../shared/preferences.ts';
import type { Voice } from './wording.ts';

/** How a person wants to see things: units, language, light or dark. */
export function SettingsPanel({
  voice,
  onClose,
}: {
  readonly voice: Voice;
  readonly onClose: () => void;
}): ReactElement {
  const { words, wish } = voice;
  const { settings: say } = words.line;
  return (
    <section className="panel settings" aria-label={say.show}>
      <Choice
        label={say.units}
        value={wish.unit}
        options={UNITS.map((unit) => [unit, unit])}
        onChoose={(unit) => setPreferences({ unit })}
      />
      <Choice
        label={say.from}
        value={wish.isBelowAmbient ? 'below' : 'absolute'}
        options={[
          ['absolute', say.absolute],
          ['below', say.belowAmbient],
        ]}
        onChoose={(from) => setPreferences({ isBelowAmbient: from === 'below' })}
      />
      <Choice
        label={say.language}
        value={wish.language}
        options={[
          ['en', 'English'],
          ['es', 'Español'],
        ]}
        onChoose={(language) => setPreferences({ language })}
      />
      <Choice
        label={say.theme}
        value={wish.theme}
        options={[
          ['light', say.light],
          ['dark', say.dark],
        ]}
        onChoose={(theme) => setPreferences({ theme })}
      />
      <p className="cautions">{words.line.cautions}</p>
      <button type="button" className="small-key close" onClick={onClose}>
        {say.hide}
      </button>
    </section>
  );
}

function Choice<T extends string>(props: {
  readonly label: string;
  readonly value: T;
  readonly options: readonly (readonly [T, string])[];
  readonly onChoose: (value: T) => void;
}): ReactElement {
  const { label, value, options, onChoose } = props;
  return (
    <div className="choice" role="group" aria-label={label}>
      <span>{label}</span>
      {options.map(([option, text]) => (
        <button
          key={option}
          type="button"
          className="small-key"
          aria-pressed={option === value}
          onClick={(event) => {
            if (event.detail > 0) event.currentTarget.blur();
            onChoose(option);
          }}
        >
          {text}
        </button>
      ))}
    </div>
  );
}
