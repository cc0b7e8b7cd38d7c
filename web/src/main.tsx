import { StrictMode, Suspense, lazy } from 'react';
import type { ReactElement } from 'react';
import { createRoot } from 'react-dom/client';
import { Route, Switch } from 'wouter';
import { LineScreen } from './line/line-screen.tsx';
import { applyPreferences } from './shared/preferences.ts';
import './shared/fonts.css';
import './shared/tokens.css';

// The panel at the station loads its own screen and nothing of the desks'.
const Desk = lazy(async () => ({ default: (await import('./desk/desk.tsx')).Desk }));

function App(): ReactElement {
  return (
    <Suspense fallback={null}>
      <Switch>
        <Route path="/line/:station">{({ station }) => <LineScreen key={station} station={plainly(station)} />}</Route>
        <Route>
          <Desk />
        </Route>
      </Switch>
    </Suspense>
  );
}

/** A name out of an address; one that cannot be read is taken as it stands. */
function plainly(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

applyPreferences();
const root = document.getElementById('root');
if (root !== null)
  createRoot(root).render(
    <StrictMode>
      <App />
    </StrictMode>,
  );
