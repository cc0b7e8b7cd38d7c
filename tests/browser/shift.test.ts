import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { openReader } from '../../server/store/reader.ts';
import { verify } from '../../server/store/verify.ts';
import { english } from '../../station/words/en.ts';
import { asked, openBrowser, openPage, picturedOnFailure, pressSpace, scan } from '../support/browser.ts';
import { Product, buildProduct } from '../support/product.ts';
import type { Built } from '../support/product.ts';
import { shownOn, watchVerdicts } from './witness.ts';
import type { Shown } from './witness.ts';

let built: Built;
let product: Product;
let browser: Browser;
beforeAll(async () => {
  built = await buildProduct();
  product = await Product.start(built, [{ station: 'EOL-1', nests: 2, pace: 8 }]);
  browser = await openBrowser();
}, 120_000);
afterAll(async () => {
  await browser.close();
  await product.remove();
  built.remove();
});

const serial = (running: number): string => `AQ1105-26K24-${String(running).padStart(5, '0')}`;

/** Everything a part can suffer from, with a size that shows; each in turn. */
const SUFFERINGS = [
  ['leak', 2.5],
  ['offset', -3],
  ['span', -4],
  ['slow', 0.2],
  ['noise', 0.02],
  ['stuck', 0.815],
  ['current', 15],
  ['output-open', 0],
  ['output-short-to-ground', 0],
  ['output-short-to-supply', 0],
  ['supply-open', 0],
  ['ground-open', 0],
  ['other-class', 0],
  ['no-part', 0],
] as const;

/** What the scenario, not the operator, does: simulated parts and rig. */
async function simulate(parts: readonly [nest: number, what: string, size: number][], fault?: [string, string | null]) {
  const response = await fetch(`${product.address}/api/stations/EOL-1/line/commands`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({
      type: 'demo',
      parts: parts.map(([nest, what, size]) => ({
        nest,
        what,
        size,
        partNumber: what === 'other-class' ? 'AQ-2105' : null,
      })),
      fault: fault === undefined ? null : { what: fault[0], size: 0, nest: null, phase: fault[1] },
    }),
  });
  expect(response.status).toBe(200);
}

const promptOf = async (page: Page): Promise<string> => (await page.locator('.do').getAttribute('data-prompt')) ?? '';

/** Presses the quiet key of the band by keyboard: Tab to it, Enter. */
async function pressQuiet(page: Page): Promise<void> {
  await page.waitForTimeout(350);
  await page.locator('.do .key.quiet').focus();
  await page.keyboard.press('Enter');
}

/** Waits until the test is over and whatever it asks for stands in the band. */
async function verdicts(page: Page): Promise<string> {
  await page.locator('.do[data-prompt="testing"]').waitFor();
  await page
    .locator('.do:not([data-prompt="testing"]):not([data-prompt="stopping"]):not([data-prompt="station-lost"])')
    .waitFor({ timeout: 30_000 });
  return promptOf(page);
}

/** Does with each part what the band says until the next load may be scanned. */
async function settle(page: Page): Promise<void> {
  let repeats = 0;
  for (;;) {
    // Ends with the next load: a repeat is made once.
    const prompt = await promptOf(page);
    if (prompt === 'scan') return;
    if (prompt === 'close-guard') {
      // It was closed: the rig at rest is looked at twice a second.
      await page.locator('.do:not([data-prompt="close-guard"])').waitFor();
      continue;
    }
    const before = await page.locator('.do').evaluate((band) => band.outerHTML);
    if (prompt === 'reject' || prompt === 'read-verdicts') await pressSpace(page);
    else if ((prompt === 'fault' || prompt === 'not-judged') && repeats === 0) {
      repeats += 1;
      await page.locator('.do .key:not(.quiet)').waitFor();
      await pressSpace(page);
      await verdicts(page);
      continue;
    } else if (prompt === 'fault' || prompt === 'not-judged') await pressQuiet(page);
    else throw new Error(`nobody knows what to do about ${prompt}`);
    await page.waitForFunction((was) => document.querySelector('.do')?.outerHTML !== was, before);
  }
}

