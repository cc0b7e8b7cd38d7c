import { evaluate } from '../../server/audit/evaluation/evaluate.ts';
import { stream } from '../../station/random.ts';
import { STAGES, drawnAudit, givenAudit } from '../support/audit-population.ts';

/** True mean and standard deviation as shares of what is allowed: 1.33 to the nearer limit, 5.33 to the far one. */
const TRUTH = { mean: 0.6, sd: 0.1 } as const;
const TRUE_PPK = (1 - TRUTH.mean) / (3 * TRUTH.sd);
const ALLOWED_KPA = 1.5;
const SIZES = [5, 13, 30] as const;

/**
 * How often an evaluation is wrong where the truth is known: good lots that are called not normal, and lower bounds of Ppk
 * that are above the true one.
 */
export function auditsBench(options: {
  readonly audits: number;
  readonly samples: number;
  readonly seed: number;
}): void {
  const { audits, samples, seed } = options;
  console.log(`audits: SEED=${seed}`);
  let notNormal = 0;
  for (let k = 0; k < audits; k += 1) {
    const { normality } = evaluate(drawnAudit({}, seed * audits + k));
    if (normality.isNormal === false) notNormal += 1;
  }
  console.log(
    `  good lots of 13 parts, 3 conditions, 5 points: ${notNormal} of ${audits} ` +
      `(${percent(notNormal, audits)} %, wanted 5 % or less) called not normal`,
  );
  for (const n of SIZES) {
    const chance = stream(seed, 'audited-cell', n);
    let below = 0;
    for (let k = 0; k < samples; k += 1) {
      const atLeast = drawnBound(n, () => chance.normal());
      if (atLeast <= TRUE_PPK) below += 1;
    }
    console.log(
      `  ${n} parts, Ppk truly ${TRUE_PPK.toFixed(2)}: lower bound below it in ${below} of ${samples} samples ` +
        `(${percent(below, samples)} %, wanted 95 +- 1.4 %)`,
    );
  }
}

/** The lower bound of Ppk that an audit of n parts at one point shows. */
function drawnBound(n: number, normal: () => number): number {
  const errors = Array.from({ length: n }, () => [[ALLOWED_KPA * (TRUTH.mean + TRUTH.sd * normal())]]);
  const atLeast = evaluate(givenAudit(errors, STAGES.slice(1, 2))).cells[0]?.atLeast;
  if (atLeast === undefined || atLeast === null) throw new Error('drawn values do differ');
  return atLeast;
}

const percent = (count: number, of: number): string => ((100 * count) / of).toFixed(1);
