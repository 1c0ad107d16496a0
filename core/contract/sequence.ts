/** The sequence part of a study: events, each a trigger and an action. */
import { z } from 'zod';
import { count, identifier, nonNegative, positive, text } from './primitives.ts';

const missionTime = z.number().min(-600).max(100_000);

const triggerSchema = z.discriminatedUnion('kind', [
  /** At this mission time; liftoff is near zero, commands before it are negative. */
  z.strictObject({
    kind: z.literal('time'),
    time_s: missionTime,
    /** The solve may move it, between these. */
    free: z
      .strictObject({ earliest_s: missionTime, latest_s: missionTime })
      .refine((free) => free.latest_s > free.earliest_s, {
        path: ['latest_s'],
        error: 'a number above earliest_s',
      })
      .optional(),
  }),
  /** This long after the last of the named events. */
  z.strictObject({
    kind: z.literal('after'),
    events: z.array(identifier).min(1),
    delay_s: nonNegative.default(0),
  }),
  /** This long before another event, whose time is found by the flight. */
  z.strictObject({ kind: z.literal('before'), event: identifier, lead_s: nonNegative }),
  /** The staging gap: start command less the last cut-off command; negative is an overlap. */
  z.strictObject({ kind: z.literal('gap'), cutoff: identifier, gap_s: z.number().min(-60).max(600) }),
  /**
   * When the body's propellant has come down so far that, after the tail-off of a cut commanded now, what is left
   * is everything but the usable part (`reserves`), or the stated mass.
   */
  z.strictObject({
    kind: z.literal('propellant'),
    body: identifier,
    left: z.union([z.literal('reserves'), z.strictObject({ mass_kg: nonNegative })]),
  }),
  // The rest depend on where the vehicle is. They are watched from release on, on the flight that carries the payload,
  // and come about once: at the first passage in the stated sense, a jump past the value included.
  /** Height above the figure. */
  z.strictObject({
    kind: z.literal('altitude'),
    height_m: z.number().min(-500).max(100_000_000),
    passing: z.enum(['rising', 'falling']),
  }),
  /** Speed against the turning ground, unless it is to be the inertial one, on which guidance computers cut off. */
  z.strictObject({
    kind: z.literal('speed'),
    speed_mps: z.number().positive().max(20_000),
    frame: z.enum(['ground', 'inertial']).optional(),
    passing: z.enum(['rising', 'falling']),
  }),
  /** ½ρv² against the air. */
  z.strictObject({
    kind: z.literal('dynamicPressure'),
    pressure_Pa: z.number().positive().max(10_000_000),
    passing: z.enum(['rising', 'falling']),
  }),
  /** What an accelerometer on board feels: all but gravity. */
  z.strictObject({
    kind: z.literal('sensedAcceleration'),
    acceleration_mps2: z.number().positive().max(2000),
  }),
  /** Free-molecular ½ρv³ against the air, falling; 1135 W/m² is customary for letting a fairing go. */
  z.strictObject({
    kind: z.literal('heatFlux'),
    heatFlux_Wpm2: z.number().positive().max(1e9).default(1135),
  }),
  /** Velocity against the ground along the radius, through zero. */
  z.strictObject({ kind: z.literal('verticalSpeed'), passing: z.enum(['rising', 'falling']) }),
]);

/** Above the horizontal; beyond 90 and −90 it points backward. */
const pitch = z.number().min(-180).max(180);
/** Out of the plane to the right; 90 would leave pitch without meaning. */
const yaw = z.number().min(-85).max(85);

