/**
 * Everything that can be wrong with a profile. The first group is found while the text is read, the second while the
 * numbers of a complete profile are held against one another, the third against a rig.
 */
export type ProblemCode =
  | 'unreadable'
  | 'too-large'
  | 'not-yaml'
  | 'not-a-group'
  | 'not-a-value'
  | 'unknown-key'
  | 'missing-key'
  | 'duplicate-key'
  | 'number'
  | 'unit'
  | 'gauge-pressure'
  | 'word'
  | 'out-of-range'
  | 'file-name'
  // between the numbers of one profile
  | 'limits-cross'
  | 'class-mismatch'
  | 'serial-pattern'
  | 'supply-outside-allowed'
  | 'presence-not-below-current'
  | 'clamp-unit'
  | 'rated-output-outside-clamps'
  | 'rated-range-without-ambient'
  | 'factors-unsorted'
  | 'factors-do-not-cover'
  | 'condition-missing'
  | 'condition-duplicate'
  | 'conditions-overlap'
  | 'over-pressure'
  | 'leak-pressure'
  | 'gross-not-above-limit'
  | 'plausibility-too-narrow'
  | 'point-duplicate'
  | 'point-reserved'
  | 'point-outside-rating'
  | 'point-beyond-clamps'
  | 'point-branch'
  | 'audit-points-none'
  | 'audit-point-unknown'
  | 'audit-point-duplicate'
  | 'audit-point-first'
  | 'audit-point-branch'
  | 'audit-supply-place'
  | 'audit-supply-outside-allowed'
  | 'audit-supply-too-near'
  | 'lag-point'
  | 'lag-travel'
  | 'lag-dwell'
  | 'noise-limit'
  // between a profile and a rig
  | 'rig-pressure'
  | 'rig-transducer'
  | 'rig-over-pressure'
  | 'rig-load';

/** A place in a profile's content, from the top: keys, and indexes of lists. */
export type ContentPath = readonly (string | number)[];

/** A problem of a content, wherever it came from. */
export interface ContentProblem {
  readonly code: ProblemCode;
  readonly path: ContentPath;
  readonly wrong: string;
  readonly right: string;
}

/** A place in a profile file: line and column count from 1, `key` is written as in the file, from the top. */
export interface Place {
  readonly file: string;
  readonly line: number;
  readonly column: number;
  readonly key: string;
}

/** A problem of a profile file: where it is, what is wrong there and what would be right. */
export interface ProfileProblem extends Place {
  readonly code: ProblemCode;
  readonly wrong: string;
  readonly right: string;
}

/** One line for a person: `AQ-1105.yaml:14:12: supply.nominal: "5" has no unit; right: one of 5 V, 5000 mV`. */
export function problemLine(problem: ProfileProblem): string {
  const key = problem.key === '' ? '' : `${problem.key}: `;
  return `${problem.file}:${problem.line}:${problem.column}: ${key}${problem.wrong}; right: ${problem.right}`;
}

/** The problem, unless something holds. */
export function unless(
  holds: boolean,
  code: ProblemCode,
  path: ContentPath,
  wrong: string,
  right: string,
): ContentProblem[] {
  return holds ? [] : [{ code, path, wrong, right }];
}

/** A pressure as messages show it; six digits stop short of the rounding of binary fractions. */
export const kPa = (value: number): string => `${Number(value.toPrecision(6))} kPa`;

/** An output as messages show it. */
export const volt = (value: number): string => `${Number(value.toPrecision(5))} V`;
