/** The vehicle part of a study: bodies, engines, propellant, aerodynamics and what rides on what. */
import { z } from 'zod';
import { linkSchema, tankSchema } from './parting.ts';
import { count, fraction, identifier, nonNegative, positive, text } from './primitives.ts';

/** A start or a stop: nothing for `delay_s` after the command, then a linear change over `ramp_s`. */
const transientSchema = z.strictObject({ delay_s: nonNegative.max(60), ramp_s: nonNegative.max(60) });

/** Engines of one kind on one body that are commanded together. Thrust, flow and area are for one engine. */
const engineGroupSchema = z.strictObject({
  name: text,
  count,
  thrustVacuum_N: positive,
  /** Vacuum thrust over weight flow at standard gravity 9.80665 m/s². */
  ispVacuum_s: positive.max(2000),
  /** Ambient pressure times this is what the air takes off the thrust. */
  exitArea_m2: nonNegative,
  /** Range of the throttle, as a fraction of the vacuum thrust; 1 and 1 for engines that cannot throttle. */
  throttle: z
    .strictObject({ least: fraction, most: z.number().min(0.1).max(1.5) })
    .refine((range) => range.most >= range.least, { path: ['most'], error: 'a number of at least least' })
    .default({ least: 1, most: 1 }),
  startUp: transientSchema.default({ delay_s: 0, ramp_s: 0 }),
  shutDown: transientSchema.default({ delay_s: 0, ramp_s: 0 }),
});

/** Propellant by purpose. Only the usable part may burn during the ascent. */
const propellantSchema = z.strictObject({
  usable_kg: nonNegative,
  /** Never burns. */
  residual_kg: nonNegative.default(0),
  /** Kept for a flight that goes worse than planned. */
  flightReserve_kg: nonNegative.default(0),
  /** Kept for boostback, entry and landing. */
  returnReserve_kg: nonNegative.default(0),
});

/** Size and outline for drawing; lengths and stations along the axis from the body's lower end. */
const shapeSchema = z
  .strictObject({
    length_m: positive,
    diameter_m: positive,
    /** Steps in the outline, from the lower end up: from this station on, this diameter. */
    steps: z.array(z.strictObject({ station_m: nonNegative, diameter_m: positive })).default([]),
  })
  .refine((shape) => shape.steps.every((step) => step.station_m < shape.length_m), {
    path: ['steps'],
    error: 'a list of steps whose station_m is below length_m',
  })
  .refine(({ steps }) => steps.every((step, i) => i === 0 || step.station_m > steps[i - 1]!.station_m), {
    path: ['steps'],
    error: 'a list of steps whose station_m rises from step to step',
  });

const bodySchema = z.strictObject({
  name: text,
  role: z.enum(['booster', 'upper', 'strapOn', 'ring', 'fairing']),
  /** The body that carries this one; the link between the two has this body's key as its name. */
  ridesOn: identifier.optional(),
  dryMass_kg: nonNegative,
  /** Masses that belong to a way of staging: ring, springs, pushers, settling motors. */
  fittings: z.record(identifier, z.strictObject({ name: text, mass_kg: nonNegative })).default({}),
  propellant: propellantSchema.optional(),
  /** Oxidiser over fuel by mass, as loaded and as burned until a shift. */
  mixtureRatio: positive.max(100).optional(),
  engineGroups: z.record(identifier, engineGroupSchema).default({}),
  tanks: z.record(identifier, tankSchema).optional(),
  /** What holds this body to the one that it rides on, and parts them. */
  link: linkSchema.optional(),
  shape: shapeSchema.optional(),
});

/** Drag over dynamic pressure times reference area against Mach number, both dimensionless; beyond the ends held. */
export const dragCoefficientSchema = z
  .strictObject({
    mach: z.array(nonNegative).min(1),
    /** At zero angle of attack. */
    value: z.array(nonNegative.max(20)).min(1),
    between: z.enum(['linear', 'monotoneCubic']).default('linear'),
  })
  .refine((table) => table.mach.length === table.value.length, {
    path: ['value'],
    error: 'a list of as many entries as mach',
  })
  .refine((table) => table.mach.every((m, i) => i === 0 || m > table.mach[i - 1]!), {
    path: ['mach'],
    error: 'a list that rises from entry to entry',
  });

/** Drag of one arrangement of bodies flying together. */
const aerodynamicsSchema = z.strictObject({
  /** In any order. */
  bodies: z.array(identifier).min(1),
  referenceArea_m2: positive,
  /** Normal force over dynamic pressure, reference area and angle of attack; none when left out. */
  normalForceSlope_per_rad: nonNegative.max(100).optional(),
  dragCoefficient: dragCoefficientSchema,
});

export const vehicleSchema = z.strictObject({
  name: text,
  /** By the name that the sequence refers to. Exactly one of them, the lowest, rides on nothing. */
  bodies: z.record(identifier, bodySchema),
  /** One entry for each arrangement of bodies that flies, the pieces set free among them. */
  aerodynamics: z.array(aerodynamicsSchema).min(1),
});

export type Vehicle = z.infer<typeof vehicleSchema>;
export type Body = z.infer<typeof bodySchema>;
export type EngineGroup = z.infer<typeof engineGroupSchema>;
export type Propellant = z.infer<typeof propellantSchema>;
export type Aerodynamics = z.infer<typeof aerodynamicsSchema>;
