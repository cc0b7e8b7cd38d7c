import { nameOf, takenPoints } from './audit-points.ts';
import { unless, volt } from './problem.ts';
import type { ContentProblem } from './problem.ts';
import type { ProfileContent } from './schema.ts';

/** A source of this kind is set within so much of what is asked for, as a share. */
const SOURCE_WITHIN = 0.01;
/** Nearer to the nominal supply than this, as a share, a step could not be told from a source that is off. */
const LEAST_STEP = 0.02;

/**
 * What is wrong with the points that only an audit takes, but for the road of the way back (`checkRoad`): names that are no
 * points, a place where no audit stands, a supply that the part does not bear.
 */
export function checkAuditPoints(content: ProfileContent): ContentProblem[] {
  const { auditPoints } = content;
  if (auditPoints === undefined) return [];
  if (auditPoints.wayBack === undefined && auditPoints.supply === undefined) {
    const right = 'way back, or supply, or leave the group out';
    return [{ code: 'audit-points-none', path: ['auditPoints'], wrong: 'nothing is asked for here', right }];
  }
  return [...checkNames(content), ...checkPlace(content), ...checkVolts(content)];
}

function checkNames({ points, auditPoints }: ProfileContent): ContentProblem[] {
  const over = auditPoints?.wayBack?.over ?? [];
  const known = points.slice(1, -1).map(({ id }) => id);
  const right = known.length === 0 ? 'a profile of three points or more' : `some of ${known.toReversed().join(' ')}`;
  return over.flatMap((id, index): ContentProblem[] => {
    const path = ['auditPoints', 'wayBack', 'over', index];
    if (!points.some((point) => point.id === id)) {
      return [{ code: 'audit-point-unknown', path, wrong: `"${id}" is no point of this profile`, right }];
    }
    if (id === points[0]?.id) {
      const wrong = `${id} is where an audit in a chamber begins, without a leak hold and so from no side`;
      return [{ code: 'audit-point-first', path, wrong, right }];
    }
    return unless(
      over.indexOf(id) === index,
      'audit-point-duplicate',
      path,
      `"${id}" is taken twice on the way back`,
      'each point once',
    );
  });
}

/** The supply is switched where the pressure stands anyway: at the line's last point, or at one of the way back. */
function checkPlace(content: ProfileContent): ContentProblem[] {
  const at = content.auditPoints?.supply?.at;
  if (at === undefined) return [];
  const back = takenPoints(content, 'audit').filter(({ of, step }) => of !== null && step === null);
  const stands = [...new Set([...content.points.slice(-1).map(({ id }) => id), ...back.map(nameOf)])];
  const wrong = content.points.some(({ id }) => id === at)
    ? `after the line's points no audit stands at ${at}`
    : `"${at}" is no point of this profile`;
  const right = `one of ${stands.join(', ')}`;
  return unless(stands.includes(at), 'audit-supply-place', ['auditPoints', 'supply', 'at'], wrong, right);
}

function checkVolts({ supply: { nominalV, allowedV }, auditPoints }: ProfileContent): ContentProblem[] {
  const asked = auditPoints?.supply;
  // A nominal supply that is not allowed is said already; no step beside it could be right.
  if (asked === undefined || nominalV < allowedV.low || nominalV > allowedV.high) return [];
  const lowest = allowedV.low / (1 - SOURCE_WITHIN);
  const highest = allowedV.high / (1 + SOURCE_WITHIN);
  const sides = [
    {
      key: 'lowV',
      setV: asked.lowV,
      isFar: asked.lowV <= nominalV * (1 - LEAST_STEP),
      least: lowest,
      most: nominalV * (1 - LEAST_STEP),
    },
    {
      key: 'highV',
      setV: asked.highV,
      isFar: asked.highV >= nominalV * (1 + LEAST_STEP),
      least: nominalV * (1 + LEAST_STEP),
      most: highest,
    },
  ];
  return sides.flatMap(({ key, setV, isFar, least, most }) => {
    const path = ['auditPoints', 'supply', key];
    const right =
      least <= most
        ? `${volt(least)} to ${volt(most)}`
        : `leave supply out: ${volt(allowedV.low)} to ${volt(allowedV.high)} leaves no room beside ${volt(nominalV)}`;
    const said = `a source set to ${volt(setV)} may be 1 % off, beyond the allowed ${volt(allowedV.low)} to ${volt(allowedV.high)}`;
    if (setV < lowest || setV > highest)
      return [{ code: 'audit-supply-outside-allowed' as const, path, wrong: said, right }];
    const wrong = `${volt(setV)} is not ${key === 'lowV' ? 'below' : 'above'} the nominal ${volt(nominalV)} by 2 %, the most that a source may be off unnoticed`;
    return unless(isFar, 'audit-supply-too-near', path, wrong, right);
  });
}
