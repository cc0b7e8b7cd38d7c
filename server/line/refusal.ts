import { StationFault } from '../../station/faults.ts';
import { StoreError } from '../store/errors.ts';
import { Refusal } from './line.ts';

/** What a person is told about something that was not carried out. What nobody foresaw is passed on as it came. */
export function refusalOf(cause: unknown): Refusal {
  if (cause instanceof Refusal) return cause;
  if (cause instanceof StationFault && cause.code === 'not-testable') return new Refusal('not-testable', cause.facts);
  if (cause instanceof StoreError) return new Refusal('not-kept', { cause: cause.code, ...cause.facts });
  throw cause;
}
