import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { binomialCdf } from '../../server/quality/distributions/binomial.ts';
import { chiSquareCdf, chiSquareQuantile } from '../../server/quality/distributions/chi-square.ts';
import { fCdf, fQuantile } from '../../server/quality/distributions/f.ts';
import { hypergeometricCdf } from '../../server/quality/distributions/hypergeometric.ts';
import {
  noncentralTCdf,
  noncentralTNoncentrality,
  noncentralTQuantile,
} from '../../server/quality/distributions/noncentral-t.ts';
import { normalCdf, normalQuantile } from '../../server/quality/distributions/normal.ts';
import { poissonCdf } from '../../server/quality/distributions/poisson.ts';
import { tCdf, tQuantile } from '../../server/quality/distributions/student-t.ts';
import type { Tail } from '../../server/quality/distributions/tail.ts';

/** A block of tests/reference/quality/distribution-grid.json, which says what its rows are. */
interface Block {
  readonly distribution: string;
  readonly parameters: Readonly<Record<string, number>>;
  readonly rows: readonly (readonly [Tail, number, number, number, number] | readonly [number, number, number])[];
}

/** The largest error of one function over its rows of the grid, and where it is. */
export interface LargestError {
  readonly function: string;
  readonly points: number;
  readonly error: number;
  readonly where: string;
}

type Cdf = (x: number, parameter: (name: string) => number, tail: Tail) => number;

const CDFS: Readonly<Record<string, Cdf>> = {
  normal: (x, _of, tail) => normalCdf(x, tail),
  t: (x, of, tail) => tCdf(x, of('df'), tail),
  'chi-square': (x, of, tail) => chiSquareCdf(x, of('df'), tail),
  F: (x, of, tail) => fCdf(x, of('df1'), of('df2'), tail),
  'noncentral t': (x, of, tail) => noncentralTCdf(x, of('df'), of('ncp'), tail),
  binomial: (k, of, tail) => binomialCdf(k, of('n'), of('p'), tail),
  Poisson: (k, of, tail) => poissonCdf(k, of('mean'), tail),
  hypergeometric: (k, of, tail) => hypergeometricCdf(k, { lot: of('lot'), bad: of('bad'), sample: of('sample') }, tail),
};

const QUANTILES: Readonly<Record<string, Cdf>> = {
  normal: (p, _of, tail) => normalQuantile(p, tail),
  t: (p, of, tail) => tQuantile(p, of('df'), tail),
  'chi-square': (p, of, tail) => chiSquareQuantile(p, of('df'), tail),
  F: (p, of, tail) => fQuantile(p, of('df1'), of('df2'), tail),
  'noncentral t': (p, of, tail) => noncentralTQuantile(p, of('df'), of('ncp'), tail),
};

/**
 * Errors of every distribution against the grid, relative to the value of the grid. Quantiles and noncentralities of the
 * noncentral t are compared by max(|x|, 1): it has its zero where a probability is not special, and no double p is near
 * enough to a quantile next to zero to fix its digits.
 */
export function gridErrors(): readonly LargestError[] {
  const path = join(import.meta.dirname, '../reference/quality/distribution-grid.json');
  const { blocks } = JSON.parse(readFileSync(path, 'utf8')) as { blocks: readonly Block[] };
  const largest = new Map<string, LargestError>();
  const compare = (name: string, got: number, expected: number, where: string, least = 0): void => {
    const off = Math.abs(got - expected);
    const error = off === 0 ? 0 : off / Math.max(Math.abs(expected), least);
    const before = largest.get(name) ?? { function: name, points: 0, error: 0, where: '' };
    const worse = !(error <= before.error);
    largest.set(name, { ...before, points: before.points + 1, ...(worse ? { error, where } : {}) });
  };
  for (const { distribution, parameters, rows } of blocks) {
    const cdf = CDFS[distribution]!;
    const of = (name: string): number => parameters[name]!;
    const given = Object.entries(parameters).map(([name, value]) => `, ${name} ${value}`);
    for (const row of rows) {
      const [x, lower, upper] = row.length === 3 ? row : ([row[2], row[3], row[4]] as const);
      const at = `${x}${given.join('')}`;
      compare(`${distribution} cdf`, cdf(x, of, 'lower'), lower, at);
      compare(`${distribution} upper tail`, cdf(x, of, 'upper'), upper, at);
      if (row.length === 3) continue;
      const [tail, p] = row;
      const noncentral = distribution === 'noncentral t';
      const where = `${tail} p ${p}${given.join('')}`;
      compare(`${distribution} quantile`, QUANTILES[distribution]!(p, of, tail), x, where, noncentral ? 1 : 0);
      if (noncentral && tail === 'lower' && Math.abs(x) < 1e100) {
        compare('noncentral t noncentrality', noncentralTNoncentrality(lower, x, of('df')), of('ncp'), where, 1);
      }
    }
  }
  return [...largest.values()];
}
