import type { CycleKind } from '../../station/profile/schema.ts';
import type { Verdict } from '../../station/cycle/result.ts';
import type { Facts } from '../../station/faults.ts';
import type { Attempt, RefusalCode } from './contract.ts';

/** Whether a part may be tested now, as what, and whether it was judged on the line before. */
export type Admission =
  | { readonly admitted: true; readonly attempt: Attempt; readonly wasJudged: boolean }
  | { readonly admitted: false; readonly code: RefusalCode; readonly facts: Facts };

/**
 * What a serial's next line test is. A part that passed is not tested again; one that failed may be tested again
 * `retests` times. After "not judged" the test is repeated, which is counted apart and is no retest.
 * `history` is the serial's, the oldest first; only line cycles count.
 */
export function admit(
  history: readonly { readonly verdict: Verdict; readonly kind: CycleKind }[],
  retests: number,
): Admission {
  const onLine = history.filter(({ kind }) => kind === 'line');
  const judged = onLine.filter(({ verdict }) => verdict !== 'none');
  if (judged.at(-1)?.verdict === 'pass') return { admitted: false, code: 'passed-already', facts: {} };
  if (judged.length > retests)
    return { admitted: false, code: 'retests-used-up', facts: { failed: judged.length, retests } };
  const wasJudged = judged.length > 0;
  if (onLine.at(-1)?.verdict === 'none') return { admitted: true, attempt: 'repeat', wasJudged };
  return { admitted: true, attempt: wasJudged ? 'retest' : 'first', wasJudged };
}
