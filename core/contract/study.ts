/**
 * The study document: what a `*.plumeline.json` file may hold. SI units, the unit in every key.
 * Angles in files are degrees, since people read them; the compiled study holds radians.
 */
import { z } from 'zod';
import { filmSchema } from './film.ts';
import { returnsSchema } from './returns.ts';
import { claimSchema } from './claims.ts';
import { sequenceSchema } from './sequence.ts';
import { vehicleSchema } from './vehicle.ts';
import { stagingModeSchema } from './parting.ts';
import { identifier, nonNegative, positive, text } from './primitives.ts';

/** The format number that this version writes. Older numbers are carried forward by `migrate`. */
export const STUDY_FORMAT = 1;

/** Where the air moves to, by height above the figure; between two heights linear, beyond the ends held. */
const windSchema = z
  .array(
    z.strictObject({
      height_m: z.number().min(-500).max(1_000_000),
      eastward_mps: z.number().min(-300).max(300),
      northward_mps: z.number().min(-300).max(300),
    }),
  )
  .min(2)
  .refine((rows) => rows.every((row, i) => i === 0 || row.height_m > rows[i - 1]!.height_m), {
    error: 'a list whose height_m rises from entry to entry',
  });

const earthSchema = z.strictObject({
  /** `central`: GM/r². `j2`: with the second zonal harmonic. */
  gravity: z.enum(['central', 'j2']),
  /** What heights are measured from: a sphere of the equatorial radius, or the WGS 84 ellipsoid. */
  figure: z.enum(['sphere', 'ellipsoid']),
  atmosphere: z.discriminatedUnion('kind', [
    z.strictObject({ kind: z.literal('us1976') }),
    z.strictObject({
      kind: z.literal('exponential'),
      seaLevelDensity_kgpm3: positive,
      scaleHeight_m: positive,
      pressure_Pa: nonNegative.default(0),
      soundSpeed_mps: positive.default(340),
    }),
    z.strictObject({ kind: z.literal('none') }),
  ]),
  wind: windSchema.optional(),
  /** Constants of the Earth other than WGS 84's, as published benchmarks have; on the sphere alone. */
  constants: z
    .strictObject({
      gravitationalParameter_m3ps2: positive,
      equatorialRadius_m: positive,
      rotationRate_radps: nonNegative,
    })
    .optional(),
});

const siteSchema = z.strictObject({
  name: text,
  /** Geodetic, north positive; on the sphere it is the geocentric one. */
  latitude_deg: z.number().min(-90).max(90),
  /** East positive. */
  longitude_deg: z.number().min(-180).max(180),
  /** Of the vehicle at rest, above the figure. */
  height_m: z.number().min(-500).max(6000),
});

/** No orbit lasts below, m. */
const LOWEST_ORBIT_m = 80_000;

/**
 * Osculating at insertion; heights above the equatorial radius. Angles are those of the inertial frame, whose x axis runs
 * through longitude 0 on the equator at mission time 0, and z through the north pole.
 */
const targetSchema = z
  .strictObject({
    /** An orbit (when left out), or a height and no more: the apogee alone, reached once; perigee_m is then 0. */
    kind: z.enum(['orbit', 'apogee']).optional(),
    perigee_m: z.number().min(0).max(100_000_000),
    apogee_m: z.number().min(1000).max(400_000_000),
    inclination_deg: z.number().min(0).max(180).optional(),
    /** Right ascension of the ascending node, from the x axis. */
    ascendingNode_deg: z.number().min(-360).max(360).optional(),
    argumentOfPerigee_deg: z.number().min(-360).max(360).optional(),
    /** Where on the ellipse: at its perigee (when left out), or anywhere, as the solve likes. */
    insertion: z.enum(['perigee', 'anywhere']).optional(),
  })
  .refine((target) => target.kind === 'apogee' || target.perigee_m >= LOWEST_ORBIT_m, {
    path: ['perigee_m'],
    error: `a number of at least ${LOWEST_ORBIT_m}`,
  })
  .refine((target) => target.apogee_m >= target.perigee_m, {
    path: ['apogee_m'],
    error: 'a number of at least perigee_m',
  });

/** What the flight of an answer must keep to. A plain flight is flown whether it keeps to them or not. */
const limitsSchema = z.strictObject({
  /** Greatest ½ρv² from release to insertion. */
  dynamicPressure_Pa: positive.optional(),
  /** Greatest product of that and the angle between thrust and the air's flow. */
  pressureAngle_Parad: positive.optional(),
  /** Greatest of what an accelerometer on board feels. */
  sensedAcceleration_mps2: positive.optional(),
  /** Greatest free-molecular ½ρv³ at an event, such as the parting of a fairing; 1135 W/m² is customary. */
  heatFluxAt: z
    .array(z.strictObject({ event: identifier, heatFlux_Wpm2: positive.default(1135) }))
    .optional(),
  /** Least height above the figure at an event, such as a cut-off. */
  altitudeAt: z
    .array(z.strictObject({ event: identifier, least_m: z.number().min(-500).max(100_000_000) }))
    .optional(),
});

/** How a number is known, beside its path in the document. */
const provenanceSchema = z.strictObject({
  source: text,
  note: z.string().max(4000).optional(),
  /**
   * How uncertain the number is, in the number's own unit. `uniform` and `triangular` (peak at the number itself) lie
   * between low and high; `normal` has two thirds of its weight between them.
   */
  spread: z
    .strictObject({
      shape: z.enum(['uniform', 'triangular', 'normal']),
      low: z.number(),
      high: z.number(),
    })
    .refine((spread) => spread.high >= spread.low, { path: ['high'], error: 'a number of at least low' })
    .optional(),
});

export const studySchema = z.strictObject({
  format: z.literal(STUDY_FORMAT),
  title: text,
  notes: z.string().max(40_000).default(''),
  earth: earthSchema,
  site: siteSchema,
  target: targetSchema,
  /**
   * What a solve makes the most of: the payload (when left out); or, with the payload as it stands and an event's time free
   * to be moved, the mass at insertion, or the least propellant burned.
   */
  goal: z.enum(['mostPayload', 'mostFinalMass', 'leastPropellant']).optional(),
  limits: limitsSchema.optional(),
  /** `mass_kg` is flown as it is by a flight and is where a solve starts from. */
  payload: z.strictObject({ mass_kg: nonNegative, ridesOn: identifier }),
  vehicle: vehicleSchema,
  sequence: sequenceSchema,
  /** Ways of staging to be held against each other. */
  stagingModes: z.record(identifier, stagingModeSchema).optional(),
  /** How bodies fly home; left out where none does. */
  returns: returnsSchema.optional(),
  claims: z.array(claimSchema).optional(),
  /** By path, such as `vehicle.bodies.upper.dryMass_kg` or `sequence.events.kick.action.law.angle_deg`. */
  provenance: z.record(z.string(), provenanceSchema).default({}),
  /** The film that is made of it; left out while none was edited. */
  film: filmSchema.optional(),
});

/** A validated study. */
export type Study = z.infer<typeof studySchema>;
export type Goal = NonNullable<Study['goal']>;
export type Site = Study['site'];
export type Target = Study['target'];
