import type { Catalogue } from './catalogue.ts';
import { lineEnglish } from './line-en.ts';

const REJECT = 'Put the part in the reject bin';
const REPEAT = 'Test again; if it returns, call the test engineer';

export const english: Catalogue = {
  verdicts: { pass: 'Pass', fail: 'Fail', none: 'Not judged' },
  passNext: 'Put the part with the good ones',
  quantities: {
    'supply-current': 'Supply current',
    output: 'Output {step}',
    'ambient-check': 'Before the fill',
    leak: 'Leak',
    lag: 'Response lag',
    noise: 'Noise',
  },
  faults: {
    'operator-stop': { says: 'The cycle was stopped', next: 'Start the test again' },
    'guard-open': { says: 'The guard was open', next: 'Close the guard, then test again' },
    'stop-chain-open': {
      says: 'The stop chain was open',
      next: 'Have the cause cleared and the stop chain reset, then test again',
    },
    'air-lost': { says: 'Compressed air is missing', next: 'Restore the air supply, then test again' },
    'vacuum-lost': { says: 'Vacuum is missing', next: 'Restore the vacuum, then test again' },
    'not-clamped': { says: 'The clamps did not close', next: 'Seat the parts, then test again' },
    'condition-not-met': {
      says: 'The parts are not at the temperature of the condition',
      next: 'Wait until the temperature is reached, then test again',
    },
    'release-refused': {
      says: 'The clamps stay closed: the guard is open or pressure is present',
      next: 'Close the guard and wait until vented is measured',
    },
    interrupted: {
      says: 'The test was cut off before its record was complete',
      next: 'Test these parts again',
    },
    'proof-due': {
      says: 'The station has not proved itself',
      next: 'Complete the proof that is named, then test again',
    },
    'not-testable': {
      says: 'This profile cannot be tested on this rig',
      next: 'Use a station that can, or call the test engineer',
    },
    'over-pressure': {
      says: 'A pressure above the allowed maximum was measured',
      next: 'Set the parts aside as suspect and call the test engineer',
    },
    'dead-man': { says: 'The rig was left without control and vented itself', next: REPEAT },
    'instrument-silent': { says: 'An instrument does not answer', next: REPEAT },
    'instrument-stuck': { says: 'An instrument repeats the same value', next: REPEAT },
    'instrument-disagrees': { says: 'Two instruments disagree about the same pressure', next: REPEAT },
    'output-meter-off': { says: 'The output meter does not read zero without supply', next: REPEAT },
    'supply-off': { says: 'The supply voltage is not what was set', next: REPEAT },
    'pressure-not-reached': {
      says: 'The pressure was not reached',
      next: 'Check air and vacuum, then test again; if it returns, call the test engineer',
    },
    'pressure-unsteady': { says: 'The pressure was not steady during a reading', next: REPEAT },
    'pressure-rises': { says: 'The pressure rose in a nest that was shut off', next: REPEAT },
    'valve-no-answer': { says: 'A valve does not do what it was told', next: REPEAT },
    'not-vented': {
      says: 'The nests could not be measured as vented',
      next: 'Keep the guard shut and call the test engineer',
    },
    'study-too-little': {
      says: 'The soak study says too little: a dummy does not follow the air as parts do, or there are too few',
      next: 'Check each dummy and its thermometer, then run the study again',
    },
    'not-kept': {
      says: 'The record could not be stored',
      next: 'Take no verdict from this test; call the test engineer, then test again',
    },
    program: { says: 'The program stopped on a broken premise', next: REPEAT },
  },
  reasons: {
    'no-contact': { says: 'No part or no contact', next: 'Seat the part again, then test again' },
    'ground-open': { says: 'No ground contact', next: REJECT },
    'output-at-ground': { says: 'No output: open or shorted to ground', next: REJECT },
    'output-at-supply': { says: 'Output at supply voltage: open or shorted to supply', next: REJECT },
    'current-high': { says: 'Draws too much current', next: REJECT },
    'current-low': { says: 'Draws too little current', next: REJECT },
    'other-class': { says: 'Reads like another part number', next: `${REJECT} and check what is being loaded` },
    'ambient-implausible': { says: 'Reads wrong at ambient pressure', next: REJECT },
    'gross-leak': { says: 'Leaks grossly', next: REJECT },
    leak: { says: 'Leaks', next: REJECT },
    stuck: { says: 'Output does not follow the pressure', next: REJECT },
    slow: { says: 'Responds too slowly', next: REJECT },
    'reads-high': { says: 'Reads high', next: REJECT },
    'reads-low': { says: 'Reads low', next: REJECT },
    'span-large': { says: 'Output changes too much with pressure', next: REJECT },
    'span-small': { says: 'Output changes too little with pressure', next: REJECT },
    'reads-wrong': { says: 'Reads wrong', next: REJECT },
    noisy: { says: 'Output is noisy', next: REJECT },
  },
  line: lineEnglish,
};
