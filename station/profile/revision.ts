import { hashOf } from '../hash.ts';
import type { ProfileContent, ProfileRevision } from './schema.ts';

/** An issue of a profile: frozen to the last value, with the hash of its content's canonical JSON as identity. */
export function issueOf(revision: number, content: ProfileContent): ProfileRevision {
  return Object.freeze({ revision, content: frozen(content), hash: hashOf(content) });
}

function frozen<T>(value: T): T {
  if (typeof value === 'object' && value !== null) {
    Object.values(value).forEach(frozen);
    Object.freeze(value);
  }
  return value;
}
