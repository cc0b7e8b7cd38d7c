import type * as z from 'zod';
import { QualityError } from '../../quality/errors.ts';
import type { QualityErrorCode } from '../../quality/errors.ts';
import type { Calculation, Topic } from './topic.ts';

/** One thing that is wrong with an input: where, and what would be right. */
interface Wrong {
  /** Path of the key, as in `values[3]`; empty for the input as a whole. */
  readonly key: string;
  readonly detail: string;
}

/** Why an input was not answered, as an RFC 9457 problem document. `key` and `detail` are those of the first error. */
export interface InputProblem {
  readonly type: '/problems/bad-input';
  readonly title: 'The input cannot be used';
  readonly code: 'not-json' | 'invalid' | QualityErrorCode;
  readonly detail: string;
  readonly key: string;
  /** That of the input, where it had one. */
  readonly id?: string | number;
  readonly errors: readonly Wrong[];
}

type Answered = { readonly result: object } | { readonly problem: InputProblem };

/** Answers one input text of a topic: the result, or why there is none. Never NaN or an infinite number. */
export function answerText(topic: Topic, text: string): Answered {
  let input: unknown;
  try {
    input = JSON.parse(text);
  } catch (cause) {
    return { problem: problem('not-json', [{ key: '', detail: `not JSON: ${whyNotJson(text, cause)}` }]) };
  }
  return answer(topic, input);
}

/** What the usual slips look like, and what to write instead. */
const SLIPS: readonly (readonly [RegExp, string])[] = [
  [/[[,:]\s*[-+]?(NaN|Infinity|nan|inf)\b/, 'JSON has no NaN and no Infinity: leave such a reading out'],
  [/^\s*\{\s*'|[[,:]\s*'/, 'JSON takes double quotes, not single ones'],
  [/,\s*[\]}]/, 'there is a comma before a closing bracket'],
  [/^[^\x20-\x7e\s]*\S?\0/, 'save the file as UTF-8'],
];

function whyNotJson(text: string, cause: unknown): string {
  const found = SLIPS.find(([pattern]) => pattern.test(text));
  const why = (cause instanceof Error ? cause.message : 'unreadable').replace(/\s+/g, ' ');
  return found === undefined ? why : `${found[1]} (${why})`;
}

/** Answers one parsed JSON value; see `answerText`. An `id` is not part of a question: it comes back with the answer. */
export function answer(topic: Topic, given: unknown): Answered {
  if (typeof given !== 'object' || given === null || !('id' in given)) return answerPlain(topic, given);
  const { id, ...input } = given;
  if (typeof id !== 'string' && typeof id !== 'number') {
    return { problem: problem('invalid', [{ key: 'id', detail: 'id: a text or a number wanted' }]) };
  }
  const answered = answerPlain(topic, input);
  return 'result' in answered ? { result: { id, ...answered.result } } : { problem: { id, ...answered.problem } };
}

function answerPlain(topic: Topic, input: unknown): Answered {
  const chosen = choose(topic, input);
  if ('problem' in chosen) return chosen;
  const parsed = chosen.input.safeParse(input, { reportInput: true });
  if (!parsed.success)
    return {
      problem: problem(
        'invalid',
        parsed.error.issues.flatMap((each) => wrongs(each, chosen)),
      ),
    };
  try {
    const result = chosen.run(parsed.data as never);
    const beyond = beyondNumbers(result, '');
    if (beyond === null) return { result };
    const detail = `${beyond} of the answer is beyond the largest number: give the input in a larger unit, or without absurd values`;
    return { problem: problem('out-of-range', [{ key: '', detail }]) };
  } catch (error) {
    if (!(error instanceof QualityError)) throw error;
    return { problem: problem(error.code, [{ key: error.key, detail: error.message }]) };
  }
}

