import type { ReadSettings } from '../settings/read.ts';
import { EXIT } from './exit.ts';
import type { Out } from './out.ts';

/** `barolot config`: every setting, what it is and where that was said. */
export function showConfig({ settings, origins, file }: ReadSettings, options: { json: boolean }, out: Out): number {
  const rows = rowsOf(settings);
  const originOf = (key: string): string => {
    const said = [...origins].find(
      ([known]) => known === key || known.startsWith(`${key}.`) || key.startsWith(`${known}.`),
    );
    return said?.[1] ?? 'default';
  };
  if (options.json) {
    out.json({ file, settings, origins: Object.fromEntries(rows.map(([key]) => [key, originOf(key)])) });
    return EXIT.passed;
  }
  out.line(
    file === null
      ? 'No settings file: barolot.yaml in this folder, --config or BAROLOT_CONFIG name one.'
      : `Settings file: ${file}`,
  );
  const width = Math.max(...rows.map(([key]) => key.length));
  for (const [key, value] of rows) out.line(`${key.padEnd(width)}  ${JSON.stringify(value)}  (${originOf(key)})`);
  return EXIT.passed;
}

/** Keys with their values; lists as a whole. */
function rowsOf(tree: object, above = ''): [key: string, value: unknown][] {
  return Object.entries(tree).flatMap(([name, value]: [string, unknown]) => {
    const key = above === '' ? name : `${above}.${name}`;
    return typeof value === 'object' && value !== null && !Array.isArray(value) ? rowsOf(value, key) : [[key, value]];
  });
}
