import { fill } from '../../station/words/fill.ts';
import type { Language } from '../../station/words/number-text.ts';
import type { AuditView } from '../audit/contract.ts';
import { characteristics } from './pdf/characteristics.ts';
import { comparisons } from './pdf/comparisons.ts';
import { conditions } from './pdf/conditions.ts';
import { front } from './pdf/front.ts';
import { judgement } from './pdf/judgement.ts';
import { readings } from './pdf/readings.ts';
import { results } from './pdf/results.ts';
import { sample } from './pdf/sample.ts';
import { Sheet } from './pdf/sheet.ts';
import type { Paper } from './pdf/sheet.ts';
import { voiceOf } from './pdf/voice.ts';

export interface ReportWish {
  readonly paper: Paper;
  readonly language: Language;
  /** IANA name of the zone in which times are told. */
  readonly timeZone: string;
}

/**
 * The report of an audit as a tagged PDF: what was asked, how the parts were chosen, what was measured on each, by what it
 * was judged and what somebody decided. Content after ISO/IEC 17025:2017 7.8 (from memory); no accreditation is claimed.
 * Everything in it comes from `view`, and the time in the file is that of the decision (of the draw before there is one):
 * the same audit and the same wish give the same bytes. `stop` is called between its sections: what it throws ends the work.
 *
 * @throws RangeError for a time zone that is none
 */
export async function auditPdf(
  view: AuditView,
  { paper, language, timeZone }: ReportWish,
  stop: () => void = () => undefined,
): Promise<Uint8Array> {
  const voice = voiceOf(view, language, timeZone);
  const { report } = voice;
  const { audit, partNumber, lot, plant, program } = view;
  const sheet = new Sheet({
    ...{ paper, language },
    title: fill(report.subject, { partNumber, lot, audit }),
    author: plant,
    subject: view.title,
    madeAt: new Date(view.decision?.at ?? view.drawnAt),
    running: {
      head: fill(report.running, { partNumber, lot, audit }),
      foot: `${plant} · ${program} · ${fill(report.times, { zone: timeZone })}`,
      warning: view.origin === 'simulated' ? report.simulated : null,
      page: (page, pages) => fill(report.page, { page, pages }),
    },
  });
  const sections = [front, results, characteristics, comparisons, sample, conditions, judgement, readings];
  for (const section of sections) {
    stop();
    section(sheet, view, voice);
  }
  sheet.space(8);
  sheet.paragraph(`— ${fill(report.end, { audit })} —`, { align: 'center', face: 'bold' });
  return sheet.bytes();
}
