import type { NestResult } from '../../station/cycle/result.ts';

/** What the command's exit status says, the same for all commands. */
export const EXIT = { passed: 0, failed: 1, notJudged: 2, wrongUse: 3 } as const;

/** Thrown for what the person typed wrong; the message says what would be right. */
export class WrongUse extends Error {
  override readonly name = 'WrongUse';
}

/** 0 all passed, 1 any failed, 2 none failed but something was not judged. */
export function exitOf(results: readonly NestResult[]): number {
  if (results.some(({ verdict }) => verdict === 'fail')) return EXIT.failed;
  return results.length > 0 && results.every(({ verdict }) => verdict === 'pass') ? EXIT.passed : EXIT.notJudged;
}
