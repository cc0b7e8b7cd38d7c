import type { Stream } from '../../station/random.ts';

/** True variances of a simulated gauge study. */
export interface TrueVariances {
  readonly part: number;
  readonly appraiser: number;
  readonly interaction: number;
  readonly repeatability: number;
}

/** How many of each a study has. */
export interface Layout {
  readonly parts: number;
  readonly appraisers: number;
  readonly trials: number;
}

/** A crossed study `[part][appraiser][trial]` with normal, independent effects of known variances. */
export function crossedReadings(chance: Stream, truth: TrueVariances, layout: Layout): number[][][] {
  const effect = (variance: number) => () => Math.sqrt(variance) * chance.normal();
  const part = times(layout.parts, effect(truth.part));
  const appraiser = times(layout.appraisers, effect(truth.appraiser));
  return part.map((p) =>
    appraiser.map((a) => {
      const cell = p + a + effect(truth.interaction)();
      return times(layout.trials, effect(truth.repeatability)).map((each) => cell + each);
    }),
  );
}

/** A nested study `[appraiser][part][trial]` with normal, independent effects of known variances. */
export function nestedReadings(
  chance: Stream,
  truth: Omit<TrueVariances, 'interaction'>,
  { parts, appraisers, trials }: Layout,
): number[][][] {
  const effect = (variance: number) => () => Math.sqrt(variance) * chance.normal();
  return times(appraisers, effect(truth.appraiser)).map((a) =>
    times(parts, effect(truth.part)).map((p) => times(trials, effect(truth.repeatability)).map((each) => a + p + each)),
  );
}

const times = <T>(n: number, make: () => T): T[] => Array.from({ length: n }, make);

/**
 * Readings of Montgomery & Runger, "Gauge capability analysis and designed experiments. Part II",
 * Quality Engineering 6 (1993) 289-305: 20 parts, 3 operators, 2 measurements (from memory; the data give every sum of
 * squares that is printed there).
 */
export const MONTGOMERY_RUNGER: readonly (readonly (readonly number[])[])[] = [
  ...['21 20 20 20 19 21', '24 23 24 24 23 24', '20 21 19 21 20 22', '27 27 28 26 27 28', '19 18 19 18 18 21'],
  ...['23 21 24 21 23 22', '22 21 22 24 22 20', '19 17 18 20 19 18', '24 23 25 23 24 24', '25 23 26 25 24 25'],
  ...['21 20 20 20 21 20', '18 19 17 19 18 19', '23 25 25 25 25 25', '24 24 23 25 24 25', '29 30 30 28 31 30'],
  ...['26 26 25 26 25 27', '20 20 19 20 20 20', '19 21 19 19 21 23', '25 26 25 24 25 25', '19 19 18 17 19 17'],
].map((row) => {
  const [a = 0, b = 0, c = 0, d = 0, e = 0, f = 0] = row.split(' ').map(Number);
  return [
    [a, b],
    [c, d],
    [e, f],
  ];
});

/**
 * Purity of batches within suppliers, Montgomery, "Design and Analysis of Experiments", two-stage nested example
 * (3 suppliers, 4 batches, 3 determinations; from memory; the data give every sum of squares that is printed there).
 */
export const MONTGOMERY_NESTED: readonly (readonly (readonly number[])[])[] = [
  [
    [1, -1, 0],
    [-2, -3, -4],
    [-2, 0, 1],
    [1, 4, 0],
  ],
  [
    [1, -2, -3],
    [0, 4, 2],
    [-1, 0, -2],
    [0, 3, 2],
  ],
  [
    [2, 4, 0],
    [-2, 0, 2],
    [1, -1, 2],
    [3, 2, 1],
  ],
];
