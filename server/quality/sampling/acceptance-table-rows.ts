/**
 * The tables of MIL-STD-105E (10 May 1989, public domain) as data, set as they are printed: a row for each code letter, a
 * column for each AQL. A number is an acceptance number (the rejection number is one more), `v` and `^` are the arrows.
 * ISO 2859-1:1989 has the same tables.
 */

/** Acceptance quality limits of the columns, as printed: percent bad, or faults per 100 parts. */
export const AQLS = [
  ...(['0.010', '0.015', '0.025', '0.040', '0.065', '0.10', '0.15', '0.25', '0.40', '0.65'] as const),
  ...(['1.0', '1.5', '2.5', '4.0', '6.5', '10', '15', '25', '40', '65'] as const),
  ...(['100', '150', '250', '400', '650', '1000'] as const),
];
export type Aql = (typeof AQLS)[number];

export const LEVELS = ['S-1', 'S-2', 'S-3', 'S-4', 'I', 'II', 'III'] as const;
export type InspectionLevel = (typeof LEVELS)[number];

export type Severity = 'normal' | 'tightened' | 'reduced';

/** Table I, code letters: largest lot of the row, then a letter for each of `LEVELS`. The smallest lot is 2 parts. */
export const CODE_LETTERS: readonly (readonly [largestLot: number, letters: string])[] = [
  [8, 'A A A A A A B'],
  [15, 'A A A A A B C'],
  [25, 'A A B B B C D'],
  [50, 'A B B C C D E'],
  [90, 'B B C C C E F'],
  [150, 'B B C D D F G'],
  [280, 'B C D E E G H'],
  [500, 'B C D E F H J'],
  [1200, 'C C E F G J K'],
  [3200, 'C D E G H K L'],
  [10_000, 'C D F G J L M'],
  [35_000, 'C D F H K M N'],
  [150_000, 'D E G J L N P'],
  [500_000, 'D E G J M P Q'],
  [Number.POSITIVE_INFINITY, 'D E H K N Q R'],
];

/** Code letter -> sample size and the cells of its row. */
type MasterTable = Readonly<Record<string, readonly [sampleSize: number, cells: string]>>;

