import { hashOf } from '../../station/hash.ts';
import type { ConditionId, ProfileContent } from '../../station/profile/schema.ts';

/** How often each condition comes counts: a return to ambient shows what the first time there cannot. */
export const hasNoFewerConditions = (one: readonly ConditionId[], other: readonly ConditionId[]): boolean =>
  other.every((condition) => timesOf(one, condition) >= timesOf(other, condition));

const timesOf = (conditions: readonly ConditionId[], condition: ConditionId): number =>
  conditions.filter((each) => each === condition).length;

/**
 * Whether a part that passes by the one would have passed by the other: the same profile; or one with every point of the other,
 * no limit wider and all else that is measured and judged the same. Anything that cannot be told so is not.
 */
export const isNoWeakerProfile = (own: ProfileContent, its: ProfileContent): boolean =>
  hashOf(besideLimits(own)) === hashOf(besideLimits(its)) && hasItsPoints(own, its) && isNoWider(own, its);

function hasItsPoints(own: ProfileContent, its: ProfileContent): boolean {
  const points = new Set(own.points.map((point) => hashOf(point)));
  return its.points.every((point) => points.has(hashOf(point)));
}

const isNoWider = (own: ProfileContent, its: ProfileContent): boolean =>
  own.errorBand.kPa <= its.errorBand.kPa &&
  own.leakHold.limitStdCm3PerMin <= its.leakHold.limitStdCm3PerMin &&
  own.lag.limitMs <= its.lag.limitMs &&
  own.noise.limitV <= its.noise.limitV &&
  own.supply.currentMa.low >= its.supply.currentMa.low &&
  own.supply.currentMa.high <= its.supply.currentMa.high;

/** A profile without its limits and points, and without what no audit measures or judges by. */
const besideLimits = (content: ProfileContent): unknown => ({
  ...content,
  ...{ title: null, document: null, serial: null, points: null, rules: content.rules.audit },
  errorBand: content.errorBand.factors,
  leakHold: { ...content.leakHold, limitStdCm3PerMin: null },
  lag: { ...content.lag, limitMs: null },
  noise: { ...content.noise, limitV: null },
  supply: { ...content.supply, currentMa: null },
});
