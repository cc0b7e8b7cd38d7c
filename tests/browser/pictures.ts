import { copyFileSync, mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { PANEL, asked, openBrowser, openPage, pressSpace, scan } from '../support/browser.ts';
import { Product, buildProduct } from '../support/product.ts';

/**
 * `npm run pictures`: every state of the line screen as a picture, taken from the running program at both sizes, light
 * and dark, into .build/pictures. One of them is the README's.
 */
const OUT = '.build/pictures';
const LARGE = { width: 1920, height: 1080 };
const README_PICTURE = 'web/pictures/line-verdict.png';

mkdirSync(OUT, { recursive: true });
const built = await buildProduct();
const product = await Product.start(built, [
  { station: 'EOL-1', nests: 2 },
  { station: 'EOL-2', nests: 1, rigSeed: 2, pace: 8 },
  { station: 'EOL-4', nests: 4, rigSeed: 3, pace: 8 },
  { station: 'LAB-1', nests: 8, rigSeed: 4, chamber: true, pace: 8 },
]);
const browser = await openBrowser();

async function command(station: string, body: object): Promise<void> {
  await fetch(`${product.address}/api/stations/${station}/line/commands`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(body),
  });
}

const demo = (station: string, parts: [nest: number, what: string, size: number][], fault: object | null = null) =>
  command(station, {
    type: 'demo',
    parts: parts.map(([nest, what, size]) => ({
      nest,
      what,
      size,
      partNumber: what === 'other-class' ? 'AQ-2105' : null,
    })),
    fault,
  });

const struck = (what: string, phase: string | null) => ({ what, size: 0, nest: null, phase });

/** Takes the picture at both sizes in both themes. */
async function picture(page: Page, name: string, sizes = [PANEL, LARGE]): Promise<void> {
  for (const size of sizes) {
    await page.setViewportSize(size);
    for (const theme of ['light', 'dark']) {
      await page.evaluate((to) => {
        document.documentElement.dataset['theme'] = to;
      }, theme);
      await page.screenshot({ path: join(OUT, `${name}-${size.width}-${theme}.png`) });
    }
  }
  await page.evaluate(() => {
    document.documentElement.dataset['theme'] = 'light';
  });
  await page.setViewportSize(PANEL);
}

async function setUp(page: Page, station: string, lot = 'K24-3'): Promise<void> {
  await page.goto(`${product.address}/line/${station}`);
  await page.locator('form.setup').waitFor();
  await command(station, { type: 'setup', operator: 'R. Tamm', partNumber: 'AQ-1105', lot });
  await asked(page, 'characterise');
  await pressSpace(page);
  await asked(page, 'masters-due', 60_000);
  await pressSpace(page);
  await asked(page, 'scan');
}

let running = 700;
const nextSerial = (): string => `AQ1105-26K24-${String((running += 1)).padStart(5, '0')}`;

async function loadAll(page: Page, nests: number): Promise<void> {
  for (let nest = 1; nest <= nests; nest += 1) {
    await scan(page, nextSerial());
    await page.locator(`[data-nest="${nest}"][data-state="loaded"]`).waitFor();
  }
  await asked(page, 'start');
}

async function test(page: Page): Promise<void> {
  await pressSpace(page);
  await asked(page, 'testing');
  await page.locator('.do:not([data-prompt="testing"])').waitFor({ timeout: 30_000 });
  await page.waitForTimeout(800);
}

