import { spawnSync } from 'node:child_process';
import { Readable } from 'node:stream';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { answer } from '../../../server/cli/calc/answer.ts';
import { calc } from '../../../server/cli/calc/calc.ts';
import { topicHelp } from '../../../server/cli/calc/help.ts';
import type { Calculation, Topic } from '../../../server/cli/calc/topic.ts';
import { topics } from '../../../server/cli/calc/topics.ts';
import { type Compiled, compile } from '../../support/compiled.ts';
import { QUALITY_SETS, qualityCases } from '../../support/quality-cases.ts';

const topicOf = (name: string): Topic => {
  const found = topics.find((each) => each.name === name);
  if (found === undefined) throw new Error(`no topic ${name}`);
  return found;
};

interface Line {
  readonly n?: number;
  readonly mean?: number;
  readonly problem?: {
    readonly type: string;
    readonly title: string;
    readonly code: string;
    readonly detail: string;
    readonly key: string;
    readonly line: number;
    readonly errors: readonly { key: string; detail: string }[];
  };
}

/** Pipes a text through a topic, as the command does with standard input. */
async function pipe(topic: string, text: string) {
  const lines: string[] = [];
  const asides: string[] = [];
  const out = {
    line: (each: string) => void lines.push(each),
    aside: (each: string) => void asides.push(each),
    json: (each: unknown) => void lines.push(JSON.stringify(each)),
  };
  const status = await calc(topicOf(topic), Readable.from([text]), out);
  return { status, lines: lines.map((each) => JSON.parse(each) as Line), asides };
}

describe('inputs on standard input', () => {
  test('one object on one line gives one line', async () => {
    const { status, lines, asides } = await pipe('summary', '{"values":[1,2,3]}');
    expect(status).toBe(0);
    expect(lines).toHaveLength(1);
    expect(lines[0]).toMatchObject({ n: 3, mean: 2 });
    expect(asides).toEqual([]);
  });

  test('one object over several lines is one input', async () => {
    const { status, lines } = await pipe('summary', '{\n  "values": [\n    1, 2, 3\n  ]\n}\n');
    expect(status).toBe(0);
    expect(lines).toHaveLength(1);
    expect(lines[0]).toMatchObject({ n: 3 });
  });

  test.each(['\n', '\r\n'])('one object a line, ended by %j, blank lines between, gives one line each', async (end) => {
    const { status, lines } = await pipe('summary', ['{"values":[1,2]}', '', '{"values":[1,2,3]}', ''].join(end));
    expect(status).toBe(0);
    expect(lines.map(({ n }) => n)).toEqual([2, 3]);
  });

  test.each([
    { where: 'first', at: 1, code: 'not-json' },
    { where: 'in the middle', at: 2, code: 'not-json' },
    { where: 'last', at: 3, code: 'not-json' },
  ])('a broken line $where is named by its number, the others are answered', async ({ at, code }) => {
    const inputs = ['{"values":[1,2]}', '{"values":[1,2,3]}'];
    inputs.splice(at - 1, 0, '{"values":[1,2');
    const { status, lines, asides } = await pipe('summary', inputs.join('\n'));
    expect(status).toBe(3);
    expect(lines).toHaveLength(3);
    expect(lines[at - 1]?.problem).toMatchObject({ code, line: at, type: '/problems/bad-input' });
    expect(lines.flatMap(({ n }) => n ?? [])).toEqual([2, 3]);
    expect(asides.join('\n')).toContain(`summary, line ${at}: not JSON`);
    expect(asides.join('\n')).toContain('1 of 3 inputs could not be used');
  });

  test.each([
    { what: 'one broken object over several lines', text: '{\n  "values": [1,\n NaN]\n}\n', says: 'no NaN' },
    { what: 'several objects over several lines', text: '{\n"values":[1]\n}\n{\n"values":[2]\n}\n', says: 'not JSON' },
    { what: 'single quotes', text: "{'values':[1]}", says: 'double quotes' },
    { what: 'a comma too many', text: '{"values":[1,2,]}', says: 'comma before a closing bracket' },
  ])('$what: one problem, in words', async ({ text, says }) => {
    const { status, lines } = await pipe('summary', text);
    expect(status).toBe(3);
    expect(lines).toHaveLength(1);
    expect(lines[0]?.problem?.detail).toContain(says);
  });

  test.each([
    {
      topic: 'tolerance',
      input: '{"n":5,"coverage":0.9,"confidence":0.9,"mean":1,"sd":1e308}',
      good: '{"n":5,"coverage":0.9,"confidence":0.9}',
    },
    {
      topic: 'gauge',
      input: '{"kind":"type1","reference":1,"readings":[1,1.0000000000000002,1],"tolerance_width":1e300}',
      good: '{"kind":"pooled_sd_from_ss","sums_of_squares":[1],"df":[2]}',
    },
  ])(
    '$topic: an answer beyond the largest number is a problem of its line, the next one is answered',
    async ({ topic, input, good }) => {
      const { status, lines } = await pipe(topic, `${input}\n${good}`);
      expect(status).toBe(3);
      expect(lines).toHaveLength(2);
      expect(lines[0]?.problem?.detail).toContain('beyond the largest number');
      expect(lines[1]?.problem).toBeUndefined();
    },
  );

  test('a byte-order mark is no part of the input', async () => {
    expect((await pipe('summary', '\uFEFF{"values":[1,2,3]}')).lines[0]).toMatchObject({ n: 3 });
  });

  test('an id comes back, with an answer and with a problem', async () => {
    const { lines } = await pipe(
      'summary',
      '{"id":"lot 7","values":[1,2,3]}\n{"id":8,"values":[]}\n{"id":[],"values":[1]}',
    );
    expect(lines[0]).toMatchObject({ id: 'lot 7', n: 3 });
    expect(lines[1]?.problem).toMatchObject({ id: 8, key: 'values' });
    expect(lines[2]?.problem).toMatchObject({ key: 'id' });
  });

  test('nothing at all says what is wanted', async () => {
    const { status, lines, asides } = await pipe('summary', '\n \n');
    expect(status).toBe(3);
    expect(lines).toEqual([]);
    expect(asides.join(' ')).toContain('barolot calc summary --help');
  });
});

