/** What parts two bodies, and what their tanks hold: the data of the seconds around staging. */
import { z } from 'zod';
import { FLUID_NAMES } from '../constants/fluids.ts';
import { count, fraction, identifier, nonNegative, positive, text } from './primitives.ts';

/** A tank as a cylinder about the body's axis. How full it is follows from propellant, mixture ratio and volume. */
export const tankSchema = z
  .strictObject({
    name: text,
    holds: z.enum(['oxidiser', 'fuel']),
    fluid: z.enum(FLUID_NAMES),
    radius_m: positive.max(50),
    /** One of the two: the volume, or the length of the cylinder. */
    volume_m3: positive.max(100_000).optional(),
    length_m: positive.max(200).optional(),
    /** Of the tank's lower end above the body's lower end; for drawing. */
    station_m: nonNegative.optional(),
  })
  .refine((tank) => (tank.volume_m3 === undefined) !== (tank.length_m === undefined), {
    path: ['volume_m3'],
    error: 'exactly one of volume_m3 and length_m',
  });

/** What every mechanism has: a name, the body that carries it, and its mass. */
const carried = {
  name: text,
  /** The body that carries its mass on after parting. */
  body: identifier,
  /** Of all of its kind together, without motors' propellant, and without what the named fitting weighs already. */
  mass_kg: nonNegative.default(0),
  /** The entry of the body's fittings that is this mechanism's mass. */
  fitting: identifier.optional(),
};

/** Where like things stand: evenly on a circle about the axis. */
const ringed = { count, pitchRadius_m: nonNegative.max(50) };

const motor = {
  ...carried,
  ...ringed,
  /** Of one motor, constant over its burn. */
  thrust_N: positive,
  burn_s: positive.max(600),
  /** Of one motor, beside its mass. */
  propellant_kg: nonNegative,
  /** Between the motor's thrust and the body's axis; the motors stand evenly, so that only the cosine is left. */
  cant_deg: z.number().min(0).max(80).default(0),
  /** From release; negative is before it, as far back as the release is known by the clock. */
  ignitionDelay_s: z.number().min(-60).max(600).default(0),
};

/** Plume push on the lower body, as a share of the thrust above it, against the gap; held beyond the ends. */
const impingementSchema = z
  .strictObject({
    distance_m: z.array(nonNegative.max(1000)).min(1),
    /** At distance 0 also while joined: of an engine that fires at its own booster this share is lost to the stack. */
    share: z.array(fraction).min(1),
  })
  .refine((table) => table.share.length === table.distance_m.length, {
    path: ['share'],
    error: 'a list of as many entries as distance_m',
  })
  .refine((table) => table.distance_m.every((d, i) => i === 0 || d > table.distance_m[i - 1]!), {
    path: ['distance_m'],
    error: 'a list that rises from entry to entry',
  });

export const mechanismSchema = z.discriminatedUnion('kind', [
  /** Compressed by the stroke at release, without force at its end. */
  z.strictObject({
    kind: z.literal('springs'),
    ...carried,
    ...ringed,
    stroke_m: positive.max(10),
    /** Of one spring. */
    rate_Npm: positive,
    /** So many give nothing; they stand side by side, the first on the lower side of the stack. */
    failed: z.number().int().min(0).max(100).default(0),
  }),
  /** Gas pushers: a force that falls linearly over the stroke from start to end. */
  z.strictObject({
    kind: z.literal('pushers'),
    ...carried,
    ...ringed,
    stroke_m: positive.max(10),
    /** Of one pusher, at release. */
    force_N: positive,
    /** Of one pusher, at the end of the stroke; the force at release when left out. */
    endForce_N: nonNegative.optional(),
    failed: z.number().int().min(0).max(100).default(0),
  }),
  /** Motors on the lower body that push it back. */
  z.strictObject({ kind: z.literal('retro'), ...motor }),
  /** Motors on the upper body that push it on and settle its propellant. */
  z.strictObject({ kind: z.literal('settling'), ...motor }),
  /** The stack turns when it is let go, and the bodies drift apart; positive turns the nose up. */
  z.strictObject({ kind: z.literal('spin'), ...carried, rate_degps: z.number().min(-60).max(60) }),
  /** A vented ring for lighting the upper stage before letting go. */
  z.strictObject({ kind: z.literal('ring'), ...carried, impingement: impingementSchema.optional() }),
]);

/** How deep the upper body stands in the interstage, and how far from its wall. */
const rimSchema = z.strictObject({ overlap_m: nonNegative.max(50), clearance_m: positive.max(10) });

/** A steering law that would set in sooner after release waits so long: the direction is kept until the bodies are clear. */
const holdSchema = nonNegative.max(60);

export const linkSchema = z.strictObject({
  /** `pushed`: the flight takes what the mechanisms give. `instant`: bodies part without force; their masses count. */
  parting: z.enum(['pushed', 'instant']).default('pushed'),
  rim: rimSchema.optional(),
  hold_s: holdSchema.optional(),
  mechanisms: z.record(identifier, mechanismSchema).default({}),
});

/** What the gap of a way of staging follows from. */
const gapRuleSchema = z.discriminatedUnion('kind', [
  /** So long, whatever comes of it. */
  z.strictObject({ kind: z.literal('fixed'), gap_s: z.number().min(-60).max(600) }),
  /** The start command comes when this much gap is open between the bodies. */
  z.strictObject({ kind: z.literal('clearance'), clearance_m: positive.max(1000) }),
  /** That, and not before every tank of the upper body is settled. */
  z.strictObject({ kind: z.literal('settled'), clearance_m: positive.max(1000) }),
]);

/** One way of staging, to be held against others: what parts the bodies, and what the gap follows from. */
export const stagingModeSchema = z.strictObject({
  name: text,
  /** The body whose link is meant. */
  link: identifier,
  /** The event whose gap is meant; the study's first when left out. */
  event: identifier.optional(),
  rim: rimSchema.optional(),
  hold_s: holdSchema.optional(),
  mechanisms: z.record(identifier, mechanismSchema).default({}),
  gapRule: gapRuleSchema,
});

export type Tank = z.infer<typeof tankSchema>;
export type Mechanism = z.infer<typeof mechanismSchema>;
export type Link = z.infer<typeof linkSchema>;
export type StagingMode = z.infer<typeof stagingModeSchema>;
