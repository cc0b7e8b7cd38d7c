import { lazy } from 'react';
import { QueryClientProvider } from '@tanstack/react-query';
import type { ReactElement } from 'react';
import { Link, Route, Switch } from 'wouter';
import { AuditsScreen } from '../audit/audits-screen.tsx';
import { deskQueries } from './desk-data.ts';
import { DeskFrame } from './desk-frame.tsx';
import { useDeskVoice } from './desk-voice.ts';
import { LotScreen } from './lot-screen.tsx';
import { LotsScreen } from './lots-screen.tsx';
import { Mishap } from './mishap.tsx';
import { RecordScreen } from './record-screen.tsx';
import { RecordsScreen } from './records-screen.tsx';
import { StartScreen } from './start-screen.tsx';

// Its pictures bring a plotting library along: no other page loads it.
const AuditScreen = lazy(async () => ({ default: (await import('../audit/audit-screen.tsx')).AuditScreen }));
const ComparisonScreen = lazy(async () => ({
  default: (await import('../audit/comparison-screen.tsx')).ComparisonScreen,
}));

const LabScreen = lazy(async () => ({ default: (await import('../audit/lab-screen.tsx')).LabScreen }));

/** The pages of the desk, each at its address. */
export const Desk = (): ReactElement => (
  <QueryClientProvider client={deskQueries}>
    <Mishap>
      <Switch>
        <Route path="/" component={StartScreen} />
        <Route path="/lots" component={LotsScreen} />
        <Route path="/lots/:partNumber/:lot" component={LotScreen} />
        <Route path="/audits" component={AuditsScreen} />
        <Route path="/lab/:station" component={LabScreen} />
        <Route path="/audits/:audit" component={AuditScreen} />
        <Route path="/audits/:audit/against/:other" component={ComparisonScreen} />
        <Route path="/records" component={RecordsScreen} />
        <Route path="/records/:serial" component={RecordScreen} />
        <Route component={NoSuchPage} />
      </Switch>
    </Mishap>
  </QueryClientProvider>
);

function NoSuchPage(): ReactElement {
  const { desk } = useDeskVoice();
  return (
    <DeskFrame page={null} title={desk.page.noSuchPage} isSimulated={false}>
      <section className="card">
        <h1>{desk.page.noSuchPage}</h1>
        <Link href="/">{desk.page.toStations}</Link>
      </section>
    </DeskFrame>
  );
}
