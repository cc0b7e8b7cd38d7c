import type { Readable } from 'node:stream';
import { createInterface } from 'node:readline';
import { EXIT } from '../exit.ts';
import type { Out } from '../out.ts';
import { answerText } from './answer.ts';
import type { InputProblem } from './answer.ts';
import type { Topic } from './topic.ts';

/**
 * `barolot calc <topic>`: answers one JSON input, or one a line, with one line of JSON each, in order. An input that
 * cannot be used gives `{"problem": …}` in its place and a line on standard error; the others are answered all the same.
 * One input may also stand on several lines, alone. `pretty` spreads each answer over lines.
 * Resolves with the exit status: 0, or 3 when any input could not be used.
 */
export async function calc(topic: Topic, input: Readable, out: Out, { pretty = false } = {}): Promise<number> {
  const print = (value: object): void => out.line(JSON.stringify(value, null, pretty ? 2 : undefined));
  let lineNumber = 0;
  let inputs = 0;
  let bad = 0;
  /** Lines of what may be one input over several lines: as long as nothing before it stood alone. */
  let pending: { readonly at: number; readonly text: string }[] = [];

  const say = (at: number, text: string): void => {
    inputs += 1;
    const answered = answerText(topic, text);
    if ('result' in answered) {
      print(answered.result);
      return;
    }
    bad += 1;
    print({ problem: { ...answered.problem, line: at } });
    out.aside(problemText(topic, answered.problem, at));
  };

  for await (const read of createInterface({ input, crlfDelay: Number.POSITIVE_INFINITY })) {
    lineNumber += 1;
    // The byte-order mark that some editors put in front of a file.
    const line = lineNumber === 1 ? read.replace(/^\uFEFF/, '') : read;
    if (line.trim() === '') continue;
    if (inputs === 0 && (pending.length > 0 || !isJson(line))) pending.push({ at: lineNumber, text: line });
    else say(lineNumber, line);
  }
  if (pending.length > 0) {
    const whole = pending.map(({ text }) => text).join('\n');
    // One input printed over several lines, sound or not, unless a line is an input by itself: then every line is, the
    // broken ones too.
    if (isJson(whole) || !pending.some(({ text }) => isJsonObject(text)))
      pending = [{ at: pending[0]?.at ?? 1, text: whole }];
    for (const { at, text } of pending) say(at, text);
  }
  if (inputs === 0) {
    out.aside(`Nothing on standard input. One JSON object, or one a line, wanted: barolot calc ${topic.name} --help`);
    return EXIT.wrongUse;
  }
  if (bad > 0)
    out.aside(`${bad} of ${inputs} inputs could not be used. What is wanted: barolot calc ${topic.name} --help`);
  return bad > 0 ? EXIT.wrongUse : EXIT.passed;
}

const isJsonObject = (text: string): boolean => text.trim().startsWith('{') && isJson(text);

function isJson(text: string): boolean {
  try {
    JSON.parse(text);
    return true;
  } catch {
    // Whether it is JSON is the question; `answerText` says why not.
    return false;
  }
}

function problemText({ name }: Topic, { errors }: InputProblem, line: number): string {
  return errors.map(({ detail }) => `${name}, line ${line}: ${detail}`).join('\n');
}