const steeringLawSchema = z.discriminatedUnion('kind', [
  /** Thrust along the site's vertical of the instant of release, fixed in inertial space. */
  z.strictObject({ kind: z.literal('vertical') }),
  /** From that vertical, tilts linearly in time to the angle, toward the launch azimuth; then holds. */
  z.strictObject({
    kind: z.literal('kick'),
    angle_deg: z.number().min(0).max(60),
    duration_s: z.number().positive().max(300),
    held: z.array(z.enum(['angle_deg'])).default([]),
  }),
  /** Thrust along the air-relative velocity. */
  z.strictObject({ kind: z.literal('zeroAlpha') }),
  /** The same within the inertial plane of the launch: what of the velocity leads out of it is left out. */
  z.strictObject({ kind: z.literal('zeroAlphaInPlane') }),
  /** Keeps, fixed in inertial space, the direction that `zeroAlphaInPlane` has when this law takes effect (no wind). */
  z.strictObject({ kind: z.literal('holdInPlane') }),
  /** tan θ = a + b (t − t₀), θ above the horizontal of the law's start, in the plane of radius and velocity then. */
  z.strictObject({
    kind: z.literal('linearTangent'),
    a: z.number().min(-100).max(100),
    b_per_s: z.number().min(-1).max(1),
    held: z.array(z.enum(['a', 'b_per_s'])).default([]),
  }),
  /** The linear tangent law in a plane turned about the vertical of the law's start, to the right where positive. */
  z.strictObject({
    kind: z.literal('yawedTangent'),
    a: z.number().min(-20).max(20),
    b_per_s: z.number().min(-1).max(1),
    yaw_deg: z.number().min(-90).max(90),
    held: z.array(z.enum(['a', 'b_per_s', 'yaw_deg'])).default([]),
  }),
  /**
   * tan θ = (a + b t)/(c + d t) in the plane of the linear tangent law, told by θ at the start, θ after the span, and the
   * weight of the second against the first (their ratio of lengths as ends of a vector that is linear in time).
   */
  z.strictObject({
    kind: z.literal('bilinearTangent'),
    startAngle_deg: z.number().min(-89).max(89),
    endAngle_deg: z.number().min(-89).max(89),
    weight: z.number().min(0.01).max(100),
    span_s: z.number().positive().max(10_000),
    held: z.array(z.enum(['startAngle_deg', 'endAngle_deg', 'weight'])).default([]),
  }),
  /**
   * Pitch and yaw as smooth curves through nodes, held after the last one: one polynomial through all nodes, or a cubic
   * spline. Pitch is above the horizontal in the plane ahead, yaw out of that plane to the right, in axes fixed in inertial
   * space: `launch`, the site's vertical and the launch azimuth at release; `start`, the radius at the law's start and the
   * inertial velocity's horizontal then. Every pitch and every stated yaw is free unless the node holds it.
   */
  z.strictObject({
    kind: z.literal('attitude'),
    axes: z.enum(['launch', 'start']).default('launch'),
    shape: z.enum(['polynomial', 'spline']).default('spline'),
    nodes: z
      .array(
        z.strictObject({
          after_s: nonNegative.max(10_000),
          pitch_deg: pitch,
          yaw_deg: yaw.optional(),
          held: z.array(z.enum(['pitch_deg', 'yaw_deg'])).default([]),
        }),
      )
      .min(2)
      .max(24)
      .refine((nodes) => nodes[0]!.after_s === 0, {
        path: [0, 'after_s'],
        error: '0, the start of the law',
      })
      .refine((nodes) => nodes.every((node, i) => i === 0 || node.after_s > nodes[i - 1]!.after_s), {
        error: 'a list whose after_s rises from entry to entry',
      }),
  }),
  /** One direction, in the axes of an attitude profile. */
  z.strictObject({
    kind: z.literal('fixed'),
    axes: z.enum(['launch', 'start']).default('launch'),
    pitch_deg: pitch,
    yaw_deg: yaw.optional(),
    held: z.array(z.enum(['pitch_deg', 'yaw_deg'])).default([]),
  }),
  /** Along the velocity, inertial or against the ground; below 20 m/s it goes over into the vertical. */
  z.strictObject({
    kind: z.literal('prograde'),
    velocity: z.enum(['inertial', 'ground']).default('inertial'),
  }),
  /** Against the velocity; the same. */
  z.strictObject({
    kind: z.literal('retrograde'),
    velocity: z.enum(['inertial', 'ground']).default('ground'),
  }),
]);

