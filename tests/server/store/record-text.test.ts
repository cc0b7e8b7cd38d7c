import * as fc from 'fast-check';
import { expect, test } from 'vitest';
import { canonicalJson } from '../../../station/hash.ts';
import { StoreError } from '../../../server/store/errors.ts';
import { ready } from '../../../server/store/ledger.ts';
import { RecordText } from '../../../server/store/record-text.ts';
import { openingOf, planOf, PROFILE, recordOf } from '../../support/ledger-content.ts';
import { issueOf } from '../../../station/profile/revision.ts';

const plan = planOf(issueOf(1, PROFILE));
const partsOf = ({ measurement }: ReturnType<typeof recordOf>) => [...measurement.readings, ...measurement.judgements];

test('a record has the same text and hash, whichever of its parts were made ready', () => {
  fc.assert(
    fc.property(fc.nat(), fc.func(fc.boolean()), (seed, isReady) => {
      const record = recordOf(openingOf(1), plan, seed, null);
      const text = new RecordText();
      for (const part of partsOf(record)) if (seed % 2 === 0 || isReady(part)) text.makeReady(part);
      expect(text.of(record)).toEqual(ready('cycle-closed', record));
      expect(text.of(record).stored).toBe(canonicalJson(record));
    }),
    { numRuns: 50 },
  );
});

test('what was made ready cannot be changed any more', () => {
  const record = recordOf(openingOf(1), plan, 1, null);
  const [reading] = record.measurement.readings;
  const [judgement] = record.measurement.judgements;
  const text = new RecordText();
  text.makeReady(reading!);
  text.makeReady(judgement!);
  expect(() => Object.assign(reading!, { nest: 7 })).toThrow(TypeError);
  expect(() => Object.assign(judgement!.arithmetic[0]!, ['other'])).toThrow(TypeError);
});

test('what does not fit is refused with its place, made ready or not', () => {
  const record = recordOf(openingOf(1), plan, 1, null);
  const { measurement, circumstances } = record;
  const refusal = (spoiled: typeof record): string => {
    const text = new RecordText();
    for (const part of partsOf(spoiled)) text.makeReady(part);
    try {
      text.of(spoiled);
    } catch (cause) {
      if (cause instanceof StoreError) return `${cause.code} ${cause.facts['place'] ?? ''}`;
      throw cause;
    }
    return 'none';
  };
  const readings = measurement.readings.map((reading, at) => (at === 3 ? { ...reading, fromMs: Number.NaN } : reading));
  const judgements = measurement.judgements.map((each, at) => (at === 2 ? { ...each, comment: 'fine' } : each));
  expect(refusal({ circumstances, measurement: { ...measurement, readings } })).toBe(
    'invalid-content measurement.readings.3.fromMs',
  );
  expect(refusal({ circumstances, measurement: { ...measurement, judgements } })).toBe(
    'invalid-content measurement.judgements.2',
  );
  expect(refusal({ circumstances: { ...circumstances, roomC: Number.NaN }, measurement })).toBe(
    'invalid-content circumstances.roomC',
  );
  const more = { ...measurement, readings: Array.from({ length: 10_001 }, () => measurement.readings[0]!) };
  expect(refusal({ circumstances, measurement: more })).toBe('invalid-content measurement.readings');
  expect(refusal(record)).toBe('none');
});
