import type { Command } from 'commander';
import { EXIT } from '../exit.ts';
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
      .usage('< input.json')
      .configureHelp({ helpWidth: 110 })
      .addHelpText('after', () => `\n${GENERAL}\n${topicHelp(topic)}`)
      .action(async () => {
        done(await calc(topic, process.stdin, out));
      });
  }
}

const GENERAL = `Reads one JSON object, or one a line, from standard input and writes one line of JSON for each, in order.
null means undefined: the statistic has no value for this input. Numbers have the unit of the input unless
said otherwise. An input that cannot be used gives {"problem": ...} in its place, names the key, and makes
the exit status 3; the other lines are answered all the same.`;

const indented = (text: string): string => text.replace(/^/gm, '  ');
