import { buildProduct } from '../support/product.ts';
import { killAtRandom } from '../crash/shown-verdicts.ts';

/** Kills of server and station at random instants, with an outside witness of every verdict that was shown. */
export async function killsBench(options: { kills: number; seed: number }): Promise<void> {
  const { kills, seed } = options;
  const built = await buildProduct({ screens: false });
  try {
    const half = Math.ceil(kills / 2);
    const reports = await Promise.all([
      killAtRandom(built, { kills: half, seed }),
      killAtRandom(built, { kills: kills - half, seed: seed + 1 }),
    ]);
    const sum = (of: (report: (typeof reports)[number]) => number): number =>
      reports.reduce((total, report) => total + of(report), 0);
    console.log(
      `kills: ${sum((each) => each.kills.server)} of the server, ${sum((each) => each.kills.station)} of the station, at random instants (SEED=${seed}); ` +
        `${sum((each) => each.records)} cycles kept, ${sum((each) => each.interrupted)} of them cut off; ` +
        `${sum((each) => each.shown)} verdicts shown, ${sum((each) => each.shownPasses)} passes: ` +
        `${sum((each) => each.faults.length)} without an equal record, doubled or left open (wanted 0)`,
    );
    for (const fault of reports.flatMap(({ faults }) => faults).slice(0, 20)) console.log(`  ${fault}`);
  } finally {
    built.remove();
  }
}
