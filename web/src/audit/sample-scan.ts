import type { AuditView } from '../../../server/audit/contract.ts';

/** Which scans of a sample's parts are taken, and why the others are not. Pure. Nests and loads count from 1. */

/** Why a scanned part is not laid in, with what its text names; null where it is taken. */
export interface ScanRefusal {
  readonly code: 'not-drawn' | 'twice' | 'tested' | 'missing' | 'full';
  readonly facts: Readonly<Record<string, string | number>>;
}

type Sample = Pick<AuditView, 'sample'>;

/** A part that is ticked off: one of the sample that was in no load yet. */
export function tickRefusal({ sample }: Sample, serial: string): ScanRefusal | null {
  const part = sample.find((each) => each.serial === serial);
  if (part === undefined) return { code: 'not-drawn', facts: { serial } };
  if (part.load !== null) return { code: 'tested', facts: { serial, load: part.load, nest: part.nest ?? '' } };
  return null;
}

/** A part that is laid in: due, in no nest yet, and a nest is left for it. `places` are the nests so far, null for an empty one. */
export function layingRefusal(
  of: Sample,
  { places, nests }: { readonly places: readonly (string | null)[]; readonly nests: number },
  serial: string,
): ScanRefusal | null {
  const refusal = tickRefusal(of, serial);
  if (refusal !== null) return refusal;
  const at = places.indexOf(serial);
  if (at >= 0) return { code: 'twice', facts: { serial, nest: at + 1 } };
  if (of.sample.some((each) => each.serial === serial && each.state === 'missing'))
    return { code: 'missing', facts: { serial } };
  return places.length >= nests ? { code: 'full', facts: { serial } } : null;
}

/** The parts of a sample that can be said not to be found: in no load, those that nobody found yet first, by serial. */
export function unfoundParts({ sample }: Sample): string[] {
  const open = sample.filter(({ state, load }) => state !== 'missing' && load === null);
  const sorted = (state: 'drawn' | 'found'): string[] =>
    open.flatMap((part) => (part.state === state ? [part.serial] : [])).sort();
  return [...sorted('drawn'), ...sorted('found')];
}
