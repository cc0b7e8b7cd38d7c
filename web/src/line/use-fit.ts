import { useEffect, useLayoutEffect, useRef } from 'react';
import type { RefObject } from 'react';

/** Sizes of a line, from the largest; the smallest may break into two lines. */
const SIZES = ['', 'long', 'longest'] as const;

/**
 * Gives a line the largest size at which the whole of it stands in its room. `content` names what decides that: the
 * text, and what stands beside it.
 */
export function useFit<E extends HTMLElement = HTMLParagraphElement>(content: string): RefObject<E | null> {
  const line = useRef<E>(null);
  useLayoutEffect(() => {
    if (line.current !== null) fit(line.current);
  }, [content]);
  useEffect(() => {
    const again = (): void => {
      if (line.current !== null) fit(line.current);
    };
    window.addEventListener('resize', again);
    // Until the letters are there others stand in for them, which may be wider.
    void document.fonts.ready.then(again);
    return () => window.removeEventListener('resize', again);
  }, []);
  return line;
}

function fit(line: HTMLElement): void {
  for (const size of SIZES) {
    line.dataset['size'] = size;
    if (line.scrollWidth <= line.clientWidth && line.scrollHeight <= line.clientHeight) return;
  }
}
