#!/usr/bin/env node
import { Command, CommanderError, InvalidArgumentError, Option } from 'commander';
import { StationFault } from '../../station/faults.ts';
import { DemoError } from '../../station/host/demo.ts';
import { ConditionId, CycleKind } from '../../station/profile/schema.ts';
import { geopotentialM, standardAtmosphereKpaAbs } from '../../station/units.ts';
import { english } from '../../station/words/en.ts';
import { StoreError } from '../store/errors.ts';
import type { StoreErrorCode } from '../store/errors.ts';
import { factText } from './reason-text.ts';
import { addCalc } from './calc/command.ts';
import { check } from './check.ts';
import { characteriseStation, cycle, type CycleOptions } from './cycle.ts';
import { showConfig } from './config.ts';
import { EXIT, WrongUse } from './exit.ts';
import { processOut as out } from './out.ts';
import { shippedProfiles } from './setting.ts';
import { demo } from './demo/demo.ts';
import { serve } from './serve.ts';
import { show } from './show.ts';
import { SettingsError, readSettings } from '../settings/read.ts';
import { PROOF_IDS } from '../../station/host/simulated-station.ts';
import { readSuffering, readTimedFault, sufferingHelp } from './suffering.ts';
import { verifyLedger } from './verify.ts';

/** The options of a command as commander gives them: what was not said is not there. */
type Given = Omit<CycleOptions, 'barometer' | 'profiles'> & {
  readonly barometer?: number;
  /** The barometer that was made of a height. */
  readonly altitude?: number;
  readonly profiles?: string;
};

/** What of the ledger's refusals the person can set right by another call. */
const WRONG_USES: ReadonlySet<StoreErrorCode> = new Set([
  'cannot-open',
  'not-a-ledger',
  'older-format',
  'revision-conflict',
]);

/** What the person can do about a refusal of the ledger, where its message does not say it. */
const NEXT: Readonly<Partial<Record<StoreErrorCode, string>>> = {
  'cannot-open':
    '. Name its folder with --data (or BAROLOT_DATA), see that it may be read and written, or make a ledger: barolot cycle <part number> --keep',
  'store-in-use': '. Another barolot writes to it: let it end, or name another folder with --data',
  'storage-full': '. Make room on that storage, then run this again',
  'storage-failed': '. Take no verdict from this run; check the storage, then run barolot verify',
};

const stopping = new AbortController();

/** Ctrl+C stops the cycle of a command, as the operator does; the server ends in its own way. */
function stopOnInterrupt(): AbortSignal {
  process.once('SIGINT', () => {
    stopping.abort(new StationFault('operator-stop'));
  });
  return stopping.signal;
}

const wholeNumber =
  (low: number, high: number) =>
  (text: string): number => {
    const value = Number(text);
    if (!Number.isInteger(value) || value < low || value > high)
      throw new InvalidArgumentError(`a whole number from ${low} to ${high}`);
    return value;
  };

const pressure = (text: string): number => {
  const value = Number(text);
  if (!(value >= 60 && value <= 110)) throw new InvalidArgumentError('kPa absolute, from 60 to 110');
  return value;
};

const altitude = (text: string): number => {
  const height = Number(text);
  if (!(height >= -400 && height <= 4000)) throw new InvalidArgumentError('m, from -400 to 4000');
  return standardAtmosphereKpaAbs(geopotentialM(height));
};

const proofId = (text: string): string => {
  if (!PROOF_IDS.some((known) => known === text)) throw new InvalidArgumentError(`one of ${PROOF_IDS.join(', ')}`);
  return text;
};

/** Options of everything that needs the simulated station. */
const stationOptions = (command: Command): Command =>
  command
    .option('--nests <n>', 'nests of the simulated rig, 1 to 16', wholeNumber(1, 16), 2)
    .option('--rig-seed <n>', 'which simulated rig: its volumes and instrument errors', wholeNumber(0, 0xffffffff), 1)
    .option('--barometer <kPa>', 'ambient pressure in kPa abs instead of the drawn one', pressure)
    .addOption(
      new Option('--altitude <m>', 'ambient pressure of the standard atmosphere (ISO 2533) at this height in m')
        .argParser(altitude)
        .conflicts('barometer'),
    )
    .option('--profiles <folder>', 'folder of profiles instead of the shipped ones')
    .option('--actor <name>', 'whose name stands in the record (stated, not proved)', 'test engineer');

const kept = (command: Command): Command =>
  command
    .addOption(new Option('--data <folder>', 'folder of the ledger').env('BAROLOT_DATA').default('.barolot'))
    .option('--json', 'print JSON instead of text', false);

const program = new Command('barolot')
  .description(
    'Tests manifold-absolute-pressure sensors: leak hold, output at pressure points, verdict, record.\n' +
      'Software is not a safety function: guard, emergency stop and pressure relief are wired, by licensed people.',
  )
  .addHelpText(
    'after',
    '\nExit status: 0 all passed, 1 any failed, 2 fault or not judged, 3 wrong use.\nUnits: kPa absolute, std cm3/min (dry air, 20 °C, 101.325 kPa), V, mA, ms unless written otherwise.',
  )
  .configureHelp({ helpWidth: 110 })
  .exitOverride();

