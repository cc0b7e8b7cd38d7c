import type { ReactElement } from 'react';
import type { ExpectedPhase, Frame, Taken } from '../../../server/line/contract.ts';
import { expectedLine, labelsThatFit, mostRead, phaseLabels, ranLine, scaleOf } from './test-picture.ts';

/** Words and figures of the picture, in the person's language and unit. */
export interface PictureText {
  readonly label: string;
  readonly leakHold: string;
  readonly seconds: string;
  readonly unit: string;
  point(kPaAbs: number | null): string;
  pressure(kPa: number): string;
  nest(nest: number): string;
}

/**
 * The test as it ran: pressure over time, phases named above, what is still to come dotted, readings as squares on the
 * line: the first shown nest filled, the second open.
 */
export function TestAsItRan(props: {
  readonly phases: readonly ExpectedPhase[];
  readonly frames: readonly Frame[];
  readonly taken: readonly Taken[];
  readonly nests: readonly number[];
  readonly ambientKpaAbs: number;
  readonly isRunning: boolean;
  readonly width: number;
  readonly height: number;
  readonly text: PictureText;
  readonly current?: string | null;
}): ReactElement {
  const { phases, frames, taken, nests, ambientKpaAbs, isRunning, width, height, text, current = null } = props;
  const scale = scaleOf(phases, frames, { width, height });
  const { x, y, ticks, seconds } = scale;
  const last = frames.at(-1);
  const planned = expectedLine(phases, ambientKpaAbs).filter(({ ms }) => last === undefined || ms >= last.atMs);
  const toPoints = (points: readonly { ms: number; kPa: number }[]): string =>
    points.map(({ ms, kPa }) => `${x(ms).toFixed(1)},${y(kPa).toFixed(1)}`).join(' ');
  const labels = phaseLabels(phases);
  const named = labelsThatFit(
    labels.map((label) => ({ ...label, text: label.kind === 'leak-hold' ? text.leakHold : text.point(label.kPaAbs) })),
    x,
  );
  return (
    <svg
      className="picture"
      viewBox={`0 0 ${width} ${height}`}
      role="img"
      aria-label={text.label}
      fontSize="20"
      preserveAspectRatio="xMidYMid meet"
    >
      {labels.map(({ fromMs, toMs, isShaded, key }) =>
        isShaded ? (
          <rect
            key={key}
            className="phase"
            x={x(fromMs)}
            y={scale.top}
            width={x(toMs) - x(fromMs)}
            height={scale.bottom - scale.top}
          />
        ) : null,
      )}
      {ticks.map((kPa) => (
        <g key={kPa}>
          <line className="grid" x1={scale.left} x2={scale.right} y1={y(kPa)} y2={y(kPa)} />
          <text x={scale.left - 8} y={y(kPa) + 7} textAnchor="end">
            {text.pressure(kPa)}
          </text>
        </g>
      ))}
      <text x={scale.left - 8} y="20" textAnchor="end">
        {text.unit}
      </text>
      {seconds.map((each, at) => (
        <text key={each} x={x(each * 1000)} y={height - 5} textAnchor="middle">
          {at === seconds.length - 1 ? `${each} ${text.seconds}` : each}
        </text>
      ))}
      {named.map(({ fromMs, toMs, key, text: name }) => (
        <text
          key={key}
          className={current === key ? 'strong' : 'label'}
          x={x((fromMs + toMs) / 2)}
          y="20"
          textAnchor="middle"
        >
          {name}
        </text>
      ))}
      <polyline className="plan" points={toPoints(planned)} />
      <polyline className="ran" points={toPoints(ranLine(frames, mostRead(nests, taken)))} />
      {isRunning && last !== undefined && (
        <line className="now" x1={x(last.atMs)} x2={x(last.atMs)} y1={scale.top} y2={scale.bottom} />
      )}
      {taken.map(({ nest, step, atMs, kPaAbs, quantity }) => {
        const place = nests.indexOf(nest);
        if (place < 0 || place > 1 || kPaAbs === null || quantity !== 'output') return null;
        const size = place === 0 ? 11 : 10;
        return (
          <rect
            key={`${nest} ${step}`}
            className={place === 0 ? 'n1' : 'n2'}
            x={x(atMs) - size / 2 - (place === 0 ? 0 : 12)}
            y={y(kPaAbs) - size / 2}
            width={size}
            height={size}
          />
        );
      })}
      {nests.slice(0, 2).map((nest, place) => (
        <g key={nest}>
          <rect
            className={place === 0 ? 'n1' : 'n2'}
            x={x(scale.legendMs)}
            y={scale.legendY + place * 26}
            width={place === 0 ? 11 : 10}
            height={place === 0 ? 11 : 10}
          />
          <text className="label" x={x(scale.legendMs) + 18} y={scale.legendY + 11 + place * 26}>
            {text.nest(nest)}
          </text>
        </g>
      ))}
    </svg>
  );
}
