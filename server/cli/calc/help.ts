import * as z from 'zod';
import type { Calculation, Topic } from './topic.ts';

const WIDTH = 110;

/** The list of topics, a line each. */
export function topicList(topics: readonly Topic[]): string {
  const width = Math.max(...topics.map(({ name }) => name.length));
  return topics.map(({ name, about }) => `${name.padEnd(width)}  ${about}`).join('\n');
}

/** What `barolot calc <topic> --help` says below the usage: inputs, outputs, sources, an example for each kind. */
export function topicHelp(topic: Topic): string {
  const several =
    topic.selectBy === null ? [] : [`Kinds of input, chosen by the key "${topic.selectBy}":`, ...kinds(topic)];
  return ['', ...several, ...topic.calculations.flatMap((each) => calculationHelp(topic, each))].join('\n');
}

function kinds({ calculations }: Topic): string[] {
  const width = Math.max(...calculations.map(({ kind }) => (kind ?? '').length));
  return calculations.flatMap(({ kind, about }) =>
    entry(`  ${(kind ?? '').padEnd(width)}  `, about.split(/(?<=\.)\s/)[0] ?? ''),
  );
}

function calculationHelp(
  { name, selectBy }: Topic,
  { kind, about, input, outputs, sources, example }: Calculation,
): string[] {
  const heading = selectBy === null ? [] : ['', `== ${selectBy} "${kind ?? ''}"`];
  return [
    ...heading,
    ...entry('', about),
    '',
    'Input:',
    ...table(Object.entries(inputTexts(input))),
    'Output:',
    ...table(Object.entries(outputs)),
    'Sources:',
    ...sources.flatMap((each) => entry('  ', each)),
    'Example:',
    `  echo '${JSON.stringify(example)}' | barolot calc ${name}`,
  ];
}

function table(rows: readonly (readonly [string, string])[]): string[] {
  const width = Math.min(34, Math.max(...rows.map(([name]) => name.length)));
  return rows.flatMap(([name, text]) => entry(`  ${name.padEnd(width)}  `, text));
}

/** A text behind a lead, wrapped, further lines under the first. */
function entry(lead: string, text: string): string[] {
  const room = WIDTH - lead.length;
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(/\s+/)) {
    if (line !== '' && line.length + 1 + word.length > room) {
      lines.push(line);
      line = word;
    } else {
      line = line === '' ? word : `${line} ${word}`;
    }
  }
  lines.push(line);
  return lines.map((each, at) => (at === 0 ? lead : ' '.repeat(lead.length)) + each);
}

interface JsonSchema {
  readonly type?: string | readonly string[];
  readonly const?: unknown;
  readonly enum?: readonly unknown[];
  readonly anyOf?: readonly JsonSchema[];
  readonly items?: JsonSchema;
  readonly description?: string;
  readonly default?: unknown;
  readonly minimum?: number;
  readonly maximum?: number;
  readonly exclusiveMinimum?: number;
  readonly exclusiveMaximum?: number;
  readonly properties?: Readonly<Record<string, JsonSchema>>;
  readonly required?: readonly string[];
}

function inputTexts(input: z.ZodObject): Record<string, string> {
  const schema = z.toJSONSchema(input, { io: 'input' }) as JsonSchema;
  const required = new Set(schema.required ?? []);
  return Object.fromEntries(
    Object.entries(schema.properties ?? {}).map(([key, each]) => {
      const { description, default: byDefault } = each;
      const missing =
        byDefault === undefined || byDefault === null ? 'may be left out' : `left out: ${JSON.stringify(byDefault)}`;
      const text = description === undefined ? typeText(each) : `${typeText(each)}: ${description}`;
      return [key, required.has(key) ? text : `${text} (${missing})`];
    }),
  );
}

function typeText(schema: JsonSchema): string {
  if (schema.const !== undefined) return JSON.stringify(schema.const);
  if (schema.enum !== undefined) return schema.enum.map((each) => JSON.stringify(each)).join(' or ');
  if (schema.anyOf !== undefined) return schema.anyOf.map(typeText).join(' or ');
  if (schema.type === 'array') return `list of ${schema.items === undefined ? 'anything' : plural(schema.items)}`;
  if (schema.type === 'object') {
    const inner = Object.entries(schema.properties ?? {}).map(([key, each]) => `${key}: ${typeText(each)}`);
    return inner.length === 0 ? 'object' : `{${inner.join(', ')}}`;
  }
  if (schema.type === 'integer' || schema.type === 'number') return numberText(schema);
  if (Array.isArray(schema.type)) return schema.type.map((type: string) => typeText({ ...schema, type })).join(' or ');
  return String(schema.type ?? 'anything');
}

function plural(schema: JsonSchema): string {
  if (schema.type === 'number') return 'numbers';
  if (schema.type === 'integer') return 'whole numbers';
  if (schema.type === 'string') return 'strings';
  if (schema.type === 'array') return `lists of ${schema.items === undefined ? 'anything' : plural(schema.items)}`;
  return typeText(schema);
}

function numberText({ type, minimum, maximum, exclusiveMinimum, exclusiveMaximum }: JsonSchema): string {
  const said = (bound: number | undefined): bound is number =>
    bound !== undefined && Math.abs(bound) < Number.MAX_SAFE_INTEGER;
  const bounds = [
    ...(said(exclusiveMinimum) ? [`above ${exclusiveMinimum}`] : []),
    ...(said(minimum) ? [`${minimum} or more`] : []),
    ...(said(exclusiveMaximum) ? [`below ${exclusiveMaximum}`] : []),
    ...(said(maximum) ? [`${maximum} or less`] : []),
  ];
  const name = type === 'integer' ? 'whole number' : 'number';
  return bounds.length === 0 ? name : `${name}, ${bounds.join(', ')}`;
}