const cycleCommand = program
  .command('cycle')
  .description('run one cycle of a part number on the simulated rig')
  .argument('<part number>', 'as in AQ-1105')
  .option('--seed <n>', 'parts and noise: the same seed gives the same measurement', wholeNumber(0, 0xffffffff), 1)
  .option(
    '--nest <n:fault=size,…>',
    'what the part in a nest suffers from; may be repeated',
    collect(readSuffering),
    [],
  )
  .option(
    '--rig <fault@phase>',
    'what the rig suffers from and when; may be repeated',
    collect((text) => [readTimedFault(text)]),
    [],
  )
  .addOption(
    new Option('--kind <kind>', 'kind of cycle; it decides the rule').choices(CycleKind.options).default('line'),
  )
  .addOption(new Option('--condition <id>', 'temperature condition').choices(ConditionId.options).default('ambient'))
  .option('--lot <code>', 'lot code', 'K24-3')
  .option(
    '--due <proof…>',
    'let a proof be due: master-check, calibration',
    collect((text) => [proofId(text)]),
    [],
  )
  .option('--keep', 'write the cycle to the ledger', false)
  .option('--sums', 'print the sum behind every judgement, not only the failed ones', false);
kept(stationOptions(cycleCommand))
  .addHelpText('after', `\n${sufferingHelp()}`)
  .action(async (partNumber: string, options: Given) => {
    const given = {
      ...options,
      barometer: options.barometer ?? options.altitude ?? null,
      profiles: options.profiles ?? null,
    };
    process.exitCode = await cycle(partNumber, given, out, stopOnInterrupt());
  });

const characteriseCommand = program
  .command('characterise')
  .description('measure what every nest of the simulated station does on its own with a part number, and keep it')
  .argument('<part number>', 'as in AQ-1105');
kept(stationOptions(characteriseCommand)).action(async (partNumber: string, options: Given) => {
  const given = {
    ...options,
    barometer: options.barometer ?? options.altitude ?? null,
    profiles: options.profiles ?? null,
  };
  process.exitCode = await characteriseStation(partNumber, given, out, stopOnInterrupt());
});

program
  .command('check')
  .description('read profiles and name everything that is wrong with them: file, line, column, key, what is right')
  .argument('[profiles...]', 'files or folders; the shipped profiles when none is named')
  .option('--json', 'print JSON instead of text', false)
  .action((paths: string[], options: { json: boolean }) => {
    process.exitCode = check(paths.length === 0 ? [shippedProfiles()] : paths, options, out);
  });

kept(
  program
    .command('show')
    .description('show what is kept: the latest cycles, the life of a serial, or one cycle by its id')
    .argument('[serial or cycle]')
    .option('--sums', 'print the sum behind every judgement, not only the failed ones', false),
).action((what: string | undefined, options: { data: string; sums: boolean; json: boolean }) => {
  process.exitCode = show(what, options, out);
});

kept(
  program.command('verify').description('check the whole ledger, byte by byte, and name what is not as it was written'),
).action((options: { data: string; json: boolean }) => {
  process.exitCode = verifyLedger(options, out);
});

program
  .command('demo')
  .description('fill an empty ledger with some weeks of a simulated plant: lots, audits, decisions')
  .option('--data <folder>', 'folder of the ledger', '.barolot')
  .action(async (options: { data: string }) => {
    process.exitCode = await demo(options, out, stopOnInterrupt());
  });

const configured = (command: Command): Command =>
  command.addOption(
    new Option('--config <file>', 'settings file instead of barolot.yaml in this folder').env('BAROLOT_CONFIG'),
  );

configured(
  program
    .command('serve')
    .description('run the stations with their screens, on simulated rigs, and keep what they measure')
    .option('--port <n>', 'port instead of the set one; 0 takes a free one', wholeNumber(0, 65535))
    .option('--data <folder>', 'folder of the ledger instead of the set one')
    .option('--history', 'fill an empty ledger with some weeks of a simulated plant, in the background', false),
).action(async (options: { config?: string; port?: number; data?: string; history: boolean }) => {
  const environment = {
    ...process.env,
    ...(options.port === undefined ? {} : { BAROLOT_PORT: String(options.port) }),
    ...(options.data === undefined ? {} : { BAROLOT_DATA: options.data }),
  };
  await serve(readSettings(options.config ?? null, environment).settings, out, options.history);
});

configured(
  program
    .command('config')
    .description('show every setting of the server, and whether file, environment or nobody said it')
    .option('--json', 'print JSON instead of text', false),
).action((options: { config?: string; json: boolean }) => {
  process.exitCode = showConfig(readSettings(options.config ?? null, process.env), options, out);
});

addCalc(program, out, (exit) => {
  process.exitCode = exit;
});

/** Collects a repeatable option. */
function collect<T>(read: (text: string) => T[]): (text: string, before: T[]) => T[] {
  return (text, before) => [...before, ...read(text)];
}

try {
  await program.parseAsync();
} catch (error) {
  process.exitCode = report(error);
}

/** Says what went wrong and what to do about it; the exit status that it means. */
function report(error: unknown): number {
  if (error instanceof CommanderError) return error.exitCode === 0 ? EXIT.passed : EXIT.wrongUse;
  if (error instanceof WrongUse || error instanceof DemoError) return refuse('wrong-use', error.message, EXIT.wrongUse);
  if (error instanceof SettingsError) return refuse('settings', error.message, EXIT.wrongUse);
  if (error instanceof StationFault) {
    const { says, next } = english.faults[error.code];
    return refuse(error.code, `Not judged: ${says}${factText(error.facts)}. ${next}.`, EXIT.notJudged);
  }
  if (error instanceof StoreError) {
    const exit = WRONG_USES.has(error.code) ? EXIT.wrongUse : EXIT.notJudged;
    return refuse(error.code, `The ledger: ${error.message}${NEXT[error.code] ?? ''}`, exit);
  }
  throw error;
}

/** Whoever asked for JSON reads standard output: there the refusal is a problem document (RFC 9457). */
function refuse(code: string, detail: string, exit: number): number {
  out.aside(detail);
  if (process.argv.includes('--json')) {
    out.json({ problem: { type: `/problems/${code}`, title: 'The command could not be carried out', code, detail } });
  }
  return exit;
}
