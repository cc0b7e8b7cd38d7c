import { StationFault } from '../../station/faults.ts';
import type { Facts } from '../../station/faults.ts';
import { makePlan } from '../../station/profile/plan.ts';
import type { ProfileRevision } from '../../station/profile/schema.ts';
import type { RigRevision } from '../../station/rig/revision.ts';
import type { PartNumberView } from './contract.ts';

/** The part numbers of the plant, and what a rig cannot do about each; before the rig is known nothing is said of it. */
export function partNumbersOf(profiles: readonly ProfileRevision[], rig: RigRevision | null): PartNumberView[] {
  return profiles.map((profile) => {
    const { partNumber, title, pressureClass } = profile.content;
    const notTestable = rig === null ? null : hindrance(profile, rig);
    return { partNumber, title, pressureClass, revision: profile.revision, notTestable };
  });
}

function hindrance(profile: ProfileRevision, rig: RigRevision): Facts | null {
  try {
    makePlan({ profile, rig, kind: 'line', condition: 'ambient', plant: [] });
    return null;
  } catch (cause) {
    if (cause instanceof StationFault && cause.code === 'not-testable') return cause.facts;
    throw cause;
  }
}
