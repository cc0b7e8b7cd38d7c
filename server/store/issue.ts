import { hashOf } from '../../station/hash.ts';
import type { ProfileRevision } from '../../station/profile/schema.ts';
import { StoreError } from './errors.ts';

/**
 * Checks a profile revision that is about to be issued: its number is above the last one of its part number, and its
 * content was not issued under another. `known` is the number under which it was, if it was. Throws `revision-conflict`,
 * saying what would be right, and `invalid-content` when its hash is not that of its content.
 */
export function checkIssue(profile: ProfileRevision, issued: { known: number | undefined; last: number }): void {
  const { revision, content, hash } = profile;
  const { partNumber } = content;
  const { known, last } = issued;
  const refused = (code: 'invalid-content' | 'revision-conflict', what: string): StoreError =>
    new StoreError(code, `revision ${revision} of ${partNumber} ${what}`, { facts: { partNumber, revision, last } });
  if (hashOf(content) !== hash) throw refused('invalid-content', 'has another hash than its content');
  if (known !== undefined && known !== revision)
    throw refused('revision-conflict', `is what was issued as revision ${known}: set \`revision\` to ${known}`);
  if (known === undefined && revision <= last)
    throw refused(
      'revision-conflict',
      `has a content of its own and a number that is not above ${last}, the last one issued: raise \`revision\` to ${last + 1}`,
    );
}
