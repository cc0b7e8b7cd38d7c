/**
 * Why a statistic cannot be computed from what was given. A statistic that exists but has no value here (a spread of one
 * reading, an index without its limit) is not an error: it is `null`, "undefined".
 */
export type QualityErrorCode =
  | 'empty'
  | 'too-few'
  | 'too-many'
  | 'not-finite'
  | 'not-whole'
  | 'out-of-range'
  | 'crossed-limits'
  | 'no-limit'
  | 'unequal-sizes'
  | 'beyond-lot'
  | 'no-such-plan'
  | 'no-solution'
  | 'not-converged';

/**
 * Refuses an input of a statistic: the code is for programs, the message says what would be right, `key` is the path of
 * the parameter as its function names it (`values[3]`, `subgroups[2][0]`).
 */
export class QualityError extends Error {
  override readonly name = 'QualityError';
  readonly code: QualityErrorCode;
  readonly key: string;

  constructor(code: QualityErrorCode, key: string, message: string) {
    super(message);
    this.code = code;
    this.key = key;
  }
}
