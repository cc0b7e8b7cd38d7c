import type { CycleKind, PressurePoint, ProfileContent } from './schema.ts';

/** Another supply at a pressure point, with the reading at nominal supply that was taken just before. */
export interface SupplyStep {
  readonly supply: 'low' | 'high';
  readonly setV: number;
  readonly settleMs: number;
}

/**
 * A pressure point as a cycle takes it. `of` is null for the line's own. Otherwise it is the step that it is to be held
 * against: on the way back the line's point of the same pressure, at another supply the reading at the nominal one.
 */
export interface TakenPoint extends Omit<PressurePoint, 'method'> {
  readonly method: { readonly name: string; readonly version: number };
  readonly of: string | null;
  readonly step: SupplyStep | null;
}

/** The other side. */
export const turned = (branch: PressurePoint['branch']): PressurePoint['branch'] =>
  branch === 'falling' ? 'rising' : 'falling';

/**
 * Every pressure point of a cycle of this kind, in order: the line's; in an audit, where the profile says so, those of the
 * way back, and behind the one at which the supply is switched its two steps. Their names hold a colon, which no point of a
 * profile has.
 */
export function takenPoints(content: ProfileContent, kind: CycleKind): TakenPoint[] {
  const own = content.points.map((point): TakenPoint => ({ ...point, of: null, step: null }));
  if (kind !== 'audit') return own;
  const back = wayBack(content);
  const stands = [...own.slice(-1), ...back];
  const at = content.auditPoints?.supply?.at;
  return [
    ...own.slice(0, -1),
    ...stands.flatMap((point) => [point, ...(nameOf(point) === at ? supplySteps(content, point) : [])]),
  ];
}

/** A point of any cycle of a profile by the step that it is read in. */
export const pointOfStep = (content: ProfileContent, step: string): TakenPoint | undefined =>
  takenPoints(content, 'audit').find(({ id }) => id === step);

/** The name that the profile gives a point, from whichever side it is reached. */
export const nameOf = ({ id, of }: TakenPoint): string => of ?? id;

function wayBack({ points, auditPoints }: ProfileContent): TakenPoint[] {
  const asked = auditPoints?.wayBack;
  if (asked === undefined) return [];
  return asked.over.flatMap((id) => {
    const point = points.find((each) => each.id === id);
    if (point === undefined) return [];
    const branch = turned(point.branch);
    const { dwellMs, apertureMs } = asked;
    return [{ ...point, id: `${id}:${branch}`, branch, dwellMs, apertureMs, of: id, step: null }];
  });
}

function supplySteps({ auditPoints }: ProfileContent, at: TakenPoint): TakenPoint[] {
  const asked = auditPoints?.supply;
  if (asked === undefined) return [];
  const { method, settleMs, apertureMs } = asked;
  return (
    [
      ['low', asked.lowV],
      ['high', asked.highV],
    ] as const
  ).map(([supply, setV]) => ({
    ...{ ...at, method, apertureMs, of: at.id, id: `${nameOf(at)}:${supply}-supply` },
    step: { supply, setV, settleMs },
  }));
}
