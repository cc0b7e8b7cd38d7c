import { unreachable } from '../../station/assert.ts';
import { auditView, latestAudits } from '../audit/audits.ts';
import { comparisonOf, othersOf } from '../audit/comparison/comparing.ts';
import type { AuditView } from '../audit/contract.ts';
import type { AuditMemory } from '../audit/memory.ts';
import { suspectLots, suspectsCsv } from '../audit/deciding.ts';
import { drawnFrom } from '../audit/drawing.ts';
import { latestLots, lotView } from '../audit/lots.ts';
import { samplingPlanView } from '../audit/sampling.ts';
import { auditCsv, auditJson } from '../report/audit-exports.ts';
import { comparisonCsv } from '../report/comparison-csv.ts';
import { fileName } from '../report/csv.ts';
import { driftCsv } from '../report/drift-csv.ts';
import type { LedgerReader } from '../store/reader.ts';
import type { Answer, ClerkGiven, Question } from './question.ts';

/** What answers are made of. */
export interface AnswerGiven extends Omit<ClerkGiven, 'ledger'> {
  readonly reader: LedgerReader;
  readonly memory: AuditMemory;
}

const JSON_TYPE = 'application/json; charset=utf-8';
const CSV_TYPE = 'text/csv; charset=utf-8';

/**
 * Answers a question by one moment of the ledger, the latest. `stop` is called again and again on the way, and what it
 * throws ends the work.
 *
 * Throws the HttpProblems `no-such-audit`, `no-such-lot`, `same-audit`, `other-part-number`, and the store's errors.
 */
export async function answerOf(given: AnswerGiven, question: Question, stop: () => void): Promise<Answer> {
  const { reader, memory } = given;
  const seen = <T>(look: () => T): T => reader.atOneMoment(look);
  switch (question.kind) {
    case 'audits':
      return json(seen(() => latestAudits(reader, question, question.limit, { memory, stop })));
    case 'audit':
      return json(auditOf(given, question.audit, stop));
    case 'report':
      return report(given, question, stop);
    case 'readings': {
      const view = auditOf(given, question.audit, stop);
      return file(auditCsv(view), CSV_TYPE, `${nameOf(view)}.csv`);
    }
    case 'audit-json': {
      const [view, list] = seen(() => [
        auditView(reader, question.audit, given.plant, memory, stop),
        drawnFrom(reader, question.audit),
      ]);
      return file(auditJson(view, list), JSON_TYPE, `${nameOf(view)}.json`);
    }
    case 'drift-csv': {
      const view = auditOf(given, question.audit, stop);
      return file(driftCsv(view), CSV_TYPE, `${fileName(`drift-${view.partNumber}-${view.lot}`)}.csv`);
    }
    case 'others':
      return json(seen(() => othersOf(reader, question.audit, { memory, stop })));
    case 'comparison':
      return json(seen(() => comparisonOf(reader, question.audit, question.other, { memory, stop })));
    case 'comparison-csv': {
      const comparison = seen(() => comparisonOf(reader, question.audit, question.other, { memory, stop }));
      const { partNumber, here, there } = comparison;
      const name = fileName(`audit-${partNumber}-${here.lot}-against-${there.lot}`);
      return file(comparisonCsv(comparison), CSV_TYPE, `${name}.csv`);
    }
    case 'lots':
      return json(seen(() => latestLots(reader, question.limit)));
    case 'lot':
      return json(seen(() => lotView(reader, question.partNumber, question.lot)));
    case 'suspects':
      return json(seen(() => suspectLots(reader, question.partNumber, question.lot)));
    case 'suspects-csv': {
      const text = seen(() => suspectsCsv(reader, question.partNumber, question.lot));
      return file(text, CSV_TYPE, `${fileName(`suspects-${question.lot}`)}.csv`);
    }
    case 'sampling-plan':
      return json(seen(() => samplingPlanView(reader, question.partNumber, question.conditions)));
    default:
      return unreachable(question);
  }
}

async function report(
  given: AnswerGiven,
  { audit, paper, language }: Extract<Question, { kind: 'report' }>,
  stop: () => void,
): Promise<Answer> {
  const view = auditOf(given, audit, stop);
  stop();
  // Fonts and drawing are loaded when the first report is asked for: other answers need not wait for them.
  const { auditPdf } = await import('../report/audit-pdf.ts');
  const pdf = await auditPdf(view, { paper, language, timeZone: given.timeZone }, stop);
  return {
    type: 'application/pdf',
    disposition: `inline; filename="${nameOf(view)}.pdf"`,
    bytes: new Uint8Array(pdf),
  };
}

const auditOf = ({ reader, plant, memory }: AnswerGiven, audit: string, stop: () => void): AuditView =>
  reader.atOneMoment(() => auditView(reader, audit, plant, memory, stop));

const encoder = new TextEncoder();
const json = (value: object): Answer => ({
  type: JSON_TYPE,
  disposition: null,
  bytes: encoder.encode(JSON.stringify(value)),
});
const file = (text: string, type: string, name: string): Answer => ({
  type,
  disposition: `attachment; filename="${name}"`,
  bytes: encoder.encode(text),
});

const nameOf = ({ partNumber, lot }: AuditView): string => fileName(`audit-${partNumber}-${lot}`);
