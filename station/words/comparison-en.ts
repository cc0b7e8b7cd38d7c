/** What is said in English of two audits that are held against one another. */
export const comparisonEnglish = {
  title: 'Two audits compared',
  where: 'lot {here} against lot {there}',
  choice: {
    title: 'Compare with another audit',
    which: 'Audit of the same part number',
    option: 'Lot {lot}, {time}: {state}',
    go: 'Compare',
    none: 'No other audit of this part number has measured anything yet.',
    fromTrend: 'Compare with',
  },
  back: 'To the audit of lot {lot}',
  turned: 'The other way round',
  csv: 'Comparison, CSV',
  /** The answer, in one sentence where it can be one. */
  answers: {
    differs: '{here} against {there}: {difference}; nothing else differs beyond chance.',
    differsMore: '{here} against {there}: {difference}.',
    nothingElse: 'Nothing else differs beyond chance.',
    alike: '{here} against {there}: no difference beyond chance can be shown.',
    untested: '{here} against {there}: nothing can be said. It takes two parts or more on both sides.',
    'nothing-common': '{here} against {there}: no point of any condition is in both.',
    unseen:
      'With {n} and {m} parts a shift of the mean of less than {kPa} kPa {at}, {point} can go unseen; {bestAt}, {bestPoint} one of less than {best} kPa can. From there on it is found nine times in ten.',
    unseenOne:
      'With {n} and {m} parts a shift of the mean of less than {kPa} kPa {at}, {point} can go unseen. From there on it is found nine times in ten.',
  },
  differences: {
    'mean-lower': 'mean {at}, {point} lower by {value} kPa ({low} to {high})',
    'mean-higher': 'mean {at}, {point} higher by {value} kPa ({low} to {high})',
    'spread-wider': 'spread {at}, {point} wider: {value} times ({low} to {high})',
    'spread-narrower': 'spread {at}, {point} narrower: {value} times ({low} to {high})',
  },
  /** Several points of one condition alike. */
  severalDifferences: {
    'mean-lower': 'mean {at} lower at {points} of {of} points, most at {point}: by {value} kPa ({low} to {high})',
    'mean-higher': 'mean {at} higher at {points} of {of} points, most at {point}: by {value} kPa ({low} to {high})',
    'spread-wider': 'spread {at} wider at {points} of {of} points, most at {point}: {value} times ({low} to {high})',
    'spread-narrower':
      'spread {at} narrower at {points} of {of} points, most at {point}: {value} times ({low} to {high})',
  },
  caveatsTitle: 'Not alike in more than the parts',
  alikeOtherwise: 'Profile revision, decision rule, rig, plan and origin are the same in both.',
  caveats: {
    'other-revision': 'Profile revision {here} here, {there} there.',
    'other-limits': 'The profile allows ±{here} kPa here and ±{there} kPa there, times the factor of the temperature.',
    'other-factors': 'The profiles give the temperatures different factors.',
    'other-rule': 'Decision rule: {here} here, {there} there.',
    'other-rig': 'Rig: {here} here, {there} there.',
    'other-plan': 'Plan here: {here} Plan there: {there}',
    'other-origin': '{which} was measured on a simulated rig, the other on a real one.',
    unfinished: '{which} is not finished: {parts} of {of} parts are tested at every condition.',
    abandoned: '{which} was given up before its end.',
    'not-normal': 'Not all values of {which} look normal: what is said of spreads can mislead.',
    'same-parts': 'Parts that are in both samples: {parts}. They are taken as if they were others.',
    'only-one': '{which} has points that the other has not: {cells}. They are not compared.',
  },
  rules: { simple: 'no guard band', 'guard-band': 'guard band of {factor} standard uncertainties' },
  rig: '{station}, rig issue {issue}',
  figureTitle: 'Error over pressure, both',
  figureNote:
    'Mean of the parts; the upright line spans 2 s to both sides. Inside the clear shape is allowed, by the profile of {here}. Triangle: the means differ beyond chance.',
  tableTitle: 'Point by point',
  table: {
    point: 'Point',
    n: 'n',
    mean: 'Mean, kPa',
    sd: 's, kPa',
    ppk: 'Ppk (at least)',
    difference: 'Difference (95 %), kPa',
    ratio: 'Ratio of s (95 %)',
    chance: 'Beyond chance',
    shown: 'Shown from, kPa',
    means: 'Means, {here} − {there}',
    spreads: 'Spreads, {here} / {there}',
    yes: 'yes, p {p}',
    no: 'no, p {p}',
    undecided: 'cannot be tested',
  },
  tableNote:
    'Bounds hold for each value by itself (means: Welch; spreads: F, for normal values). Beyond chance: p below 0.05 after Holm over {tests} tests. Shown from: a shift of the mean that is found nine times in ten. Ppk with its lower bound, 95 %.',
} as const;
