import type { Page } from 'playwright-core';

/** A verdict as a person could have read it on the screen. */
export interface Shown {
  readonly cycle: string;
  readonly serial: string;
  readonly verdict: string;
  /** The word that stood there. */
  readonly word: string;
}

interface Watched extends Window {
  __shown?: Map<string, Shown>;
}

/** Notes every verdict that the page ever shows, from now on, across reloads. */
export async function watchVerdicts(page: Page): Promise<void> {
  await page.addInitScript(() => {
    const watched = window as Watched;
    const shown = new Map<string, Shown>();
    watched.__shown = shown;
    const look = (): void => {
      for (const panel of document.querySelectorAll<HTMLElement>('[data-verdict][data-cycle]')) {
        const { cycle = '', serial = '', verdict = '' } = panel.dataset;
        const word = panel.querySelector<HTMLElement>('.word')?.innerText.trim() ?? '';
        for (const each of serial.split(' ')) {
          const key = `${cycle} ${each} ${verdict} ${word}`;
          shown.set(key, { cycle, serial: each, verdict, word });
        }
      }
    };
    new MutationObserver(look).observe(document, { childList: true, subtree: true, attributes: true });
  });
}

/** Everything that was shown since the page was loaded. */
export const shownOn = (page: Page): Promise<Shown[]> =>
  page.evaluate(() => [...((window as Watched).__shown?.values() ?? [])]);
