/** A number of the study that a flight reads at its start and a solve may change. */
export interface Parameter {
  /** Where it stands in the document. */
  readonly path: string;
  readonly name: string;
  /** Unit of the document: the compiled value times `perUnit` is SI or radians. */
  readonly unit: string;
  readonly perUnit: number;
  /** What steers: the payload, the booster phase before any upper stage burns alone, or later laws; or the time of an event. */
  readonly kind: 'payload' | 'azimuth' | 'law' | 'time';
  /** The event whose law or time the number belongs to, −1 for payload and azimuth. */
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
