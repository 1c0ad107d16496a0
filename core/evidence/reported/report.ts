/** What a report says of a flight that was flown: states, insertion, masses and peaks, each with source and tolerance. */

export interface Within {
  readonly within: readonly number[];
  readonly why: string;
}

export type StateQuantity = 'height_m' | 'range_m' | 'speed_mps' | 'flightPathAngle_deg' | 'heading_deg';

export interface ReportedState {
  readonly name: string;
  readonly event: string;
  readonly stage: string;
  readonly source: string;
  readonly time_s: number;
  readonly height_m: number;
  readonly range_m?: number;
  readonly speed_mps: number;
  readonly flightPathAngle_deg: number;
  readonly heading_deg: number;
  readonly explained: Readonly<Partial<Record<string, string>>>;
}

export interface ReportedFlight {
  readonly source: string;
  readonly status: string;
  readonly fit: { readonly paths: readonly string[] };
  readonly insertion: {
    readonly source: string;
    readonly time_s: number;
    readonly height_m: number;
    readonly speed_mps: number;
    readonly flightPathAngle_deg: number;
    readonly heading_deg: number;
    readonly latitude_deg: number;
    readonly longitude_deg: number;
    readonly inclination_deg: number;
    readonly eccentricity: number;
    readonly apogee_m: number;
    readonly perigee_m: number;
    readonly period_s: number;
    /** The sphere that apogee and perigee are counted from. */
    readonly sphere_m: number;
    readonly within: Readonly<
      Record<
        | 'time_s'
        | 'speed_mps'
        | 'latitude_deg'
        | 'longitude_deg'
        | 'inclination_deg'
        | 'eccentricity'
        | 'apogee_m'
        | 'perigee_m'
        | 'period_s',
        Within
      >
    >;
  };
  readonly states: readonly ReportedState[];
  /** By stage; `speed_share` is of the published speed. What has none was given to the flight. */
  readonly tolerances: Readonly<
    Record<
      string,
      Readonly<Record<'height_m' | 'range_m' | 'flightPathAngle_deg' | 'heading_deg', Within>> & {
        readonly time_s?: Within;
        readonly speed_share?: Within;
      }
    >
  >;
  readonly masses: readonly {
    readonly name: string;
    readonly event?: string;
    readonly time_s?: number;
    readonly side: string;
    readonly mass_kg: number;
    readonly within_kg: number;
    readonly why: string;
    readonly explained?: string;
  }[];
  readonly maxDynamicPressure: {
    readonly source: string;
    readonly time_s: number;
    readonly height_m: number;
    readonly pressure_Pa: number;
    readonly withinTime_s: Within;
    readonly withinHeight_m: Within;
    readonly withinPressure_share: Within;
    readonly explained: string;
  };
  readonly mach1: {
    readonly source: string;
    readonly time_s: number;
    readonly height_m: number;
    readonly withinTime_s: Within;
    readonly withinHeight_m: Within;
    readonly explained: string;
  };
  readonly accelerationSource: string;
  readonly accelerationWithin: { readonly share: Within; readonly time_s: Within };
  readonly accelerations: readonly {
    readonly name: string;
    readonly from: string;
    readonly to: string;
    readonly time_s: number;
    readonly acceleration_mps2: number;
    readonly explained?: string;
  }[];
  readonly groundSpeedSource: string;
  readonly groundSpeeds: readonly {
    readonly name: string;
    readonly from: string;
    readonly to: string;
    readonly speed_mps: number;
    readonly share: number;
    readonly why: string;
  }[];
  /** Drag coefficients at the Mach numbers of the study's table, for its first so many arrangements. */
  readonly drag: {
    readonly status: string;
    readonly arrangements: number;
    readonly low: readonly number[];
    readonly mid: readonly number[];
    readonly high: readonly number[];
  };
  /** What another source says of ascents of the type, m/s. */
  readonly velocities: {
    readonly source: string;
    readonly status: string;
    readonly ideal_mps: number;
    readonly drag_mps: number;
    readonly within: Readonly<Record<'ideal_mps' | 'drag_mps', Within>>;
  };
  /**
   * Wind of the day where it was told: at the ground and at its peak, m/s, coming from an azimuth (degrees); the air is still
   * from `calm_m` up. Flown beside the others to say what it would change.
   */
  readonly wind?: {
    readonly source: string;
    readonly status: string;
    readonly from_deg: number;
    readonly surface_mps: number;
    readonly surfaceHeight_m: number;
    readonly peak_mps: number;
    readonly peakHeight_m: number;
    readonly calm_m: number;
  };
  readonly notes: readonly string[];
}
