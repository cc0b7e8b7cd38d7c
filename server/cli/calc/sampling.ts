import * as z from 'zod';
import {
  auditCalculation,
  planCalculation,
  twoPointCalculation,
  zeroAcceptanceCalculation,
} from './sampling-attributes.ts';
import { lookUp, lookupAbout, lookupExample, lookupInput, lookupOutputs, lookupSources } from './sampling-lookup.ts';
import { drawCalculation, switchingCalculation } from './sampling-series.ts';
import { variablesDecisionCalculation, variablesOcCalculation } from './sampling-variables.ts';
import { calculation } from './topic.ts';
import type { Topic } from './topic.ts';

/** `barolot calc sampling`: acceptance sampling by attributes and by variables, switching, and the draw itself. */
export const samplingTopic: Topic = {
  name: 'sampling',
  about: 'acceptance sampling: plans and what they let through, tables, switching rules, drawing a sample',
  selectBy: 'kind',
  calculations: [
    planCalculation,
    zeroAcceptanceCalculation,
    twoPointCalculation,
    auditCalculation,
    variablesOcCalculation,
    variablesDecisionCalculation,
    calculation({
      kind: 'lookup',
      about: lookupAbout,
      input: z.strictObject({ kind: z.literal('lookup'), ...lookupInput }),
      outputs: lookupOutputs,
      sources: lookupSources,
      example: { kind: 'lookup', ...lookupExample },
      run: lookUp,
    }),
    switchingCalculation,
    drawCalculation,
  ],
};
