import { expect, test } from 'vitest';
import { nearest } from '../../../station/profile/nearest.ts';

const keys = ['fill', 'stabilise', 'measure', 'gross from', 'over-pressure'];

test.each([
  ['stabilize', 'stabilise'],
  ['Measure', 'measure'],
  ['meassure', 'measure'],
  ['fil', 'fill'],
  ['gross-from', 'gross from'],
  ['overpressure', 'over-pressure'],
  ['hold', null],
  ['', null],
  ['constructor', null],
])('%j most likely stands for %j', (word, meant) => {
  expect(nearest(word, keys)).toBe(meant);
});
