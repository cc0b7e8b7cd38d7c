import { QueryClient, useInfiniteQuery, useQuery } from '@tanstack/react-query';
import type { InfiniteData, UseInfiniteQueryResult, UseQueryResult } from '@tanstack/react-query';
import type { StationView } from '../../../server/line/contract.ts';
import type { LotLine, LotView } from '../../../server/audit/contract.ts';
import type { CyclePage, RecordView, SerialLife } from '../../../server/records/contract.ts';
import { ProblemError, ask } from '../shared/http.ts';

/** One for all pages of the desk, so that going back shows at once what was there. */
export const deskQueries = new QueryClient({
  defaultOptions: {
    queries: {
      // The server may run on this very machine: what the browser thinks of the network says nothing about it.
      networkMode: 'always',
      // What the server refused it will refuse again.
      retry: (failures, error) => failures < 1 && !isRefused(error),
      retryDelay: 300,
    },
  },
});

export const isRefused = (error: unknown): boolean =>
  error instanceof ProblemError && error.problem.status >= 400 && error.problem.status < 500;

const STATIONS_MS = 2000;
const CYCLES_MS = 5000;
const PAGE = 50;
const LATEST = 8;

export const useStations = (): UseQueryResult<readonly StationView[]> =>
  useQuery({
    queryKey: ['stations'],
    queryFn: ({ signal }) => ask<readonly StationView[]>('/api/stations', signal),
    refetchInterval: STATIONS_MS,
  });

/** The last few cycles, for the start page. */
export const useLatest = (): UseQueryResult<CyclePage> =>
  useQuery({
    queryKey: ['latest'],
    queryFn: ({ signal }) => ask<CyclePage>(`/api/records?limit=${LATEST}`, signal),
    refetchInterval: CYCLES_MS,
  });

export const useCycles = (): UseInfiniteQueryResult<InfiniteData<CyclePage>> =>
  useInfiniteQuery({
    queryKey: ['cycles'],
    queryFn: ({ pageParam, signal }) =>
      ask<CyclePage>(`/api/records?limit=${PAGE}${pageParam === null ? '' : `&before=${pageParam}`}`, signal),
    initialPageParam: null as number | null,
    getNextPageParam: ({ next }) => next,
    refetchInterval: CYCLES_MS,
  });

export const useLots = (): UseQueryResult<readonly LotLine[]> =>
  useQuery({
    queryKey: ['lots'],
    queryFn: ({ signal }) => ask<readonly LotLine[]>('/api/lots', signal),
    refetchInterval: CYCLES_MS,
  });

export const useLot = (partNumber: string, lot: string): UseQueryResult<LotView> =>
  useQuery({
    queryKey: ['lot', partNumber, lot],
    queryFn: ({ signal }) =>
      ask<LotView>(`/api/lots/${encodeURIComponent(partNumber)}/${encodeURIComponent(lot)}`, signal),
    refetchInterval: CYCLES_MS,
  });

export const useLife = (serial: string): UseQueryResult<SerialLife> =>
  useQuery({
    queryKey: ['life', serial],
    queryFn: ({ signal }) => ask<SerialLife>(`/api/records/serials/${encodeURIComponent(serial)}`, signal),
    refetchInterval: CYCLES_MS,
  });

/** A record never changes; what is verified about it is asked anew each time it is opened. */
export const useRecord = (cycle: string | null): UseQueryResult<RecordView> =>
  useQuery({
    queryKey: ['record', cycle],
    queryFn: ({ signal }) => ask<RecordView>(`/api/records/cycles/${encodeURIComponent(cycle ?? '')}`, signal),
    enabled: cycle !== null,
    staleTime: CYCLES_MS,
  });
