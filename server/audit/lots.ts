import type { Plan, Step } from '../../station/profile/plan.ts';
import { individualsCapability } from '../quality/capability/capability.ts';
import { moments, sampleSd } from '../quality/moments.ts';
import { lotDecisions } from '../records/lot-decisions.ts';
import type { LotDecisions } from '../records/lot-decisions.ts';
import { lotClosing, lotState } from '../records/lot-standing.ts';
import type { LotReading, LotResult } from '../store/lot-history.ts';
import type { LedgerReader } from '../store/reader.ts';
import { lineResults, noSuchLot, passedOf } from './line-results.ts';
import { missesOf, sampleSizeOf } from './evaluation/sample-size.ts';
import { planInForce, samplingPlanFor } from './plan-in-force.ts';
import type { LotCounts, LotDecided, LotLine, LotPoint, LotReason, LotView, PointGroup } from './contract.ts';

/** The latest lots, the newest first. */
export function latestLots(reader: LedgerReader, limit: number): LotLine[] {
  return reader.lots
    .lots(limit)
    .map(({ partNumber, lot }) => lineOf(reader, partNumber, lot, lineResults(reader, partNumber, lot)));
}

/** A lot in full. Throws the HttpProblem `no-such-lot`. */
export function lotView(reader: LedgerReader, partNumber: string, lot: string): LotView {
  const results = lineResults(reader, partNumber, lot);
  if (results.length === 0) throw noSuchLot(partNumber, lot);
  const plans = plansOf(reader, results);
  const plan = plans.at(-1);
  const first = firstJudged(results);
  return {
    ...lineOf(reader, partNumber, lot, results),
    title: plan?.profile.content.title ?? '',
    pressureClass: plan?.profile.content.pressureClass ?? '',
    revisions: [...new Set(plans.map(({ profile }) => profile.revision))].sort((a, b) => a - b),
    reasons: reasonsOf(first),
    points:
      plan === undefined ? [] : plan.steps.flatMap((step) => pointOf(reader, { partNumber, lot }, step, plan, first)),
    closed: lotClosing(reader, { partNumber, lot }),
    outside: outsideOf(results, reader.audits.drawn({ partNumber, lot }, 1)[0]?.sequence ?? null),
    sample: sampleOf(reader, partNumber, countsOf(results).passed),
  };
}

function sampleOf(reader: LedgerReader, partNumber: string, passed: number): LotView['sample'] {
  if (passed === 0) return null;
  const { plan } = planInForce(reader, partNumber, samplingPlanFor(reader, partNumber));
  if (plan === null) return null;
  const n = sampleSizeOf(plan, passed);
  return { n, misses: n > passed ? null : missesOf(plan, passed) };
}

function lineOf(reader: LedgerReader, partNumber: string, lot: string, results: readonly LotResult[]): LotLine {
  const last = results.at(-1);
  const cycle = last === undefined ? undefined : reader.cycleAt(last.sequence);
  return {
    partNumber,
    lot,
    state: lotState(reader, { partNumber, lot }),
    origin: cycle?.record.circumstances.origin ?? 'simulated',
    firstAt: results[0]?.at ?? '',
    lastAt: last?.at ?? '',
    counts: countsOf(results),
    decided: decidedOf(lotDecisions(reader, partNumber, lot)),
  };
}

function decidedOf({ standing, heldFor }: LotDecisions): LotDecided | null {
  if (standing === null) return null;
  const { decidedAt, actor, reason, audit } = standing.content;
  return {
    at: decidedAt ?? standing.at,
    by: actor.name,
    reason,
    audit: audit ?? null,
    neighbourOf: heldFor[0]?.lot ?? null,
  };
}

/** Parts that have passed by now and had not when the sample was drawn (entry `drawn`; null: never). */
export function outsideOf(results: readonly LotResult[], drawn: number | null): number {
  if (drawn === null) return 0;
  const before = passedOf(results.filter(({ sequence }) => sequence < drawn));
  return [...passedOf(results)].filter((serial) => !before.has(serial)).length;
}

/** Each serial by its last judged line cycle; those that were never judged apart. */
export function countsOf(results: readonly LotResult[]): LotCounts {
  const verdicts = new Map<string, LotResult['verdict'][]>();
  for (const { serial, verdict } of results) {
    const judged = verdicts.get(serial) ?? [];
    if (verdict !== 'none') judged.push(verdict);
    verdicts.set(serial, judged);
  }
  const all = [...verdicts.values()];
  const count = (is: (judged: readonly LotResult['verdict'][]) => boolean): number => all.filter(is).length;
  return {
    parts: all.length,
    passed: count((judged) => judged.at(-1) === 'pass'),
    failed: count((judged) => judged.at(-1) === 'fail'),
    notJudged: count((judged) => judged.length === 0),
    retested: count((judged) => judged.length > 1),
    firstPass: { passed: count(([first]) => first === 'pass'), of: count((judged) => judged.length > 0) },
  };
}

