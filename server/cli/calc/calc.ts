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
 * Resolves with the exit status: 0, or 3 when any input could not be used.
 */
export async function calc(topic: Topic, input: Readable, out: Out): Promise<number> {
  let lineNumber = 0;
  let inputs = 0;
  let bad = 0;
  /** Lines of what may be one input over several lines: as long as nothing before it stood alone. */
  let pending: { readonly at: number; readonly text: string }[] = [];

  const say = (at: number, text: string): void => {
    inputs += 1;
    const answered = answerText(topic, text);
    if ('result' in answered) {
      out.line(JSON.stringify(answered.result));
      return;
    }
    bad += 1;
    out.line(JSON.stringify({ problem: { ...answered.problem, line: at } }));
    out.aside(problemText(topic, answered.problem, at));
  };

  for await (const line of createInterface({ input, crlfDelay: Number.POSITIVE_INFINITY })) {
    lineNumber += 1;
    if (line.trim() === '') continue;
    if (inputs === 0 && (pending.length > 0 || !isJson(line))) pending.push({ at: lineNumber, text: line });
    else say(lineNumber, line);
  }
  if (pending.length > 0) {
    const whole = pending.map(({ text }) => text).join('\n');
    // One input printed over several lines; else every line is meant for itself, the broken ones too.
    if (isJson(whole)) pending = [{ at: pending[0]?.at ?? 1, text: whole }];
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
