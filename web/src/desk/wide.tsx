import { useEffect, useRef, useState } from 'react';
import type { ReactElement, ReactNode } from 'react';

/** A table that may be wider than the screen: it then scrolls by itself, and the keyboard reaches it under its name. */
export function Wide({ label, children }: { readonly label: string; readonly children: ReactNode }): ReactElement {
  const box = useRef<HTMLDivElement>(null);
  const [isScrolled, setIsScrolled] = useState(false);
  useEffect(() => {
    const { current } = box;
    if (current === null) return undefined;
    const watch = new ResizeObserver(() => setIsScrolled(current.scrollWidth > current.clientWidth));
    watch.observe(current);
    for (const child of current.children) watch.observe(child);
    return () => watch.disconnect();
  }, []);
  return (
    <div
      ref={box}
      className="wide"
      role={isScrolled ? 'region' : undefined}
      aria-label={isScrolled ? label : undefined}
      tabIndex={isScrolled ? 0 : undefined}
    >
      {children}
    </div>
  );
}
