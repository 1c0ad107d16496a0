/** What every report, table, chart and film that leaves the program carries. */
export const CAUTION =
  'An estimate for study and explanation; not for the design, licensing, range safety or operation of a real vehicle.';
