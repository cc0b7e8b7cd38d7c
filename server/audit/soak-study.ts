import { fitLags } from '../../station/soak/lags-fit.ts';
import type { DummyRun, FittedLags } from '../../station/soak/lags-fit.ts';
import { CORE_WITHIN_K } from '../../station/soak/core-observer.ts';
import type { SoakLags } from '../../station/soak/core-observer.ts';
import { moments, sampleSd } from '../quality/moments.ts';
import { toleranceFactors } from '../quality/capability/tolerance-interval.ts';

/** What a study of instrumented dummies under full load came to. */
export interface StudiedLags extends SoakLags {
  readonly dummies: number;
  /** The dummies' own middle (geometric mean), s, and their spread (standard deviation of the logarithms). */
  readonly middle: SoakLags;
  readonly spread: { readonly shell: number; readonly core: number };
  /** The largest root mean square by which two lags miss a dummy's core, K. */
  readonly worstRmsK: number;
}

/** Why a study says nothing of the slowest parts; `dummies` were driven, `fitted` of them in all of their runs. */
export interface TooLittle {
  readonly code: /** Fewer dummies than a study takes. */
    | 'too-few-dummies'
    /** A run that two lags do not follow, or that shows no change: who knows that it was not the slowest. */
    | 'dummy-not-fitted';
  readonly facts: {
    readonly dummies: number;
    readonly fitted: number;
    readonly least: number;
    readonly worstRmsK: number;
  };
}

/** Share of parts that the lags are to hold for, and how sure the study is to be of it. Common practice, no source. */
export const STUDY = { share: 0.99, confidence: 0.95, leastDummies: 8, mostRmsK: CORE_WITHIN_K } as const;

/**
 * The lags that no more than 1 % of parts are slower than, each, with 95 % confidence in both: one-sided normal tolerance
 * limits of the logarithms (NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3), the doubt shared out over the two
 * (Bonferroni). A dummy counts once, by the slowest of its runs. None is left out: a run whose lags were not found, or miss
 * its core by more than what a soaked core may be off, may be that of the slowest, and then the study says too little; so do
 * fewer than eight dummies.
 */
export function studiedLags(runs: readonly DummyRun[]): StudiedLags | TooLittle {
  const fits = runs.map((run) => ({ dummy: run.dummy, fit: fitLags(run) }));
  const dummies = [...new Set(runs.map(({ dummy }) => dummy))].map((dummy) => {
    const own = fits.filter((each) => each.dummy === dummy).map(({ fit }) => fit);
    return own.every(isGood) ? slowestOf(own) : null;
  });
  const fitted = dummies.filter((dummy) => dummy !== null);
  const worstRmsK = Math.max(0, ...fits.flatMap(({ fit }) => fit?.rmsK ?? []));
  const facts = { dummies: dummies.length, fitted: fitted.length, least: STUDY.leastDummies, worstRmsK };
  if (dummies.length < STUDY.leastDummies) return { code: 'too-few-dummies', facts };
  const { oneSidedExact } = toleranceFactors(dummies.length, STUDY.share, 1 - (1 - STUDY.confidence) / 2);
  if (fitted.length < dummies.length || oneSidedExact === null) return { code: 'dummy-not-fitted', facts };
  const shell = logarithms(fitted.map(({ shellS }) => shellS));
  const core = logarithms(fitted.map(({ coreS }) => coreS));
  return {
    shellS: Math.exp(shell.mean + oneSidedExact * shell.sd),
    coreS: Math.exp(core.mean + oneSidedExact * core.sd),
    dummies: dummies.length,
    middle: { shellS: Math.exp(shell.mean), coreS: Math.exp(core.mean) },
    spread: { shell: shell.sd, core: core.sd },
    worstRmsK,
  };
}

const isGood = (fit: FittedLags | null): fit is FittedLags =>
  fit !== null && fit.isConverged && fit.rmsK <= STUDY.mostRmsK;

const slowestOf = (own: readonly SoakLags[]): SoakLags => ({
  shellS: Math.max(...own.map(({ shellS }) => shellS)),
  coreS: Math.max(...own.map(({ coreS }) => coreS)),
});

function logarithms(values: readonly number[]): { readonly mean: number; readonly sd: number } {
  const found = moments(values.map(Math.log));
  return { mean: found.mean, sd: sampleSd(found) ?? 0 };
}
