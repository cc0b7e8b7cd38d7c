import { QualityError } from '../../server/quality/errors.ts';

/** Code and key of the QualityError that a call is refused with; whatever else it throws is thrown on. */
export function refusal(run: () => unknown): { readonly code: string; readonly key: string } {
  try {
    run();
  } catch (error) {
    if (error instanceof QualityError) return { code: error.code, key: error.key };
    throw error;
  }
  throw new Error('not refused');
}
