import { answer } from '../../server/cli/calc/answer.ts';
import { topics } from '../../server/cli/calc/topics.ts';
import { QUALITY_SETS, qualityCases } from '../support/quality-cases.ts';
import { cpuMs, median } from './timing.ts';

const ROUNDS = 5;

/**
 * What an answer of each topic costs: CPU of answering every case of its reference set, over reading and writing the
 * same JSON alone, which is the least that a command in a pipe can do. Medians of rounds in turn.
 */
export function topicsBench(): void {
  console.log('An answer of each topic, CPU over reading its input and writing its output as JSON:');
  for (const name of QUALITY_SETS) {
    const topic = topics.find((each) => each.name === name);
    if (topic === undefined) throw new Error(`no topic ${name}`);
    const inputs = qualityCases(name).map(({ input }) => JSON.stringify(input));
    const bare: number[] = [];
    const whole: number[] = [];
    for (let round = 0; round <= ROUNDS; round += 1) {
      const results: object[] = [];
      const answered = cpuMs(() => {
        for (const input of inputs) results.push(answer(topic, JSON.parse(input)));
      });
      const read = cpuMs(() => {
        for (const [i, input] of inputs.entries()) JSON.stringify([JSON.parse(input), results[i]]);
      });
      // The first round compiles the code.
      if (round === 0) continue;
      whole.push(answered);
      bare.push(read);
    }
    const each = (1000 * median(whole)) / inputs.length;
    console.log(
      `  ${name.padEnd(18)} ${(median(whole) / median(bare)).toFixed(1).padStart(7)} x  ` +
        `(${each.toFixed(0).padStart(6)} us each, ${inputs.length} cases)`,
    );
  }
}
