/** What is said in English of what a sampling plan lets through. Shares have their % sign in their place. */
export const planMissesEnglish = {
  says: {
    'accepts-all': 'This plan accepts every lot: as many bad parts are allowed as are inspected.',
    'whole-lot': 'Every part of the lot is inspected; it is accepted with at most {allowedParts}.',
    lot: 'Of lots of {lot} with {fewParts} ({fewShare}), this plan accepts {accepted}; {bad} must be bad ({badShare}) to be stopped 9 times in 10 (exactly this lot, hypergeometric).',
    'whole-lot-none-bad': 'Every part of the lot is inspected; it is accepted only without a bad one.',
    'none-bad':
      'With no bad part allowed among {n}, a lot of {lot} with {badParts} ({badShare}) is accepted in {cases}.',
    'variables-all': 'This plan accepts nearly every lot of normally distributed values.',
    'variables-none': 'This plan refuses nearly every lot of normally distributed values.',
    variables:
      'Of lots with {usual} beyond the limit, this plan accepts 95 of 100; a lot must have {stopped} to be stopped 9 times in 10, if the values are normally distributed.',
    'process-audit': '{n} parts accept a lot with {share} bad in {cases}: a process audit, not lot acceptance.',
    'process-audit-one': '{n} part accepts a lot with {share} bad in {cases}: a process audit, not lot acceptance.',
  },
  oneBad: '1 bad',
  bad: '{n} bad',
  nextToNothing: 'next to nothing',
  noLots: 'none',
  allLots: 'all',
  lots: '{count} of 100',
  noCase: 'no case',
  everyCase: 'every case',
  cases: '{count} of 100 cases',
  lessThanOne: 'less than 1',
  moreThanMost: 'more than 99',
} as const;

/** What is said in English of why inspection by attributes stands where it does. */
export const switchingEnglish = {
  verdicts: { accepted: 'Accepted', refused: 'Not accepted' },
  says: {
    discontinued: 'Sampling is discontinued: the lot is not judged by sampling until the cause has been acted on.',
    'presented-again': '{verdict}, but presented again: it does not count for switching.',
    'to-tightened': '{verdict}, the second within {lots} lots: tightened inspection from the next lot.',
    score: '{verdict}; score {score}. Normal inspection stays.',
    'score-lost': '{verdict}; the score goes back to 0. Normal inspection stays.',
    'score-lost-tighter':
      '{verdict}; the score goes back to 0, because {bad} bad would not have been accepted with the AQL one step tighter (at most {allowed}). Normal inspection stays.',
    'reduced-possible':
      '{verdict}; score {score}. Reduced inspection is possible if production is steady and the responsible authority agrees; no plans for it are held here, so normal inspection stays.',
    'to-discontinued':
      '{verdict}, the fifth since tightened inspection began: sampling is discontinued until the cause has been acted on.',
    'to-normal': '{verdict}, the fifth in a row: normal inspection from the next lot, score 0.',
    'tightened-accepted': '{verdict}, {row} in a row of the {of} that lead back to normal. Tightened inspection stays.',
    'tightened-refused': '{verdict}, {refused} of the {of} that end sampling. Tightened inspection stays.',
  },
} as const;
