import type { AuditReading } from './contract.ts';

/** An error that was passed on its very limit, in volts, must not stand outside by the rounding of the way to kPa. */
const ROUNDING = 1e-9;

/** Whether a reading is outside what is allowed to its part: the same for findings, report and screen. */
export const isOutside = ({ errorKpa, allowedKpa }: Pick<AuditReading, 'errorKpa' | 'allowedKpa'>): boolean =>
  Math.abs(errorKpa) > allowedKpa * (1 + ROUNDING);
