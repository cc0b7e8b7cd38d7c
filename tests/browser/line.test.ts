import type { Browser, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, test, vi } from 'vitest';
import type { Snapshot } from '../../server/line/contract.ts';
import { outputAt } from '../../station/profile/transfer.ts';
import { accessibilityFaults, asked, openBrowser, openPage, pressSpace, scan } from '../support/browser.ts';
import { Product, buildProduct } from '../support/product.ts';
import type { Built } from '../support/product.ts';
import { sheet } from '../support/published-parts.ts';

/** The line screen in a real browser over the real program: read, measured, walked through by keyboard. */

vi.setConfig({ testTimeout: 120_000 });

/** The panel has 1280 px on 217 mm (shared look of the screens; to be measured once on a real panel). */
const PX_PER_MM = 1280 / 217;

let built: Built;
let product: Product;
let browser: Browser;
let page: Page;
let complaints: string[];
beforeAll(async () => {
  built = await buildProduct();
  product = await Product.start(built, [
    { station: 'EOL-1', nests: 2, pace: 10 },
    { station: 'EOL-4', nests: 4, rigSeed: 3, pace: 10 },
  ]);
  browser = await openBrowser();
}, 120_000);
afterAll(async () => {
  await browser.close();
  await product.remove();
  built.remove();
});
beforeEach(async () => {
  ({ page, complaints } = await openPage(browser));
});
afterEach(async () => {
  await page.context().close();
  expect(complaints).toEqual([]);
});

let running = 0;
const serial = (): string => `AQ1105-26K24-${String((running += 1)).padStart(5, '0')}`;

const command = async (station: string, body: object): Promise<number> => {
  const response = await fetch(`${product.address}/api/stations/${station}/line/commands`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(body),
  });
  return response.status;
};

/** Brings a station to where the next load begins, whatever the test before left. */
async function calm(station: string): Promise<void> {
  for (let step = 0; step < 60; step += 1) {
    const response = await fetch(`${product.address}/api/stations/${station}/line`);
    const { view } = (await response.json()) as Snapshot;
    const loaded = view.nests.find(({ state }) => state === 'loaded');
    const empty = view.nests.find(({ state }) => state === 'empty');
    const { code, quiet, key } = view.prompt;
    if (code === 'testing' || code === 'stopping' || code === 'station-starting') await page.waitForTimeout(200);
    else if (code === 'reject' || code === 'read-verdicts') await command(station, key?.command ?? {});
    else if (code === 'fault' || code === 'not-judged') await command(station, (quiet ?? key)?.command ?? {});
    else if (loaded !== undefined) await command(station, { type: 'take-out', nest: loaded.nest });
    else if (empty !== undefined) await command(station, { type: 'leave-empty', nest: empty.nest });
    else return;
  }
}

/** Opens the screen of a station whose work is set up and proved. */
async function open(station = 'EOL-1'): Promise<void> {
  await calm(station);
  await page.goto(`${product.address}/line/${station}`);
  await page.locator('.do[data-prompt]').waitFor();
  const prompt = await page.locator('.do').getAttribute('data-prompt');
  if (prompt !== 'choose-work') return;
  await command(station, { type: 'setup', operator: 'R. Tamm', partNumber: 'AQ-1105', lot: 'K24-3' });
  await asked(page, 'characterise');
  await pressSpace(page);
  await asked(page, 'masters-due', 60_000);
  await pressSpace(page);
  await asked(page, 'scan');
}

async function testLoad(nests = 2): Promise<void> {
  for (let nest = 1; nest <= nests; nest += 1) {
    await scan(page, serial());
    await page.locator(`[data-nest="${nest}"][data-state="loaded"]`).waitFor();
  }
  await asked(page, 'start');
  await pressSpace(page);
  await asked(page, 'testing');
  await page.locator('.do:not([data-prompt="testing"])').waitFor({ timeout: 30_000 });
  // A machine that stands still for half a second is a fault of the station, and the same parts are tested again.
  for (let again = 0; again < 3 && (await page.locator('.do[data-prompt="fault"]').count()) > 0; again += 1) {
    await pressSpace(page);
    await asked(page, 'testing');
    await page.locator('.do:not([data-prompt="testing"])').waitFor({ timeout: 30_000 });
  }
}

