import type { Quantity } from '../cycle/judge.ts';
import type { FaultCode } from '../faults.ts';
import type { ReasonCode } from '../reasons.ts';
import type { LineWords } from './line-en.ts';

/** What is said and what the person does next. */
export interface Saying {
  readonly says: string;
  readonly next: string;
}

/** Every word shown to an operator, keyed by code: one such catalogue a language. */
export interface Catalogue {
  readonly verdicts: { readonly pass: string; readonly fail: string; readonly none: string };
  readonly passNext: string;
  /** A reading's name; `{step}` stands for the pressure point. */
  readonly quantities: Readonly<Record<Quantity | 'ambient-check', string>>;
  readonly faults: Readonly<Record<FaultCode, Saying>>;
  readonly reasons: Readonly<Record<ReasonCode, Saying>>;
  /** What the line screen says. */
  readonly line: LineWords;
}
