import { Component } from 'react';
import type { ReactElement, ReactNode } from 'react';
import { Link, useLocation } from 'wouter';
import { DeskFrame } from './desk-frame.tsx';
import { useDeskVoice } from './desk-voice.ts';

/** Whatever goes wrong in drawing a page is said in words, with ways on: never a blank page. Another address begins anew. */
export function Mishap({ children }: { readonly children: ReactNode }): ReactElement {
  const [path] = useLocation();
  return <Caught path={path}>{children}</Caught>;
}

interface CaughtGiven {
  readonly path: string;
  readonly children: ReactNode;
}

class Caught extends Component<CaughtGiven, { readonly cause: unknown }> {
  override readonly state: { readonly cause: unknown } = { cause: null };

  static getDerivedStateFromError(cause: unknown): { readonly cause: unknown } {
    return { cause: cause ?? new Error('unknown') };
  }

  override componentDidUpdate({ path }: CaughtGiven): void {
    if (path !== this.props.path && this.state.cause !== null) this.setState({ cause: null });
  }

  override render(): ReactNode {
    const { cause } = this.state;
    return cause === null ? this.props.children : <Broken cause={cause} />;
  }
}

function Broken({ cause }: { readonly cause: unknown }): ReactElement {
  const { page } = useDeskVoice().desk;
  return (
    <DeskFrame page={null} title={page.broken} isSimulated={false}>
      <section className="failed" role="alert">
        <h1>{page.broken}</h1>
        <p>{page.brokenHint}</p>
        <button type="button" onClick={() => window.location.reload()}>
          {page.reload}
        </button>
        <Link href="/">{page.toStations}</Link>
        <p className="note">
          {page.brokenBy} <span className="code">{cause instanceof Error ? cause.message : String(cause)}</span>
        </p>
      </section>
    </DeskFrame>
  );
}
