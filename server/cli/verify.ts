import { verify } from '../store/verify.ts';
import { EXIT } from './exit.ts';
import type { Out } from './out.ts';
import { ledgerIn } from './setting.ts';

/** `barolot verify`: walks the whole ledger and names everything that is not as it was written. */
export function verifyLedger(options: { data: string; json: boolean }, out: Out): number {
  const verification = verify(ledgerIn(options.data));
  if (options.json) out.json(verification);
  else {
    for (const { where, sequence, what } of verification.problems) {
      out.line(`${where}${sequence === undefined ? '' : ` ${sequence}`}: ${what}`);
    }
    out.line(
      verification.ok
        ? `The chain is intact: ${verification.entries} entries, the last is ${verification.head ?? 'none'}. Note it elsewhere: it stands for all before it.`
        : `The ledger is NOT as it was written: ${verification.problems.length} finding(s) above. Stop using it, keep a copy as it is, and restore the last good one.`,
    );
  }
  return verification.ok ? EXIT.passed : EXIT.failed;
}
