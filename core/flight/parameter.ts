/** A number of the study that a flight reads at its start and a solve may change. */
export interface Parameter {
  /** Where it stands in the document. */
  readonly path: string;
  readonly name: string;
  /** Unit of the document: the compiled value times `perUnit` is SI or radians. */
  readonly unit: string;
  readonly perUnit: number;
  /**
   * What steers: the payload, the booster phase before any upper stage burns alone, or later laws; or the time of an event;
   * or how much of a body's load, which stays as it is, is kept for its return.
   */
  readonly kind: 'payload' | 'azimuth' | 'law' | 'time' | 'reserve';
  /** The event whose law or time the number belongs to, −1 for payload, azimuth and reserve. */
  readonly event: number;
  /** Whether a solve may change it. */
  readonly free: boolean;
  /** SI or radians. */
  readonly value: number;
  /** A change of this size matters; SI or radians. */
  readonly scale: number;
  readonly lower: number;
  readonly upper: number;
  /** First segment of the plan on which it acts. */
  readonly firstSegment: number;
}