function choose(topic: Topic, input: unknown): Calculation | { readonly problem: InputProblem } {
  const [only] = topic.calculations;
  if (topic.selectBy === null && only !== undefined) return only;
  const key = topic.selectBy ?? '';
  const kind: unknown = typeof input === 'object' && input !== null ? (input as Record<string, unknown>)[key] : null;
  const found = topic.calculations.find((each) => each.kind === kind);
  if (found !== undefined) return found;
  const kinds = topic.calculations.map((each) => each.kind ?? '').join(', ');
  if (typeof input !== 'object' || input === null || Array.isArray(input)) {
    return { problem: problem('invalid', [{ key: '', detail: `a JSON object with the key ${key} wanted` }]) };
  }
  const has = kind === undefined ? 'missing' : JSON.stringify(kind);
  return { problem: problem('invalid', [{ key, detail: `${key} is ${has}; one of ${kinds} wanted` }]) };
}

function wrongs(issue: z.core.$ZodIssue, { input }: Calculation): Wrong[] {
  const key = pathText(issue.path);
  if (issue.code === 'unrecognized_keys') {
    const known = Object.keys(input.shape).join(', ');
    return issue.keys.map((name) => ({
      key: pathText([...issue.path, name]),
      detail: key === '' ? `unknown key ${name}; known are ${known}` : `unknown key ${name} in ${key}`,
    }));
  }
  return [{ key, detail: saying(issue, key === '' ? 'the input' : key) }];
}

/** What is wrong and what would be right, in words; `input` is what stands at the place of an issue. */
function saying(issue: z.core.$ZodIssue, name: string): string {
  const has = issue.input === undefined ? '' : ` ${JSON.stringify(issue.input)}`;
  if (issue.code === 'invalid_type') {
    if (issue.input === undefined) return `${name} is missing; ${kindText(issue.expected)} wanted`;
    return `${name} is ${typeText(issue.input)}; ${kindText(issue.expected)} wanted`;
  }
  if (issue.code === 'too_big')
    return `${name} is${has}; ${issue.inclusive === false ? 'below' : 'at most'} ${issue.maximum} wanted`;
  if (issue.code === 'too_small') {
    if (issue.origin === 'string') return `${name} is empty`;
    return `${name} is${has}; ${issue.inclusive === false ? 'above' : 'at least'} ${issue.minimum} wanted`;
  }
  if (issue.code === 'invalid_value') return `${name} is${has}; one of ${issue.values.map(String).join(', ')} wanted`;
  return `${name}: ${issue.message.replace(/^Invalid input: /, '')}`;
}

const KINDS: Readonly<Record<string, string>> = {
  number: 'a number',
  int: 'a whole number',
  array: 'a list',
  object: 'a JSON object',
  string: 'a text',
  boolean: 'true or false',
};

const kindText = (expected: string): string => KINDS[expected] ?? expected;

function typeText(value: unknown): string {
  if (typeof value === 'string') return `the text ${JSON.stringify(value)}`;
  if (typeof value === 'number' && !Number.isFinite(value)) return 'too large for a number';
  if (Array.isArray(value)) return 'a list';
  return typeof value === 'object' && value !== null ? 'an object' : JSON.stringify(value);
}

function pathText(path: readonly PropertyKey[]): string {
  return path
    .map((step, at) => (typeof step === 'number' ? `[${step}]` : `${at === 0 ? '' : '.'}${String(step)}`))
    .join('');
}

function problem(code: InputProblem['code'], errors: readonly Wrong[]): InputProblem {
  const [first = { key: '', detail: 'unknown' }] = errors;
  return { type: '/problems/bad-input', title: 'The input cannot be used', code, ...first, errors };
}

/** The path of a number that JSON cannot carry; it would reach the reader as null, "undefined", which would be a lie. */
function beyondNumbers(value: unknown, path: string): string | null {
  if (typeof value === 'number') return Number.isFinite(value) ? null : path;
  if (typeof value !== 'object' || value === null) return null;
  for (const [key, each] of Object.entries(value)) {
    const found = beyondNumbers(each, path === '' ? key : `${path}.${key}`);
    if (found !== null) return found;
  }
  return null;
}
