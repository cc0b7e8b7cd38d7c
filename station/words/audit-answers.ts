import { atText, cellText, targetText } from './audit-text.ts';
import type { AuditNames, AuditTongue, Coded } from './audit-text.ts';
import { fill } from './fill.ts';
import { belowText, numberText, plainText, signedText } from './number-text.ts';

/** What the four answers rest on, as the evaluation of an audit says it. */
export interface Answerable extends AuditNames {
  readonly cells: readonly AnswerableCell[];
  readonly weakest: { readonly stage: number; readonly step: string } | null;
  readonly proposal: { readonly decision: 'accept' | 'hold' | 'reject' | null; readonly because: readonly Coded[] };
  readonly bad: number;
  readonly notJudged: number;
  readonly missing: number;
  /** Parts of the sample. */
  readonly parts: number;
  readonly wantedPpk: number;
  readonly ppkToProve: number | null;
}

export interface AnswerableCell {
  readonly stage: number;
  readonly step: string;
  readonly pointKpaAbs: number;
  readonly n: number;
  readonly meanKpa: number;
  readonly allowedKpa: number;
  readonly ppk: number | null;
  readonly atLeast: number | null;
  readonly margin: number;
}

/** An answer in a few words, and what belongs beside it. */
export interface Answer {
  readonly question: string;
  readonly says: string;
  readonly note: string;
}

/** What colour and shape an answer has: it is good, not shown good enough, a part is bad, or nothing can be said yet. */
export type Standing = 'good' | 'weak' | 'bad' | 'open';

export interface FourAnswers {
  readonly standing: Standing;
  readonly good: Answer;
  readonly weakest: Answer;
  readonly capable: Answer;
  readonly sure: Answer;
}

/** Below so many parts a sample is called small. Common practice, no source. */
const SMALL_SAMPLE = 30;

/** Is it good, where is it weakest, how capable is it there, how sure is that. */
export function fourAnswers(tongue: AuditTongue, audit: Answerable): FourAnswers {
  const { answers } = tongue.words;
  const { questions } = answers;
  const cell = audit.cells.find(({ stage, step }) => stage === audit.weakest?.stage && step === audit.weakest.step);
  const standing = standingOf(audit);
  const good = { question: questions.good, ...goodText(tongue, audit, standing) };
  if (cell === undefined) {
    const nothing = { says: answers.notSure, note: answers.nothing };
    const [weakest, capable, sure] = [questions.weakest, questions.capable, questions.sure];
    return {
      standing,
      good,
      weakest: { question: weakest, ...nothing },
      capable: { question: capable, ...nothing },
      sure: { question: sure, ...nothing },
    };
  }
  return {
    standing,
    good,
    weakest: { question: questions.weakest, ...weakestText(tongue, audit, cell) },
    capable: { question: questions.capable, ...capableText(tongue, audit, cell) },
    sure: { question: questions.sure, ...sureText(tongue, audit, cell) },
  };
}

function standingOf({ bad, proposal, notJudged, missing }: Answerable): Standing {
  if (bad > 0) return 'bad';
  if (proposal.decision === null || notJudged > 0 || missing > 0) return 'open';
  return proposal.decision === 'accept' ? 'good' : 'weak';
}

function goodText(tongue: AuditTongue, audit: Answerable, standing: Standing): Omit<Answer, 'question'> {
  const { answers } = tongue.words;
  const { parts, bad, notJudged, missing, proposal, wantedPpk } = audit;
  const because = (...codes: string[]) => proposal.because.find(({ code }) => codes.includes(code));
  switch (standing) {
    case 'bad': {
      const allowed = because('too-many-bad', 'few-enough-bad')?.facts['allowed'];
      return {
        says: fill(answers.bad, { bad, n: parts }),
        note: because('bad-seen') === undefined ? allowedNote(tongue, allowed) : answers.badNoteProcess,
      };
    }
    case 'open': {
      const unfinished = because('unfinished');
      if (unfinished === undefined)
        return { says: answers.unsettled, note: fill(answers.unsettledNote, { notJudged, missing }) };
      return { says: answers.unfinished, note: fill(answers.unfinishedNote, unfinished.facts) };
    }
    case 'weak': {
      const low = because('ppk-below', 'k-below')?.facts;
      const none = low === undefined ? because('no-ppk')?.facts : undefined;
      const blind = audit.stages.find((each) => each.stage === none?.['stage']);
      if (blind !== undefined)
        return { says: answers.unsettled, note: fill(answers.noPpkHolds, { at: atText(tongue, blind) }) };
      const stage = audit.stages.find((each) => each.stage === (low?.['stage'] ?? audit.weakest?.stage));
      if (stage === undefined) return { says: answers.unsettled, note: '' };
      return {
        says: fill(answers.weak, { at: atText(tongue, stage) }),
        note: fill(answers.weakNote, { target: targetText(tongue, stage) }),
      };
    }
    case 'good': {
      const reached = because('ppk-reached') !== undefined;
      const facts = { n: parts, wanted: plainText(wantedPpk, 2, tongue.language) };
      return reached
        ? { says: answers.good, note: fill(answers.goodNote, facts) }
        : { says: answers.insideOnly, note: fill(answers.insideNote, facts) };
    }
  }
}

const allowedNote = ({ words }: AuditTongue, allowed: number | string | undefined): string =>
  allowed === undefined ? '' : fill(words.answers.badNote, { allowed });

function weakestText(tongue: AuditTongue, audit: Answerable, cell: AnswerableCell): Omit<Answer, 'question'> {
  const { answers } = tongue.words;
  return {
    says: fill(answers.mean, {
      cell: cellText(tongue, audit, cell),
      kPa: signedText(cell.meanKpa, 2, tongue.language),
    }),
    note: fill(answers.meanNote, { allowed: numberText(cell.allowedKpa, 2, tongue.language) }),
  };
}

function capableText(tongue: AuditTongue, audit: Answerable, cell: AnswerableCell): Omit<Answer, 'question'> {
  const { answers } = tongue.words;
  const { language } = tongue;
  if (cell.ppk === null)
    return {
      says: answers.noPpk,
      note: fill(answers.noPpkNote, { margin: numberText(cell.margin, 2, language) }),
    };
  const others = audit.cells.flatMap((each) => (each === cell || each.ppk === null ? [] : [each.ppk]));
  const wanted = plainText(audit.wantedPpk, 2, language);
  const ppk =
    cell.ppk < audit.wantedPpk ? belowText(cell.ppk, audit.wantedPpk, language) : numberText(cell.ppk, 2, language);
  return {
    says: fill(answers.ppk, { ppk, wanted }),
    note: others.length === 0 ? '' : fill(answers.others, { ppk: numberText(Math.min(...others), 2, language) }),
  };
}

function sureText(tongue: AuditTongue, audit: Answerable, cell: AnswerableCell): Omit<Answer, 'question'> {
  const { answers } = tongue.words;
  const { language } = tongue;
  if (cell.atLeast === null || audit.ppkToProve === null) return { says: answers.notSure, note: answers.notSureNote };
  return {
    says: fill(answers.atLeast, { ppk: numberText(cell.atLeast, 2, language) }),
    note: fill(cell.n < SMALL_SAMPLE ? answers.sureSmall : answers.sure, {
      n: cell.n,
      needed: numberText(audit.ppkToProve, 2, language),
      wanted: plainText(audit.wantedPpk, 2, language),
    }),
  };
}
