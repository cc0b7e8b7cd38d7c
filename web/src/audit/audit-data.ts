import { useId } from 'react';
import { skipToken, useMutation, useQuery, useQueryClient } from '@tanstack/react-query';
import type { UseMutationResult, UseQueryResult } from '@tanstack/react-query';
import type {
  AuditLine,
  AuditView,
  HistoryProgress,
  SamplingPlanView,
  SuspectLot,
} from '../../../server/audit/contract.ts';
import type { AuditComparison, OtherAudit } from '../../../server/audit/comparison/contract.ts';
import type { LabReadiness, LabView } from '../../../server/lab/contract.ts';
import { WORKED_OUT_MS, ask, tell } from '../shared/http.ts';
import { useLabLink } from './lab-link.ts';

/** What is asked of the server. Pages follow the lab (`lab-link.ts`): what has changed is asked for anew, nothing by the clock. */

/** How often the making of a demo history is looked at. */
const HISTORY_MS = 1000;
/** A timer cannot wait longer. */
const LONGEST_WAIT_MS = 2 ** 31 - 1;

const pathOf = (...parts: readonly string[]): string => `/api/${parts.map(encodeURIComponent).join('/')}`;

export function useAudits(of: {
  readonly partNumber?: string;
  readonly lot?: string;
}): UseQueryResult<readonly AuditLine[]> {
  const query = new URLSearchParams(Object.entries(of)).toString();
  return useQuery({
    queryKey: ['audits', query],
    queryFn: ({ signal }) => ask<readonly AuditLine[]>(`/api/audits?${query}`, signal, WORKED_OUT_MS),
  });
}

export const useAudit = (audit: string): UseQueryResult<AuditView> =>
  useQuery({
    queryKey: ['audit', audit],
    queryFn: ({ signal }) => ask<AuditView>(pathOf('audits', audit), signal, WORKED_OUT_MS),
  });

/** The other audits of the same part number: asked for once a page, for whole ledgers are looked through. */
export const useOthers = (audit: string): UseQueryResult<readonly OtherAudit[]> =>
  useQuery({
    queryKey: ['others', audit],
    queryFn: ({ signal }) => ask<readonly OtherAudit[]>(pathOf('audits', audit, 'others'), signal, WORKED_OUT_MS),
    refetchOnWindowFocus: false,
  });

/** Two audits compared. */
export const useComparison = (audit: string, other: string): UseQueryResult<AuditComparison> =>
  useQuery({
    queryKey: ['comparison', audit, other],
    queryFn: ({ signal }) => ask<AuditComparison>(pathOf('audits', audit, 'against', other), signal, WORKED_OUT_MS),
  });

/** The lab stations as their stream has them: an answer to a question might be older than what was heard meanwhile. */
export function useLabs(): UseQueryResult<readonly LabView[]> {
  useLabLink();
  return useQuery<readonly LabView[]>({ queryKey: ['labs'], queryFn: skipToken });
}

/** How far a demo history is that is being made; asked no more when none is. */
export const useHistory = (): UseQueryResult<HistoryProgress | null> =>
  useQuery({
    queryKey: ['demo-history'],
    queryFn: async ({ signal }) =>
      (await ask<{ readonly history: HistoryProgress | null }>('/api/demo-history', signal)).history,
    refetchInterval: ({ state }) => (state.data === null ? false : HISTORY_MS),
  });

export const useReadiness = (station: string, partNumber: string): UseQueryResult<LabReadiness> =>
  useQuery({
    queryKey: ['readiness', station, partNumber],
    queryFn: ({ signal }) => ask<LabReadiness>(pathOf('stations', station, 'lab', 'readiness', partNumber), signal),
    refetchInterval: ({ state }) => (state.data === undefined ? false : runsOutIn(state.data)),
  });

/** How long until the first of the proofs runs out, which is no entry of the ledger, ms; false when none does. */
function runsOutIn({ proofs }: LabReadiness): number | false {
  const ends = proofs.flatMap(({ state, until }) => (state === 'valid' && until !== null ? [Date.parse(until)] : []));
  if (ends.length === 0) return false;
  return Math.min(LONGEST_WAIT_MS, Math.max(1000, Math.min(...ends) - Date.now() + 1000));
}

export const useSamplingPlan = (partNumber: string): UseQueryResult<SamplingPlanView> =>
  useQuery({
    queryKey: ['sampling-plan', partNumber],
    queryFn: ({ signal }) => ask<SamplingPlanView>(pathOf('sampling-plans', partNumber), signal),
  });

export const useSuspects = (
  partNumber: string,
  lot: string,
  isWanted: boolean,
): UseQueryResult<readonly SuspectLot[]> =>
  useQuery({
    queryKey: ['suspects', partNumber, lot],
    queryFn: ({ signal }) => ask<readonly SuspectLot[]>(pathOf('lots', partNumber, lot, 'suspects'), signal),
    enabled: isWanted,
  });

/** Something that is told to the server; whatever is shown is asked for anew when it was done. */
export interface Told {
  readonly path: readonly string[];
  readonly body: unknown;
  readonly method?: 'POST' | 'PUT';
}

/**
 * While one telling of it waits for its answer, `mutate` sends nothing more: a key that is pressed twice signs once.
 * `mutateAsync` sends each, for what comes from a scanner.
 */
export function useTell<T = unknown>(): UseMutationResult<T, Error, Told> {
  const queries = useQueryClient();
  const mutationKey = ['told', useId()];
  const telling = useMutation({
    mutationKey,
    mutationFn: ({ path, body, method }: Told) => tell(pathOf(...path), body, method) as Promise<T>,
    // Told or refused at once: what waits for a network would be said later, when nobody thinks of it.
    networkMode: 'always',
    // Not waited for: the answer is there, and what is asked anew may be slow.
    onSettled: () => void queries.invalidateQueries(),
  });
  const mutate: typeof telling.mutate = (...told) => {
    // Not `isPending`, which is that of the last rendering.
    if (queries.isMutating({ mutationKey }) === 0) telling.mutate(...told);
  };
  return { ...telling, mutate };
}
