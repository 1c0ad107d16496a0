/** The returns part of a study: how bodies that keep a return reserve fly home. Any number of plans, some of them chosen. */
import { z } from 'zod';
import { count, identifier, nonNegative, positive, text } from './primitives.ts';
import { dragCoefficientSchema } from './vehicle.ts';

/** Engines of one group of the body that burn together: all of the group, or so many. */
const enginesSchema = z
  .array(z.strictObject({ group: identifier, engines: count.optional() }))
  .min(1)
  .describe('a list of at least one engine group');

/** A burn at a set throttle. */
const burnSchema = z.strictObject({
  engines: enginesSchema,
  throttle: z.number().min(0.01).max(1.5).default(1),
});

/** Where the body comes down; heights above the figure. */
const placeSchema = z.discriminatedUnion('kind', [
  /** Wherever its path takes it. */
  z.strictObject({ kind: z.literal('downrange'), height_m: z.number().min(-500).max(6000).default(0) }),
  /** At the site's own latitude, longitude and height. */
  z.strictObject({ kind: z.literal('launchSite') }),
  z.strictObject({
    kind: z.literal('point'),
    name: text,
    latitude_deg: z.number().min(-90).max(90),
    longitude_deg: z.number().min(-180).max(180),
    height_m: z.number().min(-500).max(6000).default(0),
  }),
]);

const atHeight = z.strictObject({ kind: z.literal('altitude'), height_m: z.number().min(0).max(200_000) });
const atSpeed = z.strictObject({ kind: z.literal('speed'), speed_mps: z.number().positive().max(12_000) });
const atPressure = z.strictObject({ kind: z.literal('dynamicPressure'), pressure_Pa: positive.max(1e7) });
/** Stagnation heating at the plan's nose radius. */
const atHeating = z.strictObject({ kind: z.literal('heating'), heatFlux_Wpm2: positive.max(1e9) });
/** The solve decides. */
const free = z.strictObject({ kind: z.literal('free') });

const edgeSchema = z.discriminatedUnion('kind', [free, atHeight, atSpeed, atPressure, atHeating]);

/** A body's flight home after its parting, from the end of its tail-off to touchdown. */
const returnPlanSchema = z.strictObject({
  name: text,
  body: identifier,
  place: placeSchema,
  /** Turns from the attitude at parting to that of the next burn; meanwhile some engines may burn on. */
  turn: z.strictObject({
    /** Nothing is done for this long first. */
    wait_s: nonNegative.max(600).default(0),
    pitchRate_degps: positive.max(180),
    burn: burnSchema.optional(),
  }),
  /** Along one direction fixed in space; direction and length are solved for. */
  boostback: burnSchema.optional(),
  /** Against the air, from the start until the end that the edges say. */
  entry: burnSchema.extend({ start: edgeSchema, end: edgeSchema }).optional(),
  /** As late as the engines' range allows, less the margin: a share of the greatest thrust that is held back. */
  landing: z.strictObject({ engines: enginesSchema, margin: z.number().min(0).max(0.9).default(0) }),
  /** For stagnation heating. */
  noseRadius_m: positive.max(100),
  /** Drag tail first; the arrangement's own table when left out. */
  aerodynamics: z
    .strictObject({ referenceArea_m2: positive, dragCoefficient: dragCoefficientSchema })
    .optional(),
  /** What the flight home must not exceed; none where left out. */
  limits: z
    .strictObject({
      dynamicPressure_Pa: positive.optional(),
      heatFlux_Wpm2: positive.optional(),
      /** Felt on board: all but gravity. */
      load_mps2: positive.optional(),
    })
    .default({}),
  /** `given`: the body's returnReserve_kg. `taken`: what the return takes and a share of it, in a solve with the ascent. */
  reserve: z
    .discriminatedUnion('kind', [
      z.strictObject({ kind: z.literal('given') }),
      z.strictObject({ kind: z.literal('taken'), margin: nonNegative.max(10).default(0) }),
    ])
    .default({ kind: 'given' }),
});

/**
 * A way down that is not flown but allowed for: velocities for leaving orbit and for landing, which by the rocket
 * equation take propellant from the return reserve of a body that has reached orbit.
 */
const allowanceSchema = z.strictObject({
  deorbit_mps: nonNegative.max(10_000),
  landing_mps: nonNegative.max(10_000),
  deorbitGroup: identifier,
  landingGroup: identifier,
});

export const returnsSchema = z.strictObject({
  /** The plans that are flown, one a body at most. */
  chosen: z.array(identifier).default([]),
  plans: z.record(identifier, returnPlanSchema).default({}),
  /** By body. */
  allowances: z.record(identifier, allowanceSchema).default({}),
});

export type Returns = z.infer<typeof returnsSchema>;
export type ReturnPlan = z.infer<typeof returnPlanSchema>;
export type ReturnEngines = ReturnPlan['landing']['engines'];
export type ReturnEdge = NonNullable<ReturnPlan['entry']>['start'];
export type ReturnAllowance = Returns['allowances'][string];
