import { AxeBuilder } from '@axe-core/playwright';
import sparticuz from '@sparticuz/chromium';
import { chromium } from 'playwright-core';
import type { Browser, Page } from 'playwright-core';

/** Own flags: those that come with the package switch checks off that a person's browser has. */
const FLAGS = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  '--font-render-hinting=none',
];

/** The browser that comes with the packages: nothing need be installed for it. */
export async function openBrowser(): Promise<Browser> {
  return chromium.launch({ executablePath: await sparticuz.executablePath(), args: FLAGS, headless: true });
}

/** The panel at a station. */
export const PANEL = { width: 1280, height: 800 } as const;

/** A page of a context of its own; what it says on its console beyond notes is collected. */
export async function openPage(browser: Browser): Promise<{ page: Page; complaints: string[] }> {
  const context = await browser.newContext({ viewport: PANEL });
  const page = await context.newPage();
  const complaints: string[] = [];
  page.on('pageerror', (error) => complaints.push(error.message));
  page.on('console', (message) => {
    // A refusal is an answer (409), and a server that is restarted does not answer: both are told to the person.
    if (message.type() === 'error' && !/Failed to load resource|ERR_/.test(message.text()))
      complaints.push(message.text());
  });
  return { page, complaints };
}

/** A keyboard wedge: a burst of keys and its suffix. */
export async function scan(page: Page, text: string, suffix: 'Enter' | 'Tab' = 'Enter'): Promise<void> {
  await page.keyboard.type(text);
  await page.keyboard.press(suffix);
}

/** Waits until the band asks for this. */
export async function asked(page: Page, prompt: string, timeout = 30_000): Promise<void> {
  await page.locator(`.do[data-prompt="${prompt}"]`).waitFor({ timeout });
}

/**
 * The key of the band, once it may act: it is quiet for 300 ms after a scan or a change. A screen on a busy machine may have
 * seen that late, and rests then: as a person would, the key is pressed again where nothing came of it. It never stops.
 */
export async function pressSpace(page: Page): Promise<void> {
  const band = async (): Promise<string> => page.locator('.do').first().innerText();
  const before = await band();
  for (let presses = 0; presses < 5; presses += 1) {
    await page.waitForTimeout(350);
    await page.keyboard.press('Space');
    for (let looks = 0; looks < 20; looks += 1) {
      if ((await band()) !== before) return;
      await page.waitForTimeout(25);
    }
  }
}

/** What an accessibility scanner finds against WCAG 2.2 A and AA. */
export async function accessibilityFaults(page: Page): Promise<string[]> {
  const { violations } = await new AxeBuilder({ page })
    .withTags(['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'])
    .analyze();
  return violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ target }) => target.join(' ')).join(', ')}`);
}

/** Keeps a picture of what the screen showed when a step failed, and passes the failure on. */
export async function picturedOnFailure<T>(page: Page, name: string, steps: () => Promise<T>): Promise<T> {
  try {
    return await steps();
  } catch (cause) {
    await page.screenshot({ path: `.build/browser/${name}.png` }).catch(() => undefined);
    throw cause;
  }
}
