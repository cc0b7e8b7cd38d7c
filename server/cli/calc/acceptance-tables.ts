import * as z from 'zod';
import { lookUp, lookupAbout, lookupExample, lookupInput, lookupOutputs, lookupSources } from './sampling-lookup.ts';
import { calculation } from './topic.ts';
import type { Topic } from './topic.ts';

/** `barolot calc acceptance-tables`: the lookup of `sampling` by itself. */
export const acceptanceTablesTopic: Topic = {
  name: 'acceptance-tables',
  about: 'single-sampling plan of MIL-STD-105E for a lot size, inspection level and AQL',
  selectBy: null,
  calculations: [
    calculation({
      kind: null,
      about: lookupAbout,
      input: z.strictObject(lookupInput),
      outputs: lookupOutputs,
      sources: lookupSources,
      example: lookupExample,
      run: lookUp,
    }),
  ],
};
