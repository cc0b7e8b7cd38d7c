import type { ReactElement } from 'react';
import type { Verdict } from '../../../station/cycle/result.ts';

/**
 * The tolerance picture made small: two posts and a reading. Inside for a pass; outside on the side it left by for a
 * fail; the posts drawn broken with nothing between for a part that was not judged.
 */
export function VerdictMark(props: {
  readonly verdict: Verdict;
  readonly isLow?: boolean;
  readonly size?: number;
}): ReactElement {
  const { verdict, isLow = false, size = 116 } = props;
  const width = verdict === 'fail' ? 138 : 102;
  const shift = verdict === 'fail' && isLow ? 36 : 0;
  return (
    <svg
      className="vm"
      viewBox={`0 0 ${width} 116`}
      style={{ height: `${size / 10}rem`, width: `${(size * width) / 1160}rem` }}
      aria-hidden="true"
    >
      {verdict === 'none' ? (
        <g strokeWidth="13" strokeDasharray="22 15">
          <path d="M36 6.5H6.5V109.500H36" />
          <path d="M66 6.500H95.500V109.500H66" />
        </g>
      ) : (
        <g strokeWidth="13" transform={`translate(${shift} 0)`}>
          <path d="M34 6.500H6.500V109.500H34" />
          <path d="M68 6.500H95.500V109.500H68" />
          {verdict === 'pass' ? (
            <rect className="tick" x="39" y="22" width="24" height="72" />
          ) : (
            <rect className="tick" x={isLow ? -32 : 112} y="5" width="24" height="106" />
          )}
        </g>
      )}
    </svg>
  );
}