/** The first judged result of each serial, in order. */
function firstJudged(results: readonly LotResult[]): LotResult[] {
  const seen = new Set<string>();
  return results.filter(({ serial, verdict }) => {
    if (verdict === 'none' || seen.has(serial)) return false;
    seen.add(serial);
    return true;
  });
}

/** Most frequent first; each with the nests that it came from beside how many parts they tested. */
export function reasonsOf(first: readonly LotResult[]): LotReason[] {
  const place = ({ station, nest }: LotResult): string => `${station} ${nest}`;
  const tested = groupedBy(first, place);
  const failed = groupedBy(
    first.filter(({ verdict, reason }) => verdict === 'fail' && reason !== null),
    ({ reason }) => reason ?? '',
  );
  return [...failed]
    .map(([reason, parts]): LotReason => {
      const nests = [...groupedBy(parts, place)].flatMap(([key, here]) => {
        const one = here[0];
        if (one === undefined) return [];
        return [{ station: one.station, nest: one.nest + 1, parts: here.length, of: tested.get(key)?.length ?? 0 }];
      });
      return { reason, parts: parts.length, nests: nests.sort((a, b) => b.parts - a.parts) };
    })
    .sort((a, b) => b.parts - a.parts || (a.reason < b.reason ? -1 : 1));
}

/** The readings of the first attempts at one step; none where nothing was read, or nothing has limits. */
function pointOf(
  reader: LedgerReader,
  of: { readonly partNumber: string; readonly lot: string },
  { step, reads }: Step,
  plan: Plan,
  first: readonly LotResult[],
): LotPoint[] {
  const quantity = reads === 'current' ? 'supply-current' : reads;
  if (step === 'ambient-check') return [];
  // In the order of time, not of the ledger: a clock may have been set back between two cycles.
  const times = first.map(({ at }) => at).sort();
  const [from, to] = [times[0], times.at(-1)];
  if (from === undefined || to === undefined) return [];
  const places = new Map(first.map((result) => [`${result.sequence} ${result.nest}`, result]));
  const read = reader.lots
    .readings({ ...of, step, quantity }, { condition: plan.condition, from, to })
    .flatMap((reading) => {
      const place = places.get(`${reading.sequence} ${reading.nest}`);
      return place === undefined ? [] : [{ ...reading, station: place.station }];
    });
  if (read.length === 0) return [];
  const at = plan.profile.content.points.find(({ id }) => id === step)?.at;
  const nests = [...groupedBy(read, ({ station, nest }) => `${station} ${nest}`).values()].flatMap((own) => {
    const one = own[0];
    return one === undefined ? [] : [{ station: one.station, nest: one.nest + 1, ...groupOf(own) }];
  });
  return [
    {
      step,
      quantity,
      pointKpaAbs: at?.kind === 'absolute' ? at.kPaAbs : null,
      unit: UNIT[quantity],
      low: common(read.map(({ low }) => low)),
      high: common(read.map(({ high }) => high)),
      // One nest after the other: between two of them lies what sets nests apart, and that is no spread of the parts.
      all: { ...groupOf(read), cpk: nests.length === 1 ? (nests[0]?.cpk ?? null) : null },
      nests: nests.sort((a, b) => (a.station === b.station ? a.nest - b.nest : a.station < b.station ? -1 : 1)),
    },
  ];
}

const UNIT = { output: 'V', 'supply-current': 'mA', leak: 'std cm3/min', lag: 'ms', noise: 'V' } as const;

/** One-sided quantities are skewed and bounded at 0: a normal index of theirs would mislead, so they have none. */
const LEAST_FOR_INDEX = 25;

/**
 * Mean and spread of the values, and Cpk from the spread from one part to the next (ISO 7870-2, individuals), of values as
 * shares of their own tolerance, since limits move with a part's temperature. From 25 parts on.
 */
function groupOf(read: readonly LotReading[]): PointGroup {
  const found = moments(read.map(({ value }) => value));
  const placed = read.flatMap(({ value, low, high }) =>
    low === null || high === null ? [] : [(2 * value - low - high) / (high - low)],
  );
  const isIndexed = placed.length === read.length && placed.length >= LEAST_FOR_INDEX;
  const { movingRange } = isIndexed ? individualsCapability(placed, { lsl: -1, usl: 1 }).within : { movingRange: null };
  return { n: read.length, mean: found.mean, sd: sampleSd(found), cpk: movingRange?.indices.nearer ?? null };
}

function common(limits: readonly (number | null)[]): number | null {
  const [first = null] = limits;
  return limits.every((limit) => limit === first) ? first : null;
}

/** Every plan that parts of a lot were tested by, that of its last cycle last. */
function plansOf(reader: LedgerReader, results: readonly LotResult[]): Plan[] {
  const hashes = new Set(results.map(({ plan }) => plan).reverse());
  return [...hashes].reverse().map((hash) => reader.document('plan', hash));
}

function groupedBy<T>(values: readonly T[], keyOf: (value: T) => string): Map<string, T[]> {
  const groups = new Map<string, T[]>();
  for (const value of values) {
    const group = groups.get(keyOf(value));
    if (group === undefined) groups.set(keyOf(value), [value]);
    else group.push(value);
  }
  return groups;
}
