import { checkWhole } from '../checks.ts';
import { QualityError } from '../errors.ts';

/** A lot of whole size 1 or more that is not smaller than the sample, or a QualityError (`beyond-lot` for the sample). */
export function checkSampleOfLot(lot: number, sample: number, keys = { lot: 'lot', sample: 'n' }): void {
  checkWhole(lot, keys.lot, 1);
  if (sample > lot) {
    throw new QualityError('beyond-lot', keys.sample, `${keys.sample} is ${sample}; the lot has only ${lot} parts`);
  }
}

/** A whole number of bad parts from 0 to the lot size, or a QualityError (`beyond-lot` above it). */
export function checkBadOfLot(lot: number, bad: number, key = 'bad'): void {
  checkWhole(bad, key, 0);
  if (bad > lot) throw new QualityError('beyond-lot', key, `${key} is ${bad}; the lot has only ${lot} parts`);
}