test('a shift of 50 loads by keyboard and scanner: all part faults, station faults, restarts; nothing lost, nothing doubled', async () => {
  const { page, complaints } = await openPage(browser);
  await watchVerdicts(page);
  await page.goto(`${product.address}/line/EOL-1`);

  // The work: name, part number by arrow keys, lot by scanner.
  await page.locator('form.setup input').first().waitFor();
  await page.keyboard.type('R. Tamm');
  await page.keyboard.press('Enter');
  await page.keyboard.press('Space');
  await page.keyboard.press('Enter');
  await scan(page, 'K24-3');
  await asked(page, 'characterise');
  await pressSpace(page);
  await asked(page, 'masters-due', 60_000);
  await pressSpace(page);

  let running = 0;
  const tested: string[] = [];
  const shown = new Map<string, Shown>();
  const collect = async (): Promise<void> => {
    for (const each of await shownOn(page)) shown.set(`${each.cycle} ${each.serial} ${each.word}`, each);
  };
  const runLoad = async (load: number): Promise<void> => {
    await asked(page, 'scan');
    const suffering = SUFFERINGS[load];
    const nest = (load % 2) + 1;
    if (suffering !== undefined) await simulate([[nest, suffering[0], suffering[1]]]);
    if (load === 16) await simulate([], ['air-lost', 'fill']);
    if (load === 18) await simulate([], ['guard-open', 'stabilise']);
    if (load === 26) {
      // A part that passed is not tested again; one of another part number is not even tried.
      await scan(page, serial(31));
      await page.locator('.do[data-refusal="passed-already"]').waitFor();
      await scan(page, 'AQ2105-26K24-00001');
      await page.locator('.do[data-refusal="other-part-number"]').waitFor();
    }
    // The part that leaked is tested once more.
    const first = load === 28 ? serial(1) : serial((running += 1));
    const isOdd = load === 33;
    const second = isOdd ? null : serial((running += 1));
    await scan(page, first);
    await page.locator('[data-nest="1"][data-state="loaded"]').waitFor();
    if (second === null) await pressQuiet(page);
    else await scan(page, second, load % 3 === 0 ? 'Tab' : 'Enter');
    tested.push(first, ...(second === null ? [] : [second]));
    await asked(page, 'start');
    await pressSpace(page);
    if (load === 22) {
      await page.locator('[data-phase="stabilise"]').waitFor();
      await product.kill();
      await collect();
      await product.restart();
      await asked(page, 'read-verdicts', 30_000);
    } else if (load === 24) {
      await page.locator('[data-phase="stabilise"]').waitFor();
      product.killStation('EOL-1');
      await asked(page, 'fault', 30_000);
    } else await verdicts(page);
    if (load === 16 || load === 18) {
      await collect();
      // The air is back; the guard is closed.
      await simulate([]);
    }
    await settle(page);
    await collect();
  };
  for (let load = 0; load < 50; load += 1) await picturedOnFailure(page, `shift-load-${load}`, () => runLoad(load));
  const counts = await page.locator('.counts').innerText();
  await page.context().close();
  expect(complaints).toEqual([]);
  expect(await product.stop()).toBe(0);

  const reader = openReader(product.ledger);
  try {
    const kept = [...reader.latest(1000)].map(({ record }) => record);
    const results = kept.flatMap(({ measurement, circumstances }) =>
      measurement.results.map(({ serial: of, verdict }) => ({ cycle: circumstances.cycle, serial: of, verdict })),
    );
    // Every verdict that was ever on the screen is the ledger's, in its own word.
    expect(shown.size).toBeGreaterThan(100);
    for (const { cycle, serial: of, verdict, word } of shown.values()) {
      expect(results).toContainEqual({ cycle, serial: of, verdict });
      expect(word).toBe(english.line.verdicts[verdict as 'pass']);
    }
    // And nothing of the ledger was kept from the person.
    for (const { cycle, serial: of, verdict } of results)
      expect(
        [...shown.values()].some((each) => each.cycle === cycle && each.serial === of && each.verdict === verdict),
      ).toBe(true);
    expect(new Set(kept.map(({ circumstances }) => circumstances.cycle)).size).toBe(kept.length);
    expect(new Set(results.map(({ serial: of }) => of))).toEqual(new Set(tested));
    expect(reader.unfinished()).toEqual([]);

    // Each part for its own reason.
    const reasons = new Set(
      kept.flatMap(({ measurement }) =>
        measurement.results.flatMap(({ why }) => (why[0] === undefined ? [] : [why[0].code])),
      ),
    );
    for (const code of [
      'leak',
      'reads-low',
      'slow',
      'noisy',
      'stuck',
      'current-high',
      'output-at-ground',
      'output-at-supply',
      'ground-open',
      'other-class',
      'no-contact',
      'air-lost',
      'guard-open',
      'interrupted',
    ])
      expect([code, reasons.has(code)]).toEqual([code, true]);
    // Not judged: a machine that stood still for half a second had to repeat it.
    const verdicts = reader.historyOf(serial(1)).map(({ verdict }) => verdict);
    const retested = verdicts.filter((verdict) => verdict !== 'none');
    expect(retested).toEqual(['fail', 'fail']);

    const tally = (verdict: string): number => results.filter((each) => each.verdict === verdict).length;
    expect(counts.replace(/\s+/g, ' ')).toContain(
      `Tested ${tally('pass') + tally('fail')} good ${tally('pass')} rejected ${tally('fail')} not judged ${tally('none')}`,
    );
  } finally {
    reader.close();
  }
  expect(verify(product.ledger).problems).toEqual([]);
}, 600_000);
