/**
 * Everything that can be wrong with the station, never with a part, and who can clear it. What is said about each, and
 * what the person does next, stands in the catalogue of words under the same code.
 */
export const FAULTS = {
  'operator-stop': { clears: 'operator' },
  'guard-open': { clears: 'operator' },
  'stop-chain-open': { clears: 'operator' },
  'air-lost': { clears: 'operator' },
  'vacuum-lost': { clears: 'operator' },
  'not-clamped': { clears: 'operator' },
  'condition-not-met': { clears: 'operator' },
  'release-refused': { clears: 'operator' },
  interrupted: { clears: 'operator' },
  'proof-due': { clears: 'test engineer' },
  'not-testable': { clears: 'test engineer' },
  'over-pressure': { clears: 'test engineer' },
  'dead-man': { clears: 'test engineer' },
  'instrument-silent': { clears: 'test engineer' },
  'instrument-stuck': { clears: 'test engineer' },
  'instrument-disagrees': { clears: 'test engineer' },
  'output-meter-off': { clears: 'test engineer' },
  'supply-off': { clears: 'test engineer' },
  'pressure-not-reached': { clears: 'test engineer' },
  'pressure-unsteady': { clears: 'test engineer' },
  'pressure-rises': { clears: 'test engineer' },
  'valve-no-answer': { clears: 'test engineer' },
  'not-vented': { clears: 'test engineer' },
  'study-too-little': { clears: 'test engineer' },
  'not-kept': { clears: 'test engineer' },
  program: { clears: 'test engineer' },
} as const satisfies Record<string, { clears: 'operator' | 'test engineer' }>;

export type FaultCode = keyof typeof FAULTS;
export type Facts = Readonly<Record<string, string | number>>;

/** A fault as it is kept: the nest counts from 0 and is null when the whole station is meant. */
export interface Fault {
  readonly code: FaultCode;
  readonly phase: string;
  readonly nest: number | null;
  readonly facts: Facts;
}

/** Thrown for whatever the station, not a part, did wrong. `facts` carry units in their names. */
export class StationFault extends Error {
  override readonly name = 'StationFault';
  readonly code: FaultCode;
  readonly nest: number | null;
  readonly facts: Facts;

  constructor(code: FaultCode, options: { nest?: number; facts?: Facts; cause?: unknown } = {}) {
    super(`station fault ${code}`, { cause: options.cause });
    this.code = code;
    this.nest = options.nest ?? null;
    this.facts = options.facts ?? {};
  }
}