describe('an input that cannot be used names its key', () => {
  test.each([
    { topic: 'summary', input: '{}', key: 'values', says: 'values is missing; a list wanted' },
    { topic: 'summary', input: '[1,2,3]', key: '', says: 'a JSON object wanted' },
    { topic: 'summary', input: '7', key: '', says: 'a JSON object wanted' },
    { topic: 'summary', input: '{"values":[]}', key: 'values', says: 'empty' },
    { topic: 'summary', input: '{"values":[1,"2"]}', key: 'values[1]', says: 'a number wanted' },
    { topic: 'summary', input: '{"values":[1,null]}', key: 'values[1]', says: 'a number wanted' },
    { topic: 'summary', input: '{"values":[1,1e999]}', key: 'values[1]', says: 'number' },
    { topic: 'summary', input: '{"values":[1,2],"colour":3}', key: 'colour', says: 'unknown key colour' },
    { topic: 'capability', input: '{"values":[1,2,4],"lsl":3,"usl":2}', key: 'lsl', says: 'not below' },
    { topic: 'risk', input: '{"y":1}', key: 'kind', says: 'kind is missing; one of conformance' },
    { topic: 'risk', input: '{"kind":"nix"}', key: 'kind', says: 'kind is "nix"; one of conformance' },
    { topic: 'distributions', input: '{"function":"t.quantile","p":0.5}', key: 'df', says: 'df' },
    {
      topic: 'capability',
      input: '{"values":[1,2],"lsl":0,"confidence":95}',
      key: 'confidence',
      says: 'confidence is 95; below 1 wanted',
    },
    {
      topic: 'acceptance-tables',
      input: '{"lot_size":100,"level":"II","aql":1.2}',
      key: 'aql',
      says: 'they have 0.010',
    },
    {
      topic: 'sampling',
      input: '{"kind":"plan","N":10,"n":11,"c":0,"p":[0.1],"D":[1]}',
      key: 'n',
      says: 'lot',
    },
  ])('$topic $input: $key', async ({ topic, input, key, says }) => {
    const { status, lines, asides } = await pipe(topic, input);
    expect(status).toBe(3);
    const [line] = lines;
    expect(line?.problem?.title).toBe('The input cannot be used');
    expect(line?.problem?.key).toBe(key);
    expect(line?.problem?.detail).toContain(says);
    expect(line?.problem?.line).toBe(1);
    expect(asides[0]).toContain(line?.problem?.detail);
  });

  test('all that is wrong is said at once', async () => {
    const { lines } = await pipe('summary', '{"values":["a","b"],"x":1}');
    expect(lines[0]?.problem?.errors.map(({ key }) => key)).toEqual(['values[0]', 'values[1]', 'x']);
  });
});

const everyCalculation = topics.flatMap((topic) =>
  topic.calculations.map((each) => [`${topic.name} ${each.kind ?? ''}`.trim(), topic, each] as const),
);