const suffer = (station: string, parts: readonly [nest: number, what: string, size: number][]): Promise<number> =>
  command(station, {
    type: 'demo',
    parts: parts.map(([nest, what, size]) => ({ nest, what, size, partNumber: null })),
    fault: null,
  });

test('the output at each point is shown as the published sheet has it: Vs (0.009 P - 0.095), MPXA6115A', async () => {
  await open();
  await suffer('EOL-1', [
    [1, 'offset', 0],
    [1, 'span', 0],
  ]);
  await testLoad();
  const table = page.locator('table.bars[data-nest="1"]');
  for (const kPa of [80, 60, 40, 20]) {
    const shown = await table.locator(`tr[data-step="${kPa}-kpa"] .i`).innerText();
    // A simulated part keeps a bow of up to a fifteenth of its error band, 0.1 kPa, and the instruments their own errors.
    expect(Math.abs(Number(shown) - outputAt(sheet('MPXA6115A'), kPa, 5))).toBeLessThan(0.006);
    expect(await table.locator(`tr[data-step="${kPa}-kpa"] .u`).innerText()).toBe('V');
  }
});

describe('what is read from afar is large enough', () => {
  test('a verdict has capitals of 20 mm, 1/200 of 4 m; what must be read at arm’s length 5 mm', async () => {
    await open();
    await suffer('EOL-1', [[2, 'leak', 2.5]]);
    await testLoad();
    await asked(page, 'reject');
    const capitalMm = (selector: string): Promise<number> =>
      page
        .locator(selector)
        .first()
        .evaluate((element, perMm) => {
          const style = getComputedStyle(element);
          const context = document.createElement('canvas').getContext('2d');
          if (context === null) return 0;
          context.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
          return context.measureText('H').actualBoundingBoxAscent / perMm;
        }, PX_PER_MM);
    expect(await capitalMm('[data-verdict="pass"] .word')).toBeGreaterThanOrEqual(20);
    expect(await capitalMm('[data-verdict="fail"] .word')).toBeGreaterThanOrEqual(20);
    expect(await capitalMm('.do p')).toBeGreaterThanOrEqual(5);
    expect(await capitalMm('[data-verdict="fail"] .why')).toBeGreaterThanOrEqual(5);
    // Nothing on the line screen is smaller than what is read when leaning in.
    const smallest = await page.evaluate(() =>
      Math.min(
        ...[...document.querySelectorAll('.line-screen *')]
          .filter(
            (element) =>
              element.childElementCount === 0 && element.textContent.trim() !== '' && element.closest('.away') === null,
          )
          .map((element) => Number.parseFloat(getComputedStyle(element).fontSize)),
      ),
    );
    expect(smallest).toBeGreaterThanOrEqual(20);
    await pressSpace(page);
    await asked(page, 'scan');
  });

  test('keys are 15 mm high for a gloved finger, and nothing of the screen lies outside the panel', async () => {
    await open();
    const key = await page.locator('.do .key').first().boundingBox();
    expect(key?.height ?? 0).toBeGreaterThanOrEqual(13 * PX_PER_MM);
    // What a finger meets counts, not what is drawn: keys of the heading reach into the stripe above them.
    const reach = await page.locator('nav .quiet-key').evaluateAll((buttons) =>
      buttons.map((button) => {
        const { x, width } = button.getBoundingClientRect();
        const rows = Array.from({ length: 200 }, (_, y) => document.elementFromPoint(x + width / 2, y));
        return rows.filter((element) => element !== null && button.contains(element)).length;
      }),
    );
    expect(reach).toHaveLength(3);
    for (const px of reach) expect(px).toBeGreaterThanOrEqual(14 * PX_PER_MM);
    const overflow = await page.evaluate(() => ({
      right: document.documentElement.scrollWidth - window.innerWidth,
      down: document.documentElement.scrollHeight - window.innerHeight,
    }));
    expect(overflow).toEqual({ right: 0, down: 0 });
  });
});

/** Texts of the screen that are cut off by the room they stand in. */
const cutOff = (): Promise<string[]> =>
  page.evaluate(() =>
    [...document.querySelectorAll('.do p, .safe, .why, .why small, .word, .small-key, .key')].flatMap((element) => {
      const { right } = element.getBoundingClientRect();
      const room = element.closest('section, .do, .safe, form')?.getBoundingClientRect().right ?? right;
      return element.scrollWidth > element.clientWidth + 1 || right > room + 1 ? [element.textContent] : [];
    }),
  );

