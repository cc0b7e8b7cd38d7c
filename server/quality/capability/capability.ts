import { capabilityIndices, normalReference } from './capability-indices.ts';
import type { CapabilityIndices, Limits } from './capability-indices.ts';
import { c4, d2 } from '../charts/chart-constants.ts';
import { checkLimits } from '../checks.ts';
import type { Values } from '../checks.ts';
import { QualityError } from '../errors.ts';
import { normalFractionOutside, observedOutside } from './fraction-outside.ts';
import type { FractionOutside, ObservedOutside } from './fraction-outside.ts';
import { compensatedSum } from '../moments.ts';
import { sampleOf } from '../description/sample.ts';
import type { Sample } from '../description/sample.ts';

/** One estimate of the standard deviation with the indices and the expected fractions that follow from it. */
export interface SpreadCapability {
  /** Unit of the values. */
  readonly sd: number;
  readonly indices: CapabilityIndices;
  /** Of a normal process with the mean of all values and this standard deviation; null without a spread. */
  readonly fractionOutside: FractionOutside | null;
}

/** Ways to estimate the spread within subgroups, or from one value to the next; null where not applicable. */
export interface WithinCapability {
  /** Root of the pooled variance of the subgroups; null without a subgroup of two. */
  readonly pooled: SpreadCapability | null;
  /** The same over c4(nu + 1), nu its degrees of freedom: unbiased. */
  readonly pooledUnbiased: SpreadCapability | null;
  /** Mean range over d2; null for subgroups of unequal size or of one value. */
  readonly meanRange: SpreadCapability | null;
  /** Mean moving range of two over d2(2); individual values only, null below two. */
  readonly movingRange: SpreadCapability | null;
}

/** Capability of one characteristic against its limits. */
export interface Capability {
  readonly n: number;
  /** Mean of all values, their unit. */
  readonly mean: number;
  /** Cp, CPU, CPL, Cpk by each estimate of the spread within. */
  readonly within: WithinCapability;
  /** Pp, PPU, PPL, Ppk from the standard deviation of all values (divisor n - 1); null for a single value. */
  readonly overall: SpreadCapability | null;
  /** Degrees of freedom of the pooled standard deviation, sum of (size - 1); null for individual values. */
  readonly pooledDf: number | null;
  readonly observed: ObservedOutside;
}

/**
 * Capability of individual values in the order they were made. The spread within is the mean moving range of two over
 * d2(2) = 2/sqrt(pi) (ISO 7870-2, charts for individuals; Montgomery, "Introduction to Statistical Quality Control",
 * section 6.4). Indices: see `capabilityIndices`; Pp and Ppk take the total standard deviation (ISO 22514-1).
 * Overall figures do not depend on the order of the values at all, not in the last digit.
 *
 * @throws QualityError `empty`, `not-finite`, `no-limit`, `crossed-limits`, `out-of-range` (spread beyond the machine)
 */
export function individualsCapability(values: Values, limits: Limits): Capability {
  checkLimits(limits.lsl, limits.usl);
  const sample = sampleOf(values);
  const none = { pooled: null, pooledUnbiased: null, meanRange: null };
  return describe(sample, values, limits, null, { ...none, movingRange: movingRangeSd(values, sample.scale) });
}

/**
 * Capability of rational subgroups, made in their order. Spread within: sqrt(sum of squares within subgroups / nu) with
 * nu = sum of (size - 1), the same over c4(nu + 1), since nu s^2 over the variance is chi-square with nu degrees of
 * freedom, and mean range over d2 of the common size (Montgomery, "Introduction to Statistical Quality Control",
 * sections 6.2 and 6.3; ISO 22514-2). The mean is that of all values.
 *
 * @throws QualityError `empty`, `not-finite`, `no-limit`, `crossed-limits`, `out-of-range` (spread beyond the machine)
 */
export function subgroupsCapability(subgroups: readonly Values[], limits: Limits): Capability {
  checkLimits(limits.lsl, limits.usl);
  if (subgroups.length === 0) throw new QualityError('empty', 'subgroups', 'subgroups is empty; at least 1 wanted');
  const groups = subgroups.map((group, j) => sampleOf(group, `subgroups[${j}]`));
  const all = joined(subgroups);
  const sample = sampleOf(all, 'subgroups');
  const df = groups.reduce((sum, { n }) => sum + n - 1, 0);
  const pooled = df === 0 ? null : Math.sqrt(squaresWithin(groups, sample.scale) / df);
  return describe(sample, all, limits, df, {
    pooled,
    pooledUnbiased: pooled === null ? null : pooled / c4(df + 1),
    meanRange: meanRangeSd(groups, sample.scale),
    movingRange: null,
  });
}

/** Spreads come in, and indices are made, in units of the sample's scale, counted from its origin: see `Sample`. */
function describe(
  sample: Sample,
  values: Values,
  { lsl, usl }: Limits,
  pooledDf: number | null,
  within: Readonly<Record<keyof WithinCapability, number | null>>,
): Capability {
  const { n, mean, squares, scale, origin, centre } = sample;
  const inside = (limit: number | null): number | null => (limit === null ? null : (limit - origin) / scale);
  const limits = { lsl: inside(lsl), usl: inside(usl) };
  const capability = (sd: number | null): SpreadCapability | null =>
    sd === null
      ? null
      : {
          sd: sd * scale,
          indices: capabilityIndices(limits, normalReference(centre, sd)),
          fractionOutside: normalFractionOutside(limits, centre, sd),
        };
  return {
    n,
    mean,
    within: {
      pooled: capability(within.pooled),
      pooledUnbiased: capability(within.pooledUnbiased),
      meanRange: capability(within.meanRange),
      movingRange: capability(within.movingRange),
    },
    overall: capability(n < 2 ? null : Math.sqrt(squares / (n - 1))),
    pooledDf,
    observed: observedOutside(values, { lsl, usl }),
  };
}

function squaresWithin(groups: readonly Sample[], scale: number): number {
  return compensatedSum(groups.length, (j) => {
    const group = groups[j];
    return group === undefined ? 0 : group.squares * (group.scale / scale) ** 2;
  });
}

function movingRangeSd(values: Values, scale: number): number | null {
  const moves = values.length - 1;
  if (moves < 1) return null;
  const sum = compensatedSum(moves, (i) => Math.abs((values[i + 1] ?? 0) - (values[i] ?? 0)) / scale);
  return ((sum / moves) * Math.sqrt(Math.PI)) / 2;
}

function meanRangeSd(groups: readonly Sample[], scale: number): number | null {
  const size = groups[0]?.n ?? 0;
  if (size < 2 || groups.some(({ n }) => n !== size)) return null;
  return compensatedSum(groups.length, (j) => (groups[j]?.range ?? 0) / scale) / groups.length / d2(size);
}

function joined(groups: readonly Values[]): Float64Array {
  const all = new Float64Array(groups.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const group of groups) {
    all.set(group, at);
    at += group.length;
  }
  return all;
}
