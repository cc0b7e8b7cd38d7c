import type { ReactElement } from 'react';
import { barGeometry } from './tolerance-geometry.ts';
import type { Judged } from './tolerance-geometry.ts';

/** The hatch of guard bands; once a page. */
export function Hatches(): ReactElement {
  return (
    <svg width="0" height="0" className="hidden-svg" aria-hidden="true">
      <defs>
        <pattern id="guard" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <rect width="6" height="6" className="hatch-ground" />
          <rect width="2" height="6" className="hatch-line" />
        </pattern>
      </defs>
    </svg>
  );
}

/**
 * A reading in its tolerance: posts at the limits, guard bands hatched, the reading upright with a whisker of its
 * expanded uncertainty (k = 2). Without a reading the frame alone is drawn. The number beside it says the rest.
 */
export function ToleranceBar(props: {
  readonly reading: Judged | null;
  readonly isOneSided: boolean;
  readonly width?: number;
  readonly height?: number;
}): ReactElement {
  const { reading, isOneSided, width = 122, height = 26 } = props;
  const { left, right, guards, target, mark, whisker, beyond } = barGeometry(reading, isOneSided, width);
  const [middle, half, post] = [height / 2, height / 4, 0.42 * height];
  return (
    <svg
      className={reading?.verdict === 'fail' ? 'tol bad' : 'tol'}
      viewBox={`0 0 ${width} ${height}`}
      style={{ width: `${width / 10}rem`, height: `${height / 10}rem` }}
      aria-hidden="true"
    >
      <line className="track" x1="0" x2={width} y1={middle} y2={middle} />
      <rect className="band" x={left} y={middle - half} width={right - left} height={2 * half} />
      {guards.map(({ from, to }) => (
        <rect key={from} fill="url(#guard)" x={from} y={middle - half} width={to - from} height={2 * half} />
      ))}
      {target !== null && <line className="target" x1={target} x2={target} y1={middle - half} y2={middle + half} />}
      {!isOneSided && <line className="post" x1={left} x2={left} y1={middle - post} y2={middle + post} />}
      <line className="post" x1={right} x2={right} y1={middle - post} y2={middle + post} />
      {whisker !== null && <line className="whisker" x1={whisker.from} x2={whisker.to} y1={middle} y2={middle} />}
      {mark !== null && beyond === null && (
        <rect className="mark" x={mark - 2.5} y={middle - post} width="5" height={2 * post} />
      )}
      {beyond === 'high' && (
        <path
          className="mark"
          d={`M${width - 12} ${middle - half}l12 ${half}l-12 ${half}zM${width - 16} ${middle - post}h2v${2 * post}h-2z`}
        />
      )}
      {beyond === 'low' && (
        <path
          className="mark"
          d={`M12 ${middle - half}l-12 ${half}l12 ${half}zM14 ${middle - post}h2v${2 * post}h-2z`}
        />
      )}
    </svg>
  );
}