/** Table II-A, single sampling, normal inspection. */
const NORMAL: MasterTable = {
  A: [2, 'v v v v v v v v v v v v v v 0 v v 1 2 3 5 7 10 14 21 30'],
  B: [3, 'v v v v v v v v v v v v v 0 ^ v 1 2 3 5 7 10 14 21 30 44'],
  C: [5, 'v v v v v v v v v v v v 0 ^ v 1 2 3 5 7 10 14 21 30 44 ^'],
  D: [8, 'v v v v v v v v v v v 0 ^ v 1 2 3 5 7 10 14 21 30 44 ^ ^'],
  E: [13, 'v v v v v v v v v v 0 ^ v 1 2 3 5 7 10 14 21 30 44 ^ ^ ^'],
  F: [20, 'v v v v v v v v v 0 ^ v 1 2 3 5 7 10 14 21 ^ ^ ^ ^ ^ ^'],
  G: [32, 'v v v v v v v v 0 ^ v 1 2 3 5 7 10 14 21 ^ ^ ^ ^ ^ ^ ^'],
  H: [50, 'v v v v v v v 0 ^ v 1 2 3 5 7 10 14 21 ^ ^ ^ ^ ^ ^ ^ ^'],
  J: [80, 'v v v v v v 0 ^ v 1 2 3 5 7 10 14 21 ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  K: [125, 'v v v v v 0 ^ v 1 2 3 5 7 10 14 21 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  L: [200, 'v v v v 0 ^ v 1 2 3 5 7 10 14 21 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  M: [315, 'v v v 0 ^ v 1 2 3 5 7 10 14 21 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  N: [500, 'v v 0 ^ v 1 2 3 5 7 10 14 21 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  P: [800, 'v 0 ^ v 1 2 3 5 7 10 14 21 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  Q: [1250, '0 ^ v 1 2 3 5 7 10 14 21 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  R: [2000, '^ ^ 1 2 3 5 7 10 14 21 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
};

/** Table II-B, single sampling, tightened inspection. From memory outside letters A to L and AQL 0.65 to 15. */
const TIGHTENED: MasterTable = {
  A: [2, 'v v v v v v v v v v v v v v v v v v 1 2 3 5 8 12 18 27'],
  B: [3, 'v v v v v v v v v v v v v v 0 v v 1 2 3 5 8 12 18 27 41'],
  C: [5, 'v v v v v v v v v v v v v 0 v v 1 2 3 5 8 12 18 27 41 ^'],
  D: [8, 'v v v v v v v v v v v v 0 v v 1 2 3 5 8 12 18 27 41 ^ ^'],
  E: [13, 'v v v v v v v v v v v 0 v v 1 2 3 5 8 12 18 27 41 ^ ^ ^'],
  F: [20, 'v v v v v v v v v v 0 v v 1 2 3 5 8 12 18 ^ ^ ^ ^ ^ ^'],
  G: [32, 'v v v v v v v v v 0 v v 1 2 3 5 8 12 18 ^ ^ ^ ^ ^ ^ ^'],
  H: [50, 'v v v v v v v v 0 v v 1 2 3 5 8 12 18 ^ ^ ^ ^ ^ ^ ^ ^'],
  J: [80, 'v v v v v v v 0 v v 1 2 3 5 8 12 18 ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  K: [125, 'v v v v v v 0 v v 1 2 3 5 8 12 18 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  L: [200, 'v v v v v 0 v v 1 2 3 5 8 12 18 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  M: [315, 'v v v v 0 v v 1 2 3 5 8 12 18 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  N: [500, 'v v v 0 v v 1 2 3 5 8 12 18 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  P: [800, 'v v 0 v v 1 2 3 5 8 12 18 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  Q: [1250, 'v 0 v v 1 2 3 5 8 12 18 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  R: [2000, '0 ^ v 1 2 3 5 8 12 18 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  S: [3150, '^ ^ 1 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
};

/**
 * Table II-C, single sampling, reduced inspection, acceptance/rejection number. **From memory throughout.** Between the two
 * numbers the lot is accepted and normal inspection comes back. ISO 2859-1:1999 has another table, without this gap.
 */
const REDUCED: MasterTable = {
  A: [2, 'v v v v v v v v v v v v v v 0/1 v v 1/2 2/3 3/4 5/6 7/8 10/11 14/15 21/22 30/31'],
  B: [2, 'v v v v v v v v v v v v v 0/1 ^ v 0/2 1/3 2/4 3/5 5/6 7/8 10/11 14/15 21/22 30/31'],
  C: [2, 'v v v v v v v v v v v v 0/1 ^ v 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 14/17 21/24 ^'],
  D: [3, 'v v v v v v v v v v v 0/1 ^ v 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 14/17 21/24 ^ ^'],
  E: [5, 'v v v v v v v v v v 0/1 ^ v 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 14/17 21/24 ^ ^ ^'],
  F: [8, 'v v v v v v v v v 0/1 ^ v 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ^ ^ ^ ^ ^ ^'],
  G: [13, 'v v v v v v v v 0/1 ^ v 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ^ ^ ^ ^ ^ ^ ^'],
  H: [20, 'v v v v v v v 0/1 ^ v 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ^ ^ ^ ^ ^ ^ ^ ^'],
  J: [32, 'v v v v v v 0/1 ^ v 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  K: [50, 'v v v v v 0/1 ^ v 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  L: [80, 'v v v v 0/1 ^ v 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  M: [125, 'v v v 0/1 ^ v 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  N: [200, 'v v 0/1 ^ v 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  P: [315, 'v 0/1 ^ v 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  Q: [500, '0/1 ^ v 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
  R: [800, '^ ^ 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^ ^'],
};

export const MASTER_TABLES: Readonly<Record<Severity, MasterTable>> = {
  normal: NORMAL,
  tightened: TIGHTENED,
  reduced: REDUCED,
};
