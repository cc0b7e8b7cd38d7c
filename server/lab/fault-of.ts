import { StationFault } from '../../station/faults.ts';
import type { FaultCode } from '../../station/faults.ts';
import { Refusal } from '../line/line.ts';
import { StoreError } from '../store/errors.ts';

/** The fault by whose name it is kept that a load could not go on. */
export function faultOf(cause: unknown): FaultCode {
  if (cause instanceof StationFault) return cause.code;
  if (cause instanceof StoreError) return 'not-kept';
  if (cause instanceof Refusal) return cause.code === 'guard-open' ? 'guard-open' : 'interrupted';
  return 'program';
}
