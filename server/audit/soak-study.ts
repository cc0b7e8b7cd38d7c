import { fitLags } from '../../station/soak/lags-fit.ts';
import type { DummyRun } from '../../station/soak/lags-fit.ts';
import type { SoakLags } from '../../station/soak/core-observer.ts';
import { moments, sampleSd } from '../quality/moments.ts';
import { toleranceFactors } from '../quality/capability/tolerance-interval.ts';

/** What a study of instrumented dummies under full load came to. */
export interface StudiedLags extends SoakLags {
  /** Dummies that were fitted, and runs that said too little. */
  readonly dummies: number;
  readonly unfitted: number;
  /** The dummies' own middle (geometric mean), s, and their spread (standard deviation of the logarithms). */
  readonly middle: SoakLags;
  readonly spread: { readonly shell: number; readonly core: number };
  /** The largest root mean square by which two lags miss a dummy's core, K. */
  readonly worstRmsK: number;
}

/** Share of parts that the lags are to hold for, and how sure the study is to be of it. Common practice, no source. */
export const STUDY = { share: 0.99, confidence: 0.95, leastDummies: 8 } as const;

/**
 * The lags that no more than 1 % of parts are slower than, each, with 95 % confidence in both: one-sided normal tolerance
 * limits of the logarithms (NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3), the doubt shared out over the two
 * (Bonferroni). A dummy counts once, by the slowest of its runs. Null for fewer than eight dummies: a few say nothing of the
 * slowest.
 */
export function studiedLags(runs: readonly DummyRun[]): StudiedLags | null {
  const fits = runs.flatMap((run) => {
    const fit = fitLags(run);
    return fit === null ? [] : [{ ...fit, dummy: run.dummy }];
  });
  const dummies = [...new Set(fits.map(({ dummy }) => dummy))].map((dummy) => {
    const own = fits.filter((fit) => fit.dummy === dummy);
    return { shellS: Math.max(...own.map((fit) => fit.shellS)), coreS: Math.max(...own.map((fit) => fit.coreS)) };
  });
  if (dummies.length < STUDY.leastDummies) return null;
  const { oneSidedExact } = toleranceFactors(dummies.length, STUDY.share, 1 - (1 - STUDY.confidence) / 2);
  if (oneSidedExact === null) return null;
  const shell = logarithms(dummies.map(({ shellS }) => shellS));
  const core = logarithms(dummies.map(({ coreS }) => coreS));
  return {
    shellS: Math.exp(shell.mean + oneSidedExact * shell.sd),
    coreS: Math.exp(core.mean + oneSidedExact * core.sd),
    dummies: dummies.length,
    unfitted: runs.length - fits.length,
    middle: { shellS: Math.exp(shell.mean), coreS: Math.exp(core.mean) },
    spread: { shell: shell.sd, core: core.sd },
    worstRmsK: Math.max(...fits.map(({ rmsK }) => rmsK)),
  };
}

function logarithms(values: readonly number[]): { readonly mean: number; readonly sd: number } {
  const found = moments(values.map(Math.log));
  return { mean: found.mean, sd: sampleSd(found) ?? 0 };
}
