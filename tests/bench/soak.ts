import { studiedLags } from '../../server/audit/soak-study.ts';
import { stream } from '../../station/random.ts';
import { isSoaked, soakFrom, soakOn } from '../../station/soak/core-observer.ts';
import { airAt, coreOf, drawSoakedPart, dummyRun } from '../support/soak-truth.ts';

const MOVES = [
  [25, -40],
  [25, 125],
  [-40, 125],
] as const;
const DUMMIES = 32;
const LONGEST_S = 4 * 3600;

/**
 * Simulated soaks of parts that the observer knows nothing of but the lags of a study of other parts: how many are more
 * than 1 K off when declared, and how long it took beside the truth.
 */
export function soakBench(options: { readonly soaks: number; readonly seed: number }): void {
  const { soaks, seed } = options;
  const others = stream(seed, 'soak-study', 0);
  const study = studiedLags(
    Array.from({ length: DUMMIES }, (_, k) => dummyRun(drawSoakedPart(others), seed + k, 25, 125)),
  );
  if ('code' in study) throw new Error(`the study says too little: ${study.code}`);
  console.log(
    `soak: study of ${study.dummies} dummies: shell ${study.shellS.toFixed(0)} s, core ${study.coreS.toFixed(0)} s ` +
      `(99 % of parts with 95 % confidence; true 99 % points 114 s and 397 s), SEED=${seed}`,
  );
  for (const [fromC, toC] of MOVES) {
    const declaredS = declared(fromC, toC, study);
    const chance = stream(seed, 'soak-parts', fromC - toC);
    const off: number[] = [];
    const slower = { all: 0, off: 0 };
    for (let part = 0; part < soaks; part += 1) {
      const drawn = drawSoakedPart(chance);
      const isSlower = drawn.lags.shellS > study.shellS || drawn.lags.coreS > study.coreS;
      const core = coreOf(drawn, fromC, toC);
      for (let s = 0; s < declaredS; s += 1) core.next();
      const offK = Math.abs(core.next().value - toC);
      off.push(offK);
      if (isSlower) slower.all += 1;
      if (isSlower && offK > 1) slower.off += 1;
    }
    const sorted = off.toSorted((a, b) => a - b);
    const many = off.filter((each) => each > 1).length;
    console.log(
      `  ${fromC} to ${toC} °C: declared after ${(declaredS / 60).toFixed(1)} min; ${many} of ${soaks} parts ` +
        `(${((100 * many) / soaks).toFixed(2)} %, wanted 1 % or less) more than 1 K off; 99 % within ` +
        `${(sorted[Math.ceil(0.99 * soaks) - 1] ?? Number.NaN).toFixed(2)} K, worst ${(sorted.at(-1) ?? Number.NaN).toFixed(2)} K; ` +
        `${slower.all} slower than studied, ${slower.off} of them off`,
    );
  }
}

/** Seconds until the observer, from rest at `fromC`, declares the target. */
function declared(fromC: number, toC: number, lags: { readonly shellS: number; readonly coreS: number }): number {
  let state = soakFrom(fromC, { low: fromC, high: fromC });
  for (let s = 1; s < LONGEST_S; s += 1) {
    state = soakOn(state, airAt(s, fromC, toC), 1, lags);
    if (isSoaked(state, toC)) return s;
  }
  throw new Error('never soaked');
}
