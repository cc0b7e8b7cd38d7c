import { checkPositive, checkRange, checkValues, checkWhole } from '../checks.ts';
import type { Values } from '../checks.ts';
import { controlChart } from './control-chart.ts';
import type { ControlChart } from './control-chart.ts';
import { QualityError } from '../errors.ts';
import { compensatedSum } from '../moments.ts';

/** A chart of counts. */
export interface AttributesChart {
  /** Center line: the standard value, or the mean over all units. */
  readonly center: number;
  readonly chart: ControlChart;
}

/**
 * Fractions of nonconforming units (p chart), samples of differing size: center p, limits p -/+ 3 sqrt(p (1 - p)/n_j)
 * within 0 and 1; p from the data is all nonconforming units over all units (NIST/SEMATECH e-Handbook, 6.3.3.2;
 * Montgomery, "Introduction to Statistical Quality Control", 6th ed., sections 7.2.1 and 7.2.2).
 *
 * @param counts nonconforming units of each sample
 * @param sizes units of each sample, 1 or more
 * @param standard standard value of p, 0 to 1; null: from the data
 * @throws QualityError `empty`, `not-finite`, `not-whole`, `unequal-sizes`; `out-of-range` for a size below 1, a count
 *   below 0 or above its size, a standard outside 0 to 1
 */
export function fractionNonconforming(counts: Values, sizes: Values, standard: number | null = null): AttributesChart {
  checkPairs(counts, sizes);
  for (let j = 0; j < counts.length; j += 1) {
    const size = sizes[j] ?? 0;
    checkWhole(size, `sizes[${j}]`, 1);
    checkWhole(counts[j] ?? 0, `counts[${j}]`, 0, size);
  }
  if (standard !== null) checkRange(standard, 'center', 0, 1);
  const center = standard ?? ratioOfSums(counts, sizes);
  const sd = Math.sqrt(center * (1 - center));
  return { center, chart: controlChart(rates(counts, sizes, center, sd), { floor: 0, ceiling: 1 }) };
}

/**
 * Nonconformities a unit (u chart), samples of differing size: center u, limits u -/+ 3 sqrt(u/n_j), not below 0; u
 * from the data is all nonconformities over all units (NIST/SEMATECH e-Handbook, 6.3.3.1; Montgomery, "Introduction to
 * Statistical Quality Control", 6th ed., sections 7.3.1 and 7.3.2).
 *
 * @param counts nonconformities of each sample
 * @param sizes units of each sample, above 0, not necessarily whole (length, area, time)
 * @param standard standard value of u, 0 or more; null: from the data
 * @throws QualityError `empty`, `not-finite`, `not-whole`, `unequal-sizes`; `out-of-range` for a size not above 0, a
 *   count or a standard below 0
 */
export function nonconformitiesPerUnit(counts: Values, sizes: Values, standard: number | null = null): AttributesChart {
  checkPairs(counts, sizes);
  for (let j = 0; j < counts.length; j += 1) {
    checkPositive(sizes[j] ?? 0, `sizes[${j}]`);
    checkWhole(counts[j] ?? 0, `counts[${j}]`, 0);
  }
  if (standard !== null) checkRange(standard, 'center', 0, Number.MAX_VALUE);
  const center = standard ?? ratioOfSums(counts, sizes);
  return { center, chart: controlChart(rates(counts, sizes, center, Math.sqrt(center)), { floor: 0 }) };
}

function checkPairs(counts: Values, sizes: Values): void {
  checkValues(counts, 'counts');
  checkValues(sizes, 'sizes');
  if (counts.length !== sizes.length) {
    throw new QualityError('unequal-sizes', 'sizes', `sizes has ${sizes.length} values, counts has ${counts.length}`);
  }
}

function ratioOfSums(counts: Values, sizes: Values): number {
  const sum = (of: Values): number => compensatedSum(of.length, (j) => of[j] ?? 0);
  return sum(counts) / sum(sizes);
}

function rates(
  counts: Values,
  sizes: Values,
  center: number,
  sdOfUnit: number,
): Pick<ControlChart, 'values' | 'center' | 'sigma'> {
  return {
    values: Array.from(counts, (count, j) => count / (sizes[j] ?? 1)),
    center: Array.from(counts, () => center),
    sigma: Array.from(sizes, (size) => sdOfUnit / Math.sqrt(size)),
  };
}