const { page } = await openPage(browser);
await page.goto(`${product.address}/line/EOL-1`);
await page.locator('form.setup').waitFor();
await page.waitForTimeout(700);
await picture(page, '01-choose-work');
await command('EOL-1', { type: 'setup', operator: 'R. Tamm', partNumber: 'AQ-1105', lot: 'K24-3' });
await asked(page, 'characterise');
await picture(page, '02-learn', [PANEL]);
await pressSpace(page);
await asked(page, 'masters-due', 60_000);
await picture(page, '03-masters-due', [PANEL]);
await pressSpace(page);
await asked(page, 'scan');
await page.waitForTimeout(400);
await picture(page, '04-scan');
await scan(page, nextSerial());
await page.locator('[data-nest="1"][data-state="loaded"]').waitFor();
await page.keyboard.type('AQ1105-26', { delay: 90 });
await picture(page, '05-typing', [PANEL]);
await page.keyboard.press('Escape');
await scan(page, 'AQ2105-26K24-00009');
await page.locator('.do[data-refusal="other-part-number"]').waitFor();
await picture(page, '06-refused', [PANEL]);
await page.keyboard.press('F2');
await page.locator('.demo').waitFor();
await page.waitForTimeout(400);
await picture(page, '07-demo', [PANEL]);
await page.keyboard.press('F2');
await demo('EOL-1', [[2, 'leak', 2.5]]);
await scan(page, nextSerial());
await asked(page, 'start');
await picture(page, '08-start', [PANEL]);
await pressSpace(page);
await page.locator('[data-phase="measure"]').waitFor();
await picture(page, '09-leak-hold');
await page.locator('[data-phase="point:40-kpa"]').waitFor();
await page.waitForTimeout(300);
await page.screenshot({ path: join(OUT, '10-point-1280-light.png') });
await asked(page, 'reject');
await page.waitForTimeout(900);
await picture(page, '11-verdict');
mkdirSync('web/pictures', { recursive: true });
copyFileSync(join(OUT, '11-verdict-1280-light.png'), README_PICTURE);
await page.getByRole('button', { name: /kPa/ }).click();
await picture(page, '12-settings', [PANEL]);
await page.keyboard.press('Escape');
await pressSpace(page);
await asked(page, 'scan');
await loadAll(page, 2);
await demo('EOL-1', [], struck('air-lost', 'fill'));
await test(page);
await picture(page, '13-air-lost');
await demo('EOL-1', []);
await page.waitForTimeout(800);
await demo('EOL-1', [], struck('guard-open', null));
await page.waitForTimeout(800);
await picture(page, '14-guard-open', [PANEL]);
await demo('EOL-1', []);
await page.locator('.do .key:not(.quiet)').waitFor();
await demo('EOL-1', [[1, 'no-part', 0]]);
await pressSpace(page);
await asked(page, 'not-judged', 30_000);
await page.waitForTimeout(800);
await picture(page, '15-one-not-judged', [PANEL]);

// Three leaks running on one nest; then nobody is at the server, and it comes back.
await command('EOL-1', {
  type: 'acknowledge',
  cycle: await page.locator('[data-cycle]').first().getAttribute('data-cycle'),
  nest: null,
});
await asked(page, 'scan');
for (let round = 0; round < 3; round += 1) {
  await demo('EOL-1', [[1, 'leak', 2.5]]);
  await loadAll(page, 2);
  await test(page);
  await pressSpace(page);
  await asked(page, 'scan');
}
await page.locator('[data-nest="1"][data-state="locked"], [data-nest="1"] .word').first().waitFor();
await scan(page, nextSerial());
await page.waitForTimeout(400);
await picture(page, '16-nest-stopped', [PANEL]);
await page.locator('[data-nest="1"] .small-key').click();
await page.locator('form.unlock').waitFor();
await picture(page, '17-look-at-it', [PANEL]);
await page.getByRole('button', { name: 'Back' }).click();
await asked(page, 'start');
await pressSpace(page);
await page.locator('[data-phase="stabilise"]').waitFor();
await product.kill();
await page.waitForTimeout(2500);
await picture(page, '18-offline', [PANEL]);
await product.restart();
await asked(page, 'read-verdicts', 30_000);
await page.waitForTimeout(800);
await picture(page, '19-cut-off');
product.killStation('EOL-1');
await asked(page, 'station-lost');
await picture(page, '20-station-lost', [PANEL]);
await page.context().close();

for (const [station, nests] of [
  ['EOL-2', 1],
  ['EOL-4', 4],
  ['LAB-1', 8],
] as const) {
  const { page: other } = await openPage(browser);
  await setUp(other, station);
  await demo(
    station,
    nests === 1
      ? []
      : nests === 4
        ? [
            [2, 'leak', 2.5],
            [3, 'no-part', 0],
          ]
        : [
            [3, 'leak', 2.5],
            [7, 'offset', -3],
            [5, 'no-part', 0],
          ],
  );
  await loadAll(other, nests);
  await picture(other, `21-${nests}-nests-loaded`, [PANEL]);
  await test(other);
  await picture(other, `22-${nests}-nests`);
  if (nests === 4) {
    await other.evaluate(() => {
      localStorage.setItem(
        'barolot.preferences',
        JSON.stringify({ language: 'es', unit: 'psi', isBelowAmbient: true }),
      );
    });
    await other.reload();
    await other.waitForTimeout(1200);
    await picture(other, '23-spanish', [PANEL]);
  }
  await other.context().close();
}

await browser.close();
await product.remove();
built.remove();
