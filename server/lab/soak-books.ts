import type { ProfileContent } from '../../station/profile/schema.ts';
import type { SoakLags, SoakState } from '../../station/soak/core-observer.ts';
import { soakFrom } from '../../station/soak/core-observer.ts';
import type { DummyRun } from '../../station/soak/lags-fit.ts';
import { studiedLags } from '../audit/soak-study.ts';
import type { TooLittle } from '../audit/soak-study.ts';
import type { Actor } from '../store/record-format.ts';
import type { LedgerReader } from '../store/reader.ts';
import type { Store } from '../store/store.ts';
import type { LabReadiness } from './contract.ts';

/** The action in the journal under which a study is kept. */
export const STUDIED = 'soak-studied';
const subjectOf = (station: string, partNumber: string): string => `${station}/soak/${partNumber}`;

/** What the last study at this station says of a part number; null before one. */
export function soakStudyOf(reader: LedgerReader, station: string, partNumber: string): LabReadiness['soakStudy'] {
  const [last] = reader.journalOf(subjectOf(station, partNumber), 1);
  if (last?.content.action !== STUDIED) return null;
  // Another rig is another chamber.
  const [connected] = reader.journalOf(`${station}/rig`, 1);
  if (connected !== undefined && connected.sequence > last.sequence) return null;
  const { shellS, coreS, dummies, worstRmsK } = last.content.facts;
  return {
    at: last.at,
    shellS: Number(shellS),
    coreS: Number(coreS),
    dummies: Number(dummies),
    worstRmsK: Number(worstRmsK),
  };
}

/** Works a study out and keeps it; answers why it says too little, null when it says enough. Throws the store's errors. */
export function keepSoakStudy(
  store: Store,
  of: { readonly station: string; readonly partNumber: string; readonly actor: Actor },
  runs: readonly DummyRun[],
): TooLittle | null {
  const studied = studiedLags(runs);
  if ('code' in studied) return studied;
  const { shellS, coreS, dummies, worstRmsK } = studied;
  store.journal({
    action: STUDIED,
    subject: subjectOf(of.station, of.partNumber),
    facts: { shellS, coreS, dummies, worstRmsK },
    comment: null,
    actor: of.actor,
  });
  store.checkpoint();
  return null;
}

/** Parts that come from the bench have the room's temperature within this, K. Common practice, no source. */
const BENCH_WITHIN_K = 5;

/** Parts that were laid in from a room of `roomC`. */
export const fromBench = (airC: number, roomC: number): SoakState =>
  soakFrom(airC, { low: roomC - BENCH_WITHIN_K, high: roomC + BENCH_WITHIN_K });

/** Parts of which it is only known that they were in this chamber: the worst case of every condition of the profile. */
export function fromAnywhere(airC: number, roomC: number, { conditions }: ProfileContent): SoakState {
  const reached = [
    airC,
    roomC,
    ...conditions.flatMap(({ targetC, toleranceC }) => [targetC - toleranceC, targetC + toleranceC]),
  ];
  return soakFrom(airC, { low: Math.min(...reached), high: Math.max(...reached) });
}

export const lagsOf = ({ shellS, coreS }: NonNullable<LabReadiness['soakStudy']>): SoakLags => ({ shellS, coreS });