describe('what a person did by mistake', () => {
  test('a second press of the space bar does not stop the test that the first started; Escape does, from any field', async () => {
    await open();
    for (const nest of [1, 2]) {
      await scan(page, serial());
      await page.locator(`[data-nest="${nest}"][data-state="loaded"]`).waitFor();
    }
    await asked(page, 'start');
    await pressSpace(page);
    await asked(page, 'testing');
    await page.waitForTimeout(350);
    await page.keyboard.press('Space');
    await page.keyboard.press('F2');
    await page.locator('.demo select').first().focus();
    expect(await page.locator('.do').getAttribute('data-prompt')).toBe('testing');
    await page.keyboard.press('Escape');
    await asked(page, 'fault');
    const response = await fetch(`${product.address}/api/stations/EOL-1/line`);
    const { view } = (await response.json()) as Snapshot;
    expect(view.outcome?.faults.map(({ code }) => code)).toEqual(['operator-stop']);
  });

  test('a scan that is refused looks like no step of the work, and says so until something else is asked for', async () => {
    await open();
    await scan(page, 'hello');
    await page.locator('.do.refused[data-refusal="not-a-serial"]').waitFor();
    expect(await cutOff()).toEqual([]);
    expect(await accessibilityFaults(page)).toEqual([]);
    await scan(page, serial());
    await page.locator('.do:not(.refused)').waitFor();
  });

  test('what is too long to be taken is said, and nothing of it is done', async () => {
    await open();
    await scan(page, 'A'.repeat(250));
    await page.locator('.do[data-refusal="not-accepted"]').waitFor();
  });

  test('a change of the name keeps the part number that is chosen', async () => {
    await open();
    await page.getByRole('button', { name: 'Work' }).click();
    await page.locator('input[value="AQ-1107"]').check();
    await page.locator('.setup input').first().fill('K. Saar');
    await page.keyboard.press('Enter');
    await page.keyboard.press('Enter');
    expect(await page.locator('.choices input:checked').inputValue()).toBe('AQ-1107');
    await page.keyboard.press('Escape');
    await page.getByRole('button', { name: 'Back' }).click();
  });

  test('a demo key gives the space bar back', async () => {
    await open();
    await page.keyboard.press('F2');
    for (let part = 0; part < 2; part += 1) {
      await page.locator('.demo button').first().focus();
      await page.keyboard.press('Enter');
      await page.locator(`[data-nest="${part + 1}"][data-state="loaded"]`).waitFor();
    }
    await pressSpace(page);
    await asked(page, 'testing');
    await page.locator('.do:not([data-prompt="testing"])').waitFor({ timeout: 30_000 });
  });
});

test.each(['en', 'es'])(
  '%s: pressure and what to do about a stopped nest are whole, in the longest unit',
  async (language) => {
    await page.addInitScript((to) => {
      localStorage.setItem(
        'barolot.preferences',
        JSON.stringify({ language: to, unit: 'inHg', isBelowAmbient: true, theme: 'light' }),
      );
    }, language);
    for (let times = 0; times < 3; times += 1) {
      await open();
      await command('EOL-1', {
        type: 'demo',
        parts: [{ nest: 1, what: 'no-part', size: 0, partNumber: null }],
        fault: null,
      });
      await testLoad();
      expect(await cutOff()).toEqual([]);
      await calm('EOL-1');
    }
    const stopped = page.locator('[data-nest="1"][data-state="locked"]');
    await stopped.waitFor();
    expect(await cutOff()).toEqual([]);
    expect(await stopped.locator('.small-key').isVisible()).toBe(true);
    await scan(page, serial());
    await asked(page, 'start');
    await pressSpace(page);
    await page.locator('.safe[data-pressure="present"]').waitFor();
    expect(await cutOff()).toEqual([]);
    await page.locator('.do:not([data-prompt="testing"])').waitFor({ timeout: 30_000 });
    await calm('EOL-1');
    await command('EOL-1', { type: 'unlock', nest: 1, name: 'K. Saar', found: 'contact pin replaced' });
  },
);

