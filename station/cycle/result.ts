import type { Facts } from '../faults.ts';
import type { ReasonCode } from '../reasons.ts';

/** A part's result. `none` is "not judged"; there is no default. */
export type Verdict = 'pass' | 'fail' | 'none';

/** Why the verdict is what it is: a part's own reasons in order of explanation, or the station's fault. */
export type Why =
  | { readonly by: 'part'; readonly code: ReasonCode; readonly facts: Facts }
  | { readonly by: 'station'; readonly code: string; readonly facts: Facts };

/** The end of one loaded nest. A pass has no `why`; everything else has at least one, the first explaining the rest. */
export interface NestResult {
  readonly nest: number;
  readonly serial: string;
  readonly verdict: Verdict;
  readonly why: readonly Why[];
}
