import { expect, test } from 'vitest';
import { hashOf } from '../../../station/hash.ts';
import { issueOf } from '../../../station/profile/revision.ts';
import { shippedContent } from '../../support/profile-text.ts';

test('an issue is known by its content, whatever its number', () => {
  const first = issueOf(1, shippedContent('AQ-1105'));
  const again = issueOf(2, shippedContent('AQ-1105'));
  expect(first.hash).toBe(hashOf(shippedContent('AQ-1105')));
  expect(again.hash).toBe(first.hash);
  expect(issueOf(1, shippedContent('AQ-1107')).hash).not.toBe(first.hash);
});

test('an issue cannot be changed, not even deep inside', () => {
  const issue = issueOf(1, shippedContent('AQ-1105'));
  expect(() => Object.assign(issue.content.points[0] ?? {}, { dwellMs: 0 })).toThrow(TypeError);
  expect(() => Object.assign(issue, { revision: 2 })).toThrow(TypeError);
});