describe('an accessibility scanner finds nothing (WCAG 2.2 A and AA)', () => {
  test.each(['light', 'dark'])('%s: scan, demo, settings, verdicts', async (theme) => {
    await page.addInitScript((to) => {
      localStorage.setItem('barolot.preferences', JSON.stringify({ theme: to }));
    }, theme);
    await open();
    expect(await accessibilityFaults(page)).toEqual([]);
    await page.keyboard.press('F2');
    await page.locator('.demo').waitFor();
    expect(await accessibilityFaults(page)).toEqual([]);
    await page.keyboard.press('F2');
    await suffer('EOL-1', [[2, 'offset', -3]]);
    await testLoad();
    await asked(page, 'reject');
    expect(await accessibilityFaults(page)).toEqual([]);
    await pressSpace(page);
    await asked(page, 'scan');
  });

  test('the form of the work, and four nests with a fault between them', async () => {
    await open('EOL-4');
    await page.getByRole('button', { name: 'Work' }).click();
    await page.locator('form.setup').waitFor();
    expect(await accessibilityFaults(page)).toEqual([]);
    await page.getByRole('button', { name: 'Back' }).click();
    await suffer('EOL-4', [
      [2, 'leak', 2.5],
      [3, 'no-part', 0],
    ]);
    await testLoad(4);
    await asked(page, 'reject');
    expect(await accessibilityFaults(page)).toEqual([]);
    await pressSpace(page);
  });
});

describe('by keyboard alone', () => {
  test('every key can be reached by Tab, in the order in which it is read, with a focus that is seen', async () => {
    await open();
    await scan(page, serial());
    await page.locator('[data-nest="1"][data-state="loaded"]').waitFor();
    const walked: string[] = [];
    for (let step = 0; step < 12; step += 1) {
      await page.keyboard.press('Tab');
      const here = await page.evaluate(() => {
        const element = document.activeElement;
        if (element === null || element === document.body) return null;
        return { name: element.textContent.trim(), outline: getComputedStyle(element).outlineStyle };
      });
      if (here === null) break;
      expect(here.outline).toBe('solid');
      walked.push(here.name);
    }
    expect(walked.slice(0, 5)).toEqual(['Work', 'Demo F2', 'kPa · EN Settings', 'Leave 2 empty', 'Take out']);
    await page.keyboard.press('Enter');
  });

  test('a scanner’s suffix starts nothing, the space bar rests after a scan, and then starts', async () => {
    await open();
    for (const nest of [1, 2]) {
      await scan(page, serial(), nest === 1 ? 'Tab' : 'Enter');
      await page.locator(`[data-nest="${nest}"][data-state="loaded"]`).waitFor();
    }
    await asked(page, 'start');
    await page.keyboard.press('Enter');
    await page.keyboard.press('Tab');
    await page.evaluate(() => {
      if (document.activeElement instanceof HTMLElement) document.activeElement.blur();
    });
    expect(await page.locator('.do').getAttribute('data-prompt')).toBe('start');
    await pressSpace(page);
    await asked(page, 'testing');
    await page.keyboard.press('Escape');
    await asked(page, 'fault');
    await page.locator('.do .key:not(.quiet)').waitFor();
    await page.locator('.do .key.quiet').focus();
    await page.waitForTimeout(350);
    await page.keyboard.press('Enter');
    await asked(page, 'scan');
  });
});

test('units and language follow the person, and are kept', async () => {
  await open();
  await page.getByRole('button', { name: /kPa/ }).click();
  await page.getByRole('button', { name: 'psi' }).click();
  await page.getByRole('button', { name: 'Español' }).click();
  await page.reload();
  await page.locator('.safe .m').waitFor();
  expect(await page.locator('.safe .m').innerText()).toMatch(/^14,\d\d psi abs, medido ahora$/);
  expect(await page.locator('html').getAttribute('lang')).toBe('es');
  expect(await page.locator('.do p').innerText()).toContain('Cargue el nido 1');
});

test('a station that is not there says so, and shows the way back', async () => {
  await page.goto(`${product.address}/line/EOL-9`);
  await page.getByText('There is no station EOL-9 here.').waitFor();
  await page.getByRole('link', { name: 'All stations' }).click();
  await page.getByText('EOL-1').first().waitFor();
});
