import { turned } from './audit-points.ts';
import { BAROMETER_KPA_ABS } from './barometer.ts';
import { kPa } from './problem.ts';
import type { ContentProblem } from './problem.ts';
import type { PressurePoint, ProfileContent } from './schema.ts';

/**
 * Part of the pressure that a filled nest may lose by itself during the hold, while its gas cools: 4 to 8 % were seen
 * in simulated sealed nests.
 */
const COOLS_BY = 0.1;

/** Smallest change of pressure on which a lag can be told from noise. */
const LAG_TRAVEL_KPA = 10;

/** Times the lag limit that a point must be held for, so that even a part at the limit has arrived (e^-5 is 0.7 %). */
const LAG_DWELLS = 5;

type Ambient = { readonly low: number; readonly high: number };

interface Stop {
  readonly name: string;
  readonly low: number;
  readonly high: number;
}

/** Names that steps of every cycle have; a point of that name could not be told from them in a record. */
const RESERVED = [
  'ready',
  'clamp',
  'contact',
  'ambient-check',
  'fill',
  'stabilise',
  'measure',
  'leak-hold',
  'lag',
  'noise',
  'vent',
  'release',
];

/**
 * What is wrong with the pressures of a cycle in the order in which it meets them: leak hold, then the points as listed,
 * then, with `isAudit`, those of the way back. `ambient`, kPa abs, is every barometer that a station may have, or the one
 * that was measured.
 */
export function checkRoad(
  content: ProfileContent,
  ambient: Ambient = BAROMETER_KPA_ABS,
  isAudit = true,
): ContentProblem[] {
  const stops = [holdStop(content), ...content.points.map((point) => pointStop(point, ambient))];
  return [
    ...checkNames(content.points),
    ...checkBranches(content.points, stops),
    ...checkLag(content, stops),
    ...(isAudit ? checkWayBack(content, ambient) : []),
  ];
}

/** Each point of the way back has to be met from the other side than on the line, coming from the one before it. */
function checkWayBack({ points, auditPoints }: ProfileContent, ambient: Ambient): ContentProblem[] {
  const turn = points.at(-1);
  if (turn === undefined) return [];
  let before = pointStop(turn, ambient);
  return (auditPoints?.wayBack?.over ?? []).flatMap((id, index): ContentProblem[] => {
    const point = points.find((each) => each.id === id);
    if (point === undefined || auditPoints?.wayBack?.over.indexOf(id) !== index) return [];
    const from = before;
    const here = pointStop(point, ambient);
    before = here;
    const branch = turned(point.branch);
    if (travel(from, here, branch) > 0) return [];
    const path = ['auditPoints', 'wayBack', 'over', index];
    const wrong = `${said(here)} is ${point.branch} on the line, and is not met ${branch} after ${said(from)}`;
    const right =
      branch === 'rising'
        ? `a point above ${kPa(from.high)}, the lowest first`
        : `a point below ${kPa(from.low)}, the highest first`;
    return [{ code: 'audit-point-branch', path, wrong, right }];
  });
}

function holdStop({ leakHold }: ProfileContent): Stop {
  return { name: 'the leak hold', low: leakHold.testKpaAbs * (1 - COOLS_BY), high: leakHold.testKpaAbs };
}

function pointStop(point: PressurePoint, ambient: Ambient): Stop {
  const range = point.at.kind === 'barometer' ? ambient : { low: point.at.kPaAbs, high: point.at.kPaAbs };
  return { name: point.id, ...range };
}

function checkNames(points: readonly PressurePoint[]): ContentProblem[] {
  return points.flatMap(({ id }, index): ContentProblem[] => {
    const path = ['points', index, 'id'];
    if (RESERVED.includes(id)) {
      return [
        {
          code: 'point-reserved',
          path,
          wrong: `"${id}" is a step of every cycle`,
          right: `another name, such as ${id}-point`,
        },
      ];
    }
    if (points.findIndex((other) => other.id === id) < index) {
      return [
        {
          code: 'point-duplicate',
          path,
          wrong: `"${id}" names two points`,
          right: `a name of its own, such as ${id}-2`,
        },
      ];
    }
    return [];
  });
}

function checkBranches(points: readonly PressurePoint[], stops: readonly Stop[]): ContentProblem[] {
  return points.flatMap((point, index): ContentProblem[] => {
    const before = stops[index];
    const here = stops[index + 1];
    if (before === undefined || here === undefined || travel(before, here, point.branch) > 0) return [];
    const other = point.branch === 'falling' ? 'rising' : 'falling';
    const wrong = `${said(here)} is marked ${point.branch}, and comes after ${said(before)}`;
    const right =
      travel(before, here, other) > 0
        ? other
        : `a point below ${kPa(before.low)} (falling) or above ${kPa(before.high)} (rising)`;
    return [{ code: 'point-branch', path: ['points', index, 'branch'], wrong, right }];
  });
}

function checkLag({ lag, points }: ProfileContent, stops: readonly Stop[]): ContentProblem[] {
  const path = ['lag', 'onPoint'];
  const fit = points.filter((_, index) => index > 0 && arrival(stops, index) >= LAG_TRAVEL_KPA).map(({ id }) => id);
  const right =
    fit.length > 0 ? `one of ${fit.join(', ')}` : `a point ${LAG_TRAVEL_KPA} kPa or more from the one before it`;
  const index = points.findIndex(({ id }) => id === lag.onPoint);
  const point = points[index];
  if (point === undefined)
    return [{ code: 'lag-point', path, wrong: `"${lag.onPoint}" is no point of this profile`, right }];
  if (index === 0) {
    return [
      {
        code: 'lag-point',
        path,
        wrong: `"${lag.onPoint}" comes after the leak hold, where the output may stand at its clamp`,
        right,
      },
    ];
  }
  const travelKpa = arrival(stops, index);
  if (travelKpa < LAG_TRAVEL_KPA) {
    const wrong = `on the way to ${lag.onPoint} the pressure moves by as little as ${kPa(Math.max(travelKpa, 0))}`;
    return [{ code: 'lag-travel', path, wrong, right }];
  }
  const leastMs = LAG_DWELLS * lag.limitMs;
  if (point.dwellMs >= leastMs) return [];
  const wrong = `a dwell of ${point.dwellMs} ms is too short for a lag of up to ${lag.limitMs} ms`;
  return [{ code: 'lag-dwell', path: ['points', index, 'dwellMs'], wrong, right: `at least ${leastMs} ms` }];
}

/** Least way in kPa that the pressure goes to a point; negative when it may go the other way. */
function arrival(stops: readonly Stop[], index: number): number {
  const before = stops[index];
  const here = stops[index + 1];
  if (before === undefined || here === undefined) return 0;
  return Math.max(travel(before, here, 'falling'), travel(before, here, 'rising'));
}

function travel(before: Stop, here: Stop, branch: PressurePoint['branch']): number {
  return branch === 'falling' ? before.low - here.high : here.low - before.high;
}

function said({ name, low, high }: Stop): string {
  return low === high ? `${name} at ${kPa(low)}` : `${name} at ${Number(low.toPrecision(6))} to ${kPa(high)}`;
}