describe('help', () => {
  test('every set of reference values has its topic', () => {
    expect(QUALITY_SETS.filter((name) => !topics.some((each) => each.name === name))).toEqual([]);
  });

  test.each(everyCalculation)(
    '%s: the example works, and every input has a text and every output is explained',
    (_name, topic, each) => {
      const answered = answer(topic, each.example);
      expect('problem' in answered ? answered.problem : null).toBeNull();
      const help = topicHelp(topic);
      for (const key of Object.keys(each.input.shape)) expect(help).toContain(`  ${key}`);
      if ('result' in answered) expect(unexplained(answered.result, each)).toEqual([]);
      expect(each.sources.length).toBeGreaterThan(0);
      for (const line of help.split('\n')) if (!line.includes('echo')) expect(line.length).toBeLessThanOrEqual(110);
    },
  );

  test.each(QUALITY_SETS)('%s: every value that a reference case gets is explained', (name) => {
    const topic = topicOf(name);
    for (const { input } of qualityCases(name)) {
      const answered = answer(topic, input);
      const key = topic.selectBy;
      const asked = topic.calculations.find(({ kind }) => key === null || kind === input[key]);
      if ('result' in answered && asked !== undefined) expect(unexplained(answered.result, asked)).toEqual([]);
    }
  });

  test('a path that no text speaks for is found', () => {
    const each = { outputs: { 'ci.<kind>': 'x', points: 'y' } } as unknown as Calculation;
    expect(unexplained({ ci: { Pp: 1 }, points: [{ p: 1 }] }, each)).toEqual([]);
    expect(unexplained({ ci: 2, more: 3 }, each)).toEqual(['ci', 'more']);
  });
});

/** Paths of an answer for which no output text stands. */
function unexplained(result: object, { outputs }: Calculation): string[] {
  const patterns = Object.keys(outputs).map((path) => path.replaceAll('[]', '').split('.'));
  const explains = (path: readonly string[]): boolean =>
    patterns.some(
      (pattern) => pattern.length <= path.length && pattern.every((step, i) => step === path[i] || /^<.*>$/.test(step)),
    );
  const leaves = (value: unknown, path: readonly string[]): string[] => {
    if (Array.isArray(value) && value.length > 0) return value.flatMap((each) => leaves(each, path));
    // An empty list shows nothing of what it would hold: a text for any of that speaks for it.
    if (Array.isArray(value) && patterns.some((pattern) => path.every((step, i) => step === pattern[i]))) return [];
    if (typeof value === 'object' && value !== null && !Array.isArray(value)) {
      return Object.entries(value).flatMap(([key, each]) => leaves(each, [...path, ...key.split('.')]));
    }
    return explains(path) ? [] : [path.join('.')];
  };
  return [...new Set(leaves(result, []))];
}

describe('the command itself', () => {
  let compiled: Compiled;
  beforeAll(() => {
    compiled = compile(['station', 'server']);
  });
  afterAll(() => {
    compiled.remove();
  });
  const barolot = (words: readonly string[], input = '') => {
    const { status, stdout, stderr } = spawnSync(process.execPath, [compiled.fileOf('server/cli/main.ts'), ...words], {
      encoding: 'utf8',
      input,
    });
    return { status, out: stdout, err: stderr };
  };

  test('answers on standard output and complains on standard error, exit 3 when any line was bad', () => {
    const good = barolot(['calc', 'summary'], '{"values":[1,2,3]}\n');
    expect(good).toMatchObject({ status: 0, err: '' });
    expect(JSON.parse(good.out)).toMatchObject({ n: 3, mean: 2, sd: 1 });
    const bad = barolot(['calc', 'summary'], '{"values":[]}\n{"values":[1,2,3]}\n');
    expect(bad.status).toBe(3);
    expect(bad.out.trim().split('\n')).toHaveLength(2);
    expect(bad.err).toContain('line 1: values is empty');
  });

  test('--list names every topic; --help of a topic explains it; an unknown topic is refused with the list', () => {
    const list = barolot(['calc', '--list']);
    expect(list.status).toBe(0);
    expect(
      list.out
        .trim()
        .split('\n')
        .map((line) => line.split(' ')[0]),
    ).toEqual(topics.map(({ name }) => name));
    const help = barolot(['calc', 'capability', '--help']);
    expect(help.status).toBe(0);
    expect(help.out).toMatch(/Input:[\s\S]*Output:[\s\S]*Sources:[\s\S]*Example:/);
    const unknown = barolot(['calc', 'nix']);
    expect(unknown.status).toBe(3);
    expect(unknown.err).toContain('There is no topic nix');
    expect(unknown.err).toContain('capability');
  });
});
