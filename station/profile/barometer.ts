/**
 * Where the barometer may stand in a plant: sea level in high weather down to 1,400 m in low weather (ISO 2533 gives
 * 85.6 kPa at 1,400 m; weather moves it by 2 to 3 kPa). A profile must hold anywhere in between.
 */
export const BAROMETER_KPA_ABS = { low: 85, high: 105 } as const;
