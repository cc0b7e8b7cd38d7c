/**
 * Why the audit lab does not do what it was told, in English, by the code of the problem document; where one code has several
 * ways, by `code/why`. What the rig's side refuses stands with the words of the line.
 */
export const refusalsEnglish = {
  says: {
    'no-such-audit': 'There is no audit under this id. Open it from its lot.',
    'no-such-lot': 'No part of {partNumber}, lot {lot} is kept here. Check the code.',
    'no-such-station': 'There is no lab station {station}; there are: {known}.',
    'unknown-part-number': 'There is no profile of {partNumber} here.',
    'same-audit': 'An audit is not compared with itself. Choose another one.',
    'other-part-number': 'One audit is of {here}, the other of {there}. Choose an audit of {here}.',
    'sampling-discontinued':
      'Inspection of {partNumber} by attributes is discontinued: five lots were not accepted under tightened inspection. Act on the cause; then take it up again with a name and what was done.',
    'no-tightened-plan':
      'Inspection is tightened, and the tables have no tightened plan beside {n} parts with at most {c} bad. Keep a plan of the tables first.',
    'not-discontinued':
      'Inspection of {partNumber} by attributes is not discontinued. There is nothing to take up again.',
    'lot-not-open': 'Lot {lot} is {state} already. Nothing was changed.',
    'lot-not-closed': 'Lot {lot} is open. Nothing was changed.',
    'lot-not-closed/decided': 'Lot {lot} is {state}: the decision is about the parts that it had. Begin a new lot.',
    'audit-open': 'An audit of lot {lot} is not finished yet. Finish it or give it up first.',
    'audit-open/accepting':
      "An audit of lot {lot} is not finished yet. Finish it, or accept under a customer's concession.",
    'audit-unfinished': 'Not every part was tested yet. Until then the lot can only be held.',
    'audit-over': 'This audit is over. What was kept of it stays as it is.',
    'concession-over': 'The concession ended on {until}. Ask for one that still holds, or leave the day open.',
    'too-few-passed': 'The plan asks for {n} parts and {passed} of the lot passed. Wait for more, or change the plan.',
    'no-condition': 'Choose at least one condition.',
    'unknown-condition': 'The profile of {partNumber} has no condition {condition}.',
    'condition-twice': 'The condition {condition} is chosen twice. Choose each once.',
    'against-the-rule/no-neighbour':
      'Lot {lot} is not held as a neighbour. Without an audit of its own it can be accepted under a concession only.',
    'against-the-rule/rejected':
      "Lot {lot} was rejected. Draw a new sample and have it tested first, or accept under a customer's concession.",
    'against-the-rule/untested': 'No part of this sample was tested: it says nothing about the lot. Draw a new one.',
    'against-the-rule/refused':
      "The plan refuses this lot ({bad} bad). It can be accepted under a customer's concession only.",
    'against-the-rule/failed':
      "Parts of the sample failed ({bad} bad): hold the lot, reject it, or accept it under a customer's concession.",
    'against-the-rule/refused-before':
      "Another audit refused lot {lot} ({bad} bad), and no later one of equal weight has settled it. Draw at least as many parts anew, or accept under a customer's concession.",
    'against-the-rule/given-up':
      "An audit of lot {lot} that was given up had found bad parts, and they count ({bad} bad). Reject the lot and draw anew, or accept under a customer's concession.",
    'not-drawn': '{serial} is not in this sample. Put it back; it is not drawn.',
    'not-drawn/not-due': '{serial} is not a part that this audit still waits for.',
    'in-load': '{serial} was in a load already.',
    'load-inside': 'Load {load} of lot {lot} is in the chamber.',
    'load-inside/testing': 'A load is being tested. Stop it first.',
    'other-station': 'This audit was drawn for {station}.',
    'wrong-nests': 'A load has one place for each of the {nests} nests.',
    'nothing-loaded': 'No part is in the load. Scan at least one.',
    'scanned-twice': '{serial} stands in two nests.',
    'no-load-due': 'This audit takes no further load.',
    'nothing-to-resume': 'No load of this audit was cut off.',
    'nothing-inside': 'No load is in the chamber.',
    'door-not-ready': 'The load may not come out yet. Keep the door shut.',
    'load-unfinished': 'This load is not through. Go on with it, or give the audit up.',
    'proof-due': 'The station has to show first: {proof}.',
    'soak-study-due': 'Nobody has studied yet how slowly {partNumber} follows this chamber. Run the soak study first.',
    // What the server itself says, whatever it was asked.
    'too-busy': 'Too many questions wait already. Ask again in a moment.',
    'work-lost': 'The work on this was cut off. Nothing is lost: ask again.',
    'took-too-long': 'The work on this took too long and was ended. Ask again.',
    'not-ready': 'The server ends. Ask again when it is back.',
    program: 'The program failed here. It was written to the log: call the test engineer.',
  },
  states: { open: 'open', closed: 'closed', accepted: 'accepted', 'on-hold': 'on hold', rejected: 'rejected' },
} as const;
