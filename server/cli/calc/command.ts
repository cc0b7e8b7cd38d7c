import { open } from 'node:fs/promises';
import type { Readable } from 'node:stream';
import type { Command } from 'commander';
import { EXIT, WrongUse } from '../exit.ts';
import type { Out } from '../out.ts';
import { calc } from './calc.ts';
import { topicHelp, topicList } from './help.ts';
import { topics } from './topics.ts';

/** Adds `barolot calc` with a subcommand for each topic; `done` takes the exit status. */
export function addCalc(program: Command, out: Out, done: (exit: number) => void): void {
  const command = program
    .command('calc')
    .description('compute a statistic: JSON in on standard input, JSON out on standard output')
    .argument('[topic]', 'what to compute; --list names them')
    .option('--list', 'print the topics, one a line')
    .helpCommand(false)
    .addHelpText(
      'after',
      () =>
        `\n${GENERAL}\n\nTopics (barolot calc <topic> --help explains inputs, units, outputs, sources):\n${indented(topicList(topics))}`,
    )
    .action((unknown: string | undefined, options: { list?: boolean }) => {
      if (options.list === true) {
        out.line(topicList(topics));
        done(EXIT.passed);
        return;
      }
      out.aside(unknown === undefined ? 'A topic is missing.' : `There is no topic ${unknown}.`);
      out.aside(`Topics:\n${indented(topicList(topics))}`);
      done(EXIT.wrongUse);
    })
    .configureHelp({ helpWidth: 110, visibleCommands: () => [] });
  for (const topic of topics) {
    command
      .command(topic.name)
      .description(topic.about)
      .argument('[file]', 'file of inputs; standard input when none is named')
      .option('--pretty', 'spread each answer over lines, to read', false)
      .configureHelp({ helpWidth: 110 })
      .addHelpText('after', () => `\n${GENERAL}\n${topicHelp(topic)}`)
      .action(async (file: string | undefined, options: { pretty: boolean }) => {
        done(await calc(topic, file === undefined ? process.stdin : await opened(file), out, options));
      });
  }
}

/** A file for reading. Throws WrongUse when it cannot be opened. */
async function opened(file: string): Promise<Readable> {
  try {
    return (await open(file)).createReadStream({ encoding: 'utf8' });
  } catch (cause) {
    throw new WrongUse(`${file} cannot be read: ${cause instanceof Error ? cause.message : String(cause)}`);
  }
}

const GENERAL = `Reads one JSON object (over several lines if you like), or one a line, and writes one line of JSON for each,
in order. null means undefined: the statistic has no value for this input. Numbers have the unit of the
input unless said otherwise, and a decimal point. A key "id" comes back with its answer. Exit status: 0 all
answered; 3 when an input could not be used: it gives {"problem": ...} in its place, which names the key,
and the others are answered all the same.`;

const indented = (text: string): string => text.replace(/^/gm, '  ');