const limitSchema = z.discriminatedUnion('kind', [
  /** What an accelerometer on board feels is at most this: all but gravity. */
  z.strictObject({ kind: z.literal('sensedAcceleration'), acceleration_mps2: positive.max(2000) }),
  /**
   * The greatest ½ρv² while the hold is in force is this: one throttle from its start to its end, found by the flight, and
   * full throttle where that keeps it already. Engines lit meanwhile are left alone.
   */
  z.strictObject({ kind: z.literal('dynamicPressure'), pressure_Pa: positive.max(10_000_000) }),
]);

const actionSchema = z.discriminatedUnion('kind', [
  /** Lights engines of a group: all, or so many more. */
  z.strictObject({
    kind: z.literal('light'),
    body: identifier,
    group: identifier,
    engines: count.optional(),
    throttle: z.number().min(0.01).max(1.5).default(1),
  }),
  /** Cuts a body's engines: of one group or of all, all of them or all but so many. */
  z.strictObject({
    kind: z.literal('cut'),
    body: identifier,
    group: identifier.optional(),
    keep: z.number().int().min(0).max(100).default(0),
  }),
  z.strictObject({
    kind: z.literal('throttle'),
    body: identifier,
    group: identifier,
    level: z.number().min(0.01).max(1.5),
    /** How long thrust and flow take to go there, linearly in time; a cut stops them where they stand. */
    over_s: positive.max(10_000).optional(),
  }),
  /**
   * Each engine of a group comes to this thrust and specific impulse, as when its mixture is shifted: at once, unless
   * thrust and flow are to go there linearly in time over `over_s`. A cut stops such a change where it stands; engines lit meanwhile start
   * to its end.
   */
  z.strictObject({
    kind: z.literal('shift'),
    body: identifier,
    group: identifier,
    thrustVacuum_N: positive,
    ispVacuum_s: positive.max(2000),
    over_s: positive.max(10_000).optional(),
    /** Oxidiser over fuel by mass that the body burns from now on; as before when left out. */
    mixtureRatio: positive.max(100).optional(),
  }),
  /**
   * From now on a body's burning engines (of the groups named, or all) throttle together so that a limit is kept. Engines
   * that come up or go down are left alone, and no engine throttles below its group's range. One limit is in force at a
   * time: a later hold takes over.
   */
  z.strictObject({
    kind: z.literal('hold'),
    body: identifier,
    groups: z.array(identifier).min(1).optional(),
    limit: limitSchema,
  }),
  /** Ends a hold; its engines go back to the throttle that they were commanded to. */
  z.strictObject({ kind: z.literal('endHold'), hold: identifier }),
  /** Ends the hold-down on the pad. */
  z.strictObject({ kind: z.literal('release') }),
  /** Undoes the link by which the named body rides on another. */
  z.strictObject({ kind: z.literal('part'), link: identifier }),
  z.strictObject({ kind: z.literal('steer'), law: steeringLawSchema }),
]);

const eventSchema = z.strictObject({
  id: identifier,
  name: text,
  trigger: triggerSchema,
  action: actionSchema,
});

export const sequenceSchema = z.strictObject({
  /** Clockwise from north; free in the solve when the target names an inclination. */
  launchAzimuth_deg: z.number().min(0).max(360),
  /** The cut whose tail-off ends the ascent: insertion is when that tail-off is over. */
  finalCutoff: identifier,
  events: z.array(eventSchema).min(1),
});

export type SequenceEvent = z.infer<typeof eventSchema>;
export type Trigger = z.infer<typeof triggerSchema>;
/** A trigger that only the flight can find. */
export type StateTrigger = Exclude<Trigger, { kind: 'time' | 'after' | 'before' | 'gap' | 'propellant' }>;
export type Action = z.infer<typeof actionSchema>;
export type SteeringLaw = z.infer<typeof steeringLawSchema>;
