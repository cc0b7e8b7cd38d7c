import { afterAll, describe, expect, test } from 'vitest';
import { topics } from '../../../server/cli/calc/topics.ts';
import { QUALITY_SETS, compareCase, qualityCases } from '../../support/quality-cases.ts';

const report: string[] = [];

describe.each(QUALITY_SETS)('reference set %s', (name) => {
  const topic = topics.find((each) => each.name === name);
  const tally = { cases: 0, missed: 0, compared: 0, worst: 0 };

  test.each(qualityCases(name).map((given) => [given.id, given.source.slice(0, 100), given] as const))(
    '%s (%s)',
    (_id, _source, given) => {
      if (topic === undefined) throw new Error(`no topic ${name}`);
      const { misses, compared, worst } = compareCase(topic, given);
      tally.cases += 1;
      tally.missed += misses.length > 0 ? 1 : 0;
      tally.compared += compared;
      tally.worst = Math.max(tally.worst, worst);
      expect(misses).toEqual([]);
    },
  );

  afterAll(() => {
    report.push(
      `${name.padEnd(18)} ${String(tally.cases - tally.missed).padStart(4)} of ${String(tally.cases).padStart(3)} cases as expected, ` +
        `${String(tally.compared).padStart(5)} numbers, worst relative error ${tally.worst.toExponential(1)}`,
    );
  });
});

afterAll(() => {
  console.log(`Quality reference values:\n${report.join('\n')}`);
});
