import type { Stream } from '../../../station/random.ts';
import type { Suffering } from '../../../station/host/demo.ts';

/** What happened at Alder Quay in the last weeks: a scenario, of which nothing happened anywhere. */

/** What is wrong with a lot of the scenario; most have nothing but the few bad parts that every lot has. */
export type Trouble =
  /** Its span falls with temperature, all parts alike: good at ambient, too near the limits at hot. */
  | { readonly is: 'span-drift'; readonly percentPer100K: number }
  /** The seal of a nest (from 0) leaks a little: parts fail there that are good elsewhere. */
  | { readonly is: 'leaking-nest'; readonly nest: number; readonly share: number; readonly stdCm3PerMin: number }
  /** Parts of another part number were packed among them. */
  | { readonly is: 'mixed-in'; readonly partNumber: string; readonly every: number };

export interface ScenarioLot {
  readonly partNumber: string;
  readonly lot: string;
  /** Days before the end of the history, and the hour of the day (UTC) at which the line begins it. */
  readonly daysAgo: number;
  readonly hour: number;
  readonly parts: number;
  readonly trouble: Trouble | null;
  /** What the lab does with it a few hours later; null: nothing yet. */
  readonly audit: { readonly parts: number } | null;
}

const lot = (
  [partNumber, code, daysAgo, hour]: readonly [string, string, number, number],
  more: { readonly trouble?: Trouble; readonly audit?: number; readonly parts?: number } = {},
): ScenarioLot => ({
  partNumber,
  lot: code,
  daysAgo,
  hour,
  parts: more.parts ?? 60,
  trouble: more.trouble ?? null,
  audit: more.audit === undefined ? null : { parts: more.audit },
});

/** In the order in which it happened. */
export const SCENARIO: readonly ScenarioLot[] = [
  lot(['AQ-1105', 'K22-1', 23, 6], { audit: 13 }),
  lot(['AQ-2105', 'M22-1', 22, 7], { audit: 8 }),
  lot(['AQ-1105', 'K22-4', 21, 6], { audit: 13 }),
  lot(['AQ-3105', 'P22-2', 20, 6], { audit: 8 }),
  lot(['AQ-1105', 'K22-5', 18, 6]),
  lot(['AQ-2105', 'M22-3', 17, 7], { trouble: { is: 'leaking-nest', nest: 1, share: 0.6, stdCm3PerMin: 1.1 } }),
  lot(['AQ-1105', 'K23-2', 15, 6], { audit: 13 }),
  lot(['AQ-3105', 'P23-1', 14, 8]),
  lot(['AQ-1105', 'K23-6', 13, 6], { trouble: { is: 'mixed-in', partNumber: 'AQ-2105', every: 19 } }),
  lot(['AQ-2105', 'M23-2', 11, 7], { audit: 8 }),
  lot(['AQ-1105', 'K24-1', 8, 6]),
  lot(['AQ-1105', 'K24-2', 6, 6]),
  lot(['AQ-3105', 'P24-1', 5, 9]),
  lot(['AQ-1105', 'K24-3', 3, 6], { trouble: { is: 'span-drift', percentPer100K: -4 }, audit: 13 }),
  lot(['AQ-1105', 'K24-4', 1, 6]),
];

/** How often a part of any lot is bad, and by what. Common practice, no source. */
const BAD: readonly { readonly share: number; readonly what: Suffering['what']; readonly size: number }[] = [
  { share: 0.012, what: 'leak', size: 2.5 },
  { share: 0.006, what: 'offset', size: -3.2 },
  { share: 0.004, what: 'noise', size: 0.02 },
  { share: 0.003, what: 'output-open', size: 0 },
];

/** What one part suffers from, as the part that it is; the nest's own trouble comes with the nest. */
export function sufferingOf(chance: Stream, { trouble }: ScenarioLot, number: number, nest: number): Suffering[] {
  const at = (what: Suffering['what'], size: number, partNumber: string | null = null): Suffering[] => [
    { nest, what, size, partNumber },
  ];
  const drawn = chance.uniform();
  const drift = trouble?.is === 'span-drift' ? at('span-drift', trouble.percentPer100K) : [];
  if (trouble?.is === 'mixed-in' && number % trouble.every === 0) return at('other-class', 0, trouble.partNumber);
  if (trouble?.is === 'leaking-nest' && nest === trouble.nest && drawn < trouble.share)
    return at('leak', trouble.stdCm3PerMin);
  let below = 0;
  for (const { share, what, size } of BAD) {
    below += share;
    if (drawn < below) return [...drift, ...at(what, size)];
  }
  return drift;
}

/** A serial of the scenario: its part number, its lot and a running number. */
export const serialOf = ({ partNumber, lot: code }: Pick<ScenarioLot, 'partNumber' | 'lot'>, number: number): string =>
  `${partNumber.replace('-', '')}-${code.replace('-', '')}-${String(number).padStart(5, '0')}`;
