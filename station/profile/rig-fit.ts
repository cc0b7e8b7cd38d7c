import type { RigAbilities } from '../rig/port.ts';
import { kPa, unless } from './problem.ts';
import type { ContentProblem } from './problem.ts';
import type { ProfileContent } from './schema.ts';

/**
 * What keeps a profile from being tested on a rig: pressures that the rig cannot make or read, or a load it does not
 * have. A rig that can make more than a part bears is refused too: then only this program would stand between.
 */
export function checkAgainstRig(
  content: ProfileContent,
  rig: Pick<RigAbilities, 'pressureKpaAbs' | 'transducerKpaAbs' | 'loads'>,
): ContentProblem[] {
  const { low, high } = rig.pressureKpaAbs;
  const set = [
    { path: ['leakHold', 'testKpaAbs'], pressure: content.leakHold.testKpaAbs },
    ...content.points.flatMap(({ at }, index) =>
      at.kind === 'absolute' ? [{ path: ['points', index, 'at', 'kPaAbs'], pressure: at.kPaAbs }] : [],
    ),
  ];
  const problems = set.flatMap(({ path, pressure }) => [
    ...unless(
      pressure >= low && pressure <= high,
      'rig-pressure',
      path,
      `this rig cannot set ${kPa(pressure)}`,
      `${low} to ${kPa(high)}`,
    ),
    ...unless(
      pressure < rig.transducerKpaAbs,
      'rig-transducer',
      path,
      `${kPa(pressure)} is beyond the range of a transducer of this rig`,
      `below ${kPa(rig.transducerKpaAbs)}`,
    ),
  ]);
  const { ohm, to } = content.load;
  const loads = rig.loads.map((load) => `${load.ohm} Ω to ${load.to}`).join(', ');
  return [
    ...problems,
    ...unless(
      high <= content.overPressureKpaAbs,
      'rig-over-pressure',
      ['overPressureKpaAbs'],
      `this rig can make ${kPa(high)} and the part bears ${kPa(content.overPressureKpaAbs)}`,
      `a rig limited to ${kPa(content.overPressureKpaAbs)} or less`,
    ),
    ...unless(
      rig.loads.some((load) => load.ohm === ohm && load.to === to),
      'rig-load',
      ['load'],
      `this rig has no load of ${ohm} Ω to ${to}`,
      loads === '' ? 'a rig with loads' : `one of ${loads}`,
    ),
  ];
}
