/** One planted mistake each: how the invented study is spoiled, and what the loader must say. */

import type { Spoil } from '../../fixtures/study.ts';

// A document is spoilt in ways that no type would let through.
/* eslint-disable @typescript-eslint/no-explicit-any, @typescript-eslint/no-unsafe-member-access,
   @typescript-eslint/no-unsafe-call */

export interface Mistake {
  readonly what: string;
  readonly spoil: Spoil;
  /** Expected path of the first problem. */
  readonly path: string;
  /** What the sentence of the first problem must contain besides its path. */
  readonly words: readonly string[];
}

const mistake = (what: string, spoil: Spoil, path: string, ...words: string[]): Mistake => ({
  what,
  spoil,
  path,
  words,
});

const UPPER = 'vehicle.bodies.upper';
const MAIN = 'vehicle.bodies.booster.engineGroups.main';
const mainOf = (s: any): any => s.vehicle.bodies.booster.engineGroups.main;
// Indices of the events that are spoiled.
const START = 0;
const RELEASE = 1;
const RISE = 2;
const KICK = 3;
const TURN = 4;
const EASE = 5;
const PART_CUT = 6;
const MECO = 7;
const PARTING = 8;
const IGNITION = 9;
const TANGENT = 10;
const UNVEIL = 11;
const SECO = 12;

/** Values and keys that the schema refuses. */
export const INVALID: readonly Mistake[] = [
  mistake(
    'a tank with volume and length',
    (s) =>
      (s.vehicle.bodies.upper.tanks = {
        lox: { name: 'o', holds: 'oxidiser', fluid: 'oxygen', radius_m: 1, volume_m3: 1, length_m: 2 },
      }),
    `${UPPER}.tanks.lox.volume_m3`,
    'exactly one of volume_m3 and length_m',
  ),
  mistake(
    'a liquid that is not in the table',
    (s) =>
      (s.vehicle.bodies.upper.tanks = {
        lox: { name: 'o', holds: 'oxidiser', fluid: 'oxigen', radius_m: 1, volume_m3: 1 },
      }),
    `${UPPER}.tanks.lox.fluid`,
    'received "oxigen"',
    'did you mean "oxygen"?',
  ),
  mistake(
    'a height passed in no known sense',
    (s) => (s.sequence.events[UNVEIL].trigger = { kind: 'altitude', height_m: 1e5, passing: 'up' }),
    'sequence.events.unveil.trigger.passing',
    'received "up"',
    '"rising" or "falling"',
  ),
  mistake(
    'a negative mass',
    (s) => (s.vehicle.bodies.upper.dryMass_kg = -5),
    `${UPPER}.dryMass_kg`,
    'received -5',
    'a number of at least 0',
  ),
  mistake(
    'a text where a number belongs',
    (s) => (s.vehicle.bodies.upper.dryMass_kg = '1650 kg'),
    `${UPPER}.dryMass_kg`,
    'received "1650 kg"',
    'a number of at least 0',
  ),
  mistake('null', (s) => (s.site.height_m = null), 'site.height_m', 'received null', 'from -500 to 6000'),
  mistake(
    'a missing key',
    (s) => delete s.vehicle.bodies.upper.dryMass_kg,
    `${UPPER}.dryMass_kg`,
    'the key is missing',
    'a number of at least 0',
  ),
  mistake(
    'a misspelt key that may be left out',
    (s) => (s.vehicle.bodies.upper.propelant = {}),
    `${UPPER}.propelant`,
    'unknown key "propelant"',
    'did you mean "propellant"?',
  ),
  mistake(
    'a key in another unit',
    (s) => (mainOf(s).thrustVacuum_kN = 345),
    `${MAIN}.thrustVacuum_kN`,
    'unknown key',
    'did you mean "thrustVacuum_N"?',
  ),
  mistake(
    'a key near to none',
    (s) => (s.comment = 'hello'),
    'comment',
    'unknown key "comment"',
    '"format", "title"',
  ),
  mistake(
    'a latitude beyond the pole',
    (s) => (s.site.latitude_deg = 95),
    'site.latitude_deg',
    'received 95',
    'from -90 to 90',
  ),
  mistake(
    'half an engine',
    (s) => (mainOf(s).count = 2.5),
    `${MAIN}.count`,
    'received 2.5',
    'a whole number from 1 to 100',
  ),
  mistake(
    'no thrust',
    (s) => (mainOf(s).thrustVacuum_N = 0),
    `${MAIN}.thrustVacuum_N`,
    'received 0',
    'a number above 0',
  ),
  mistake(
    'an impossible specific impulse',
    (s) => (mainOf(s).ispVacuum_s = 3000),
    `${MAIN}.ispVacuum_s`,
    'received 3000',
    'above 0 and at most 2000',
  ),
  mistake(
    'a choice in the wrong case',
    (s) => (s.earth.gravity = 'J2'),
    'earth.gravity',
    'received "J2"',
    '"central" or "j2"',
    'did you mean "j2"?',
  ),
  mistake(
    'a misspelt role',
    (s) => (s.vehicle.bodies.upper.role = 'uper'),
    `${UPPER}.role`,
    'received "uper"',
    'did you mean "upper"?',
  ),
  mistake(
    'an unknown law',
    (s) => (s.sequence.events[KICK].action.law.kind = 'kck'),
    'sequence.events.kick.action.law.kind',
    'received "kck"',
    '"vertical", "kick"',
    'did you mean "kick"?',
  ),
  mistake(
    'a trigger without its kind',
    (s) => delete s.sequence.events[KICK].trigger.kind,
    'sequence.events.kick.trigger.kind',
    'the key is missing',
    '"time", "after"',
  ),
  mistake(
    'an atmosphere without its scale',
    (s) => (s.earth.atmosphere = { kind: 'exponential', seaLevelDensity_kgpm3: 1.2 }),
    'earth.atmosphere.scaleHeight_m',
    'the key is missing',
    'a number above 0',
  ),
  mistake(
    'a key of another kind of object',
    (s) => (s.sequence.events[RISE].action.law.angle_deg = 3),
    'sequence.events.rise.action.law.angle_deg',
    'unknown key "angle_deg"',
    'allowed is "kind"',
  ),
  mistake(
    'a body whose name has a space',
    (s) => (s.vehicle.bodies['2nd stage'] = { name: 'x', role: 'ring', dryMass_kg: 1 }),
    'vehicle.bodies["2nd stage"]',
    'the key "2nd stage"',
    'starts with a letter',
  ),
  mistake(
    'an apogee below the perigee',
    (s) => (s.target.apogee_m = 190_000),
    'target.apogee_m',
    'received 190000',
    'at least perigee_m',
  ),
  mistake(
    'Mach numbers that do not rise',
    (s) => (s.vehicle.aerodynamics[0].dragCoefficient.mach[3] = 1.05),
    'vehicle.aerodynamics.0.dragCoefficient.mach',
    'a list of 7 entries',
    'rises',
  ),
  mistake(
    'a drag coefficient too few',
    (s) => s.vehicle.aerodynamics[0].dragCoefficient.value.pop(),
    'vehicle.aerodynamics.0.dragCoefficient.value',
    'a list of 6 entries',
    'as many entries as mach',
  ),
  mistake(
    'wind at one height',
    (s) => s.earth.wind.pop(),
    'earth.wind',
    'a list of 1 entry',
    'a list of at least 2 entries',
  ),
  mistake(
    'wind from the top down',
    (s) => s.earth.wind.reverse(),
    'earth.wind',
    'a list of 2 entries',
    'height_m rises',
  ),
  mistake(
    'a throttle range upside down',
    (s) => (mainOf(s).throttle.most = 0.5),
    `${MAIN}.throttle.most`,
    'received 0.5',
    'at least least',
  ),
  mistake(
    'a bare number for propellant left',
    (s) => (s.sequence.events[SECO].trigger.left = 4),
    'sequence.events.seco.trigger.left',
    'received 4',
    '"reserves" or an object with the key mass_kg',
  ),
  mistake(
    'a negative mass left',
    (s) => (s.sequence.events[SECO].trigger.left = { mass_kg: -4 }),
    'sequence.events.seco.trigger.left.mass_kg',
    'received -4',
    'at least 0',
  ),
  mistake(
    'a misspelt key in one of two alternatives',
    (s) => (s.sequence.events[SECO].trigger.left = { mas_kg: 4 }),
    'sequence.events.seco.trigger.left.mass_kg',
    'the key is missing',
    'at least 0',
  ),
  mistake(
    'an unknown number held',
    (s) => (s.sequence.events[TANGENT].action.law.held = ['c']),
    'sequence.events.tangent.action.law.held.0',
    'received "c"',
    '"a" or "b_per_s"',
  ),
  mistake(
    'a spread upside down',
    (s) => (s.provenance['vehicle.bodies.upper.dryMass_kg'].spread.high = 1),
    'provenance["vehicle.bodies.upper.dryMass_kg"].spread.high',
    'received 1',
    'at least low',
  ),
  mistake(
    'an empty source',
    (s) => (s.provenance['vehicle.bodies.upper.dryMass_kg'].source = ''),
    'provenance["vehicle.bodies.upper.dryMass_kg"].source',
    'an empty text',
    '1 to 400 characters',
  ),
  mistake(
    'a step above the body',
    (s) => (s.vehicle.bodies.booster.shape.steps[0].station_m = 30),
    'vehicle.bodies.booster.shape.steps',
    'a list of 1 entry',
    'below length_m',
  ),
  mistake(
    'no events',
    (s) => (s.sequence.events = []),
    'sequence.events',
    'a list of 0 entries',
    'a list of at least 1 entry',
  ),
  mistake(
    'a title without end',
    (s) => (s.title = 'x'.repeat(500)),
    'title',
    'received "xxx',
    '…',
    '1 to 400 characters',
  ),
  mistake(
    'a list where an object belongs',
    (s) => (s.vehicle.bodies.upper.propellant = []),
    `${UPPER}.propellant`,
    'a list of 0 entries',
    'an object with the key usable_kg',
  ),
  mistake('a text as format', (s) => (s.format = '1'), 'format', 'received "1"', 'allowed is 1'),
  mistake('no format', (s) => delete s.format, 'format', 'the key is missing', 'allowed is 1'),
];

/** Parts that are allowed by themselves and do not fit each other. */
const TANKS = {
  lox: { name: 'Oxygen', holds: 'oxidiser', fluid: 'oxygen', radius_m: 0.5, volume_m3: 1000 },
  rp: { name: 'Kerosene', holds: 'fuel', fluid: 'kerosene', radius_m: 0.5, volume_m3: 1000 },
};
const SPRINGS = {
  kind: 'springs',
  name: 'springs',
  body: 'booster',
  count: 4,
  pitchRadius_m: 1,
  stroke_m: 0.1,
  rate_Npm: 1000,
};
const ridden = (s: any): string => s.vehicle.bodies.upper.ridesOn as string;

export const INCONSISTENT: readonly Mistake[] = [
  mistake(
    'tanks without a mixture ratio',
    (s) => (s.vehicle.bodies.upper.tanks = TANKS),
    `${UPPER}.mixtureRatio`,
    'the body has tanks',
    'a number above 0',
  ),
  mistake(
    'a tank too small for its load',
    (s) => {
      s.vehicle.bodies.upper.mixtureRatio = 2.5;
      s.vehicle.bodies.upper.tanks = { ...TANKS, lox: { ...TANKS.lox, volume_m3: 0.1 } };
    },
    `${UPPER}.tanks.lox.volume_m3`,
    'received 0.1',
    'room for it',
  ),
  mistake(
    'tanks for one side alone',
    (s) => {
      s.vehicle.bodies.upper.mixtureRatio = 2.5;
      s.vehicle.bodies.upper.tanks = { lox: TANKS.lox };
    },
    `${UPPER}.tanks`,
    'no tank for the fuel',
    'at least one for each side',
  ),
  mistake(
    'springs on a body that the link does not join',
    (s) => (s.vehicle.bodies.upper.link = { mechanisms: { springs: { ...SPRINGS, body: 'fairing' } } }),
    `${UPPER}.link.mechanisms.springs.body`,
    '"fairing" for "springs"',
    '"upper"',
  ),
  mistake(
    'more springs failed than there are',
    (s) =>
      (s.vehicle.bodies.upper.link = {
        mechanisms: { springs: { ...SPRINGS, body: ridden(s), failed: 5 } },
      }),
    `${UPPER}.link.mechanisms.springs.failed`,
    'received 5',
    'from 0 to 4',
  ),
  mistake(
    'a mechanism whose fitting is not there',
    (s) =>
      (s.vehicle.bodies.upper.link = {
        mechanisms: { springs: { ...SPRINGS, body: ridden(s), fitting: 'nothing' } },
      }),
    `${UPPER}.link.mechanisms.springs.fitting`,
    'which is not a fitting of',
  ),
  mistake(
    'a link of the lowest body',
    (s) => {
      const root = Object.keys(s.vehicle.bodies as object).find(
        (id) => s.vehicle.bodies[id].ridesOn === undefined,
      )!;
      s.vehicle.bodies[root].link = {};
    },
    'vehicle.bodies.booster.link',
    'rides on nothing',
    'a link on a body with ridesOn',
  ),
  mistake(
    'a way of staging at an unknown link',
    (s) =>
      (s.stagingModes = {
        odd: { name: 'odd', link: 'uper', gapRule: { kind: 'fixed', gap_s: 1 } },
      }),
    'stagingModes.odd.link',
    '"uper", which is not a body that rides on another',
    'did you mean "upper"?',
  ),
  mistake(
    'a release that waits for the flight',
    (s) => (s.sequence.events[RELEASE].trigger = { kind: 'altitude', height_m: 10, passing: 'rising' }),
    'sequence.events.release.trigger.kind',
    '"altitude" for the release',
  ),
  mistake(
    'heat where there is no air',
    (s) => {
      s.earth.atmosphere = { kind: 'none' };
      s.sequence.events[UNVEIL].trigger = { kind: 'heatFlux' };
    },
    'sequence.events.unveil.trigger.kind',
    '"heatFlux" where earth.atmosphere is "none"',
    'needs no air',
  ),
  mistake(
    'a carrier that is not there',
    (s) => (s.vehicle.bodies.ring.ridesOn = 'boster'),
    'vehicle.bodies.ring.ridesOn',
    '"boster", which is not a body',
    'did you mean "booster"?',
  ),
  mistake(
    'bodies that ride in a circle',
    (s) => (s.vehicle.bodies.booster.ridesOn = 'upper'),
    'vehicle.bodies.booster.ridesOn',
    'the circle booster on upper on ring on booster',
  ),
  mistake(
    'a body on itself',
    (s) => (s.vehicle.bodies.ring.ridesOn = 'ring'),
    'vehicle.bodies.ring.ridesOn',
    'the circle ring on ring',
  ),
  mistake(
    'two lowest bodies',
    (s) => delete s.vehicle.bodies.ring.ridesOn,
    'vehicle.bodies.ring.ridesOn',
    'nothing, as in "booster"',
    '"booster", "upper" or "fairing"',
  ),
  mistake('no bodies', (s) => (s.vehicle.bodies = {}), 'vehicle.bodies', 'no bodies', 'at least one'),
  mistake(
    'a payload on nothing',
    (s) => (s.payload.ridesOn = 'Upper'),
    'payload.ridesOn',
    '"Upper", which is not a body',
    'did you mean "upper"?',
  ),
  mistake(
    'an id that stands twice',
    (s) => (s.sequence.events[EASE].id = 'turn'),
    'sequence.events.5.id',
    '"turn" a second time',
    'each name once',
  ),
  mistake(
    'an unknown event to wait for',
    (s) => (s.sequence.events[KICK].trigger.events = ['relase']),
    'sequence.events.kick.trigger.events.0',
    '"relase"',
    'did you mean "release"?',
  ),
  mistake(
    'an event waited for twice',
    (s) => (s.sequence.events[KICK].trigger.events = ['release', 'release']),
    'sequence.events.kick.trigger.events.1',
    '"release" a second time',
  ),
  mistake(
    'an unknown event to lead up to',
    (s) => (s.sequence.events[PART_CUT].trigger.event = 'mecko'),
    'sequence.events.part-cut.trigger.event',
    '"mecko"',
    'did you mean "meco"?',
  ),
  mistake(
    'a gap after what is no cut',
    (s) => (s.sequence.events[IGNITION].trigger.cutoff = 'parting'),
    'sequence.events.ignition.trigger.cutoff',
    '"parting", which is not a cut event',
    '"part-cut", "meco" or "seco"',
  ),
  mistake(
    'propellant of a body without',
    (s) => (s.sequence.events[MECO].trigger.body = 'ring'),
    'sequence.events.meco.trigger.body',
    '"ring", which is not a body with propellant',
    '"booster" or "upper"',
  ),
  mistake(
    'more propellant left than was loaded',
    (s) => (s.sequence.events[SECO].trigger.left.mass_kg = 99_999),
    'sequence.events.seco.trigger.left.mass_kg',
    'received 99999',
    'from 160',
    'to 21900, its load',
  ),
  mistake(
    'residual propellant burnt',
    (s) => (s.sequence.events[SECO].trigger.left.mass_kg = 100),
    'sequence.events.seco.trigger.left.mass_kg',
    'received 100',
    'from 160',
  ),
  mistake(
    'an unknown body lit',
    (s) => (s.sequence.events[START].action.body = 'boosters'),
    'sequence.events.booster-start.action.body',
    '"boosters"',
    'did you mean "booster"?',
  ),
  mistake(
    'a body without engines lit',
    (s) => (s.sequence.events[START].action.body = 'ring'),
    'sequence.events.booster-start.action.body',
    '"ring", which is not a body with engines',
  ),
  mistake(
    'an unknown group lit',
    (s) => (s.sequence.events[START].action.group = 'mian'),
    'sequence.events.booster-start.action.group',
    '"mian", which is not an engine group of "booster"',
    'did you mean "main"?',
  ),
  mistake(
    'more engines lit than there are',
    (s) => (s.sequence.events[START].action.engines = 8),
    'sequence.events.booster-start.action.engines',
    'received 8',
    'from 1 to 7',
  ),
  mistake(
    'a start below the throttle range',
    (s) => (s.sequence.events[START].action.throttle = 0.5),
    'sequence.events.booster-start.action.throttle',
    'received 0.5',
    'from 0.6 to 1',
  ),
  mistake(
    'an engine without throttle, throttled',
    (s) => (s.sequence.events[IGNITION].action.throttle = 0.9),
    'sequence.events.ignition.action.throttle',
    'received 0.9',
    '1, the only throttle of "vacuum"',
  ),
  mistake(
    'a throttle above the range',
    (s) => (s.sequence.events[EASE].action.level = 1.2),
    'sequence.events.ease.action.level',
    'received 1.2',
    'from 0.6 to 1',
  ),
  mistake(
    'a cut that cuts nothing',
    (s) => (s.sequence.events[PART_CUT].action.keep = 7),
    'sequence.events.part-cut.action.keep',
    'received 7',
    'from 0 to 6',
  ),
  mistake(
    'a cut of an unknown group',
    (s) => (s.sequence.events[PART_CUT].action.group = 'centre'),
    'sequence.events.part-cut.action.group',
    '"centre"',
    'allowed is "main"',
  ),
  mistake(
    'a cut of what nothing lights',
    (s) => (s.sequence.events[IGNITION].action = { kind: 'steer', law: { kind: 'zeroAlpha' } }),
    'sequence.events.seco.action.body',
    'no event lights vacuum',
  ),
  mistake(
    'the lowest body parted',
    (s) => (s.sequence.events[PARTING].action.link = 'booster'),
    'sequence.events.parting.action.link',
    '"booster", which is not a body that rides on another',
  ),
  mistake(
    'a link undone twice',
    (s) => (s.sequence.events[UNVEIL].action.link = 'upper'),
    'sequence.events.unveil.action.link',
    'which "parting" has parted already',
  ),
  mistake(
    'a number held twice',
    (s) => (s.sequence.events[TANGENT].action.law.held = ['a', 'a']),
    'sequence.events.tangent.action.law.held.1',
    '"a" a second time',
  ),
  mistake(
    'events that wait for each other',
    (s) => (s.sequence.events[MECO].trigger = { kind: 'after', events: ['parting'] }),
    'sequence.events.meco.trigger',
    'the circle meco waits for parting waits for meco',
  ),
  mistake(
    'an event that leads up to what waits for it',
    (s) => (
      (s.sequence.events[PARTING].trigger.events = ['meco', 'part-cut']),
      (s.sequence.events[PART_CUT].trigger.event = 'parting')
    ),
    'sequence.events.part-cut.trigger',
    'the circle part-cut waits for parting waits for part-cut',
  ),
  mistake(
    'an event that waits for itself',
    (s) => (s.sequence.events[TURN].trigger.events = ['turn']),
    'sequence.events.turn.trigger',
    'the circle turn waits for turn',
  ),
  mistake(
    'a final cut-off that cuts nothing',
    (s) => (s.sequence.finalCutoff = 'ignition'),
    'sequence.finalCutoff',
    '"ignition", which is not a cut event',
    '"part-cut", "meco" or "seco"',
  ),
  mistake(
    'a final cut-off of a body that has gone',
    (s) => ((s.sequence.finalCutoff = 'meco'), s.sequence.events.push(...s.sequence.events.splice(MECO, 1))),
    'sequence.finalCutoff',
    'cuts "booster" after it has parted',
    '"part-cut" or "seco"',
  ),
  mistake(
    'a final cut-off in part',
    (s) => (
      (s.vehicle.bodies.upper.engineGroups.vacuum.count = 2),
      (s.sequence.events[SECO].action.keep = 1)
    ),
    'sequence.events.seco.action.keep',
    'received 1',
    '0 in the final cut-off',
  ),
  mistake(
    'no release',
    (s) => (s.sequence.events[RELEASE].action = { kind: 'steer', law: { kind: 'vertical' } }),
    'sequence.events',
    'no event whose action is "release"',
  ),
  mistake(
    'two releases',
    (s) => (s.sequence.events[RISE].action = { kind: 'release' }),
    'sequence.events.rise.action.kind',
    '"release" a second time',
  ),
  mistake(
    'engines without propellant',
    (s) => (
      delete s.vehicle.bodies.upper.propellant,
      (s.sequence.events[SECO].trigger = { kind: 'time', time_s: 400 })
    ),
    `${UPPER}.propellant`,
    'nothing, although',
    'vacuum',
  ),
  mistake(
    'engines lit on reserves alone',
    (s) => (s.vehicle.bodies.booster.propellant.usable_kg = 0),
    'vehicle.bodies.booster.propellant.usable_kg',
    'received 0',
    'a number above 0',
    'booster-start',
  ),
  mistake(
    'no drag for the piece set free',
    (s) => s.vehicle.aerodynamics.splice(2, 1),
    'vehicle.aerodynamics',
    'no entry for the arrangement booster + ring',
  ),
  mistake(
    'no drag for the full stack',
    (s) => s.vehicle.aerodynamics.splice(0, 1),
    'vehicle.aerodynamics',
    'no entry for the arrangement booster + ring + upper + fairing',
  ),
  mistake(
    'drag of an unknown body',
    (s) => (s.vehicle.aerodynamics[3].bodies = ['uper']),
    'vehicle.aerodynamics.3.bodies.0',
    '"uper"',
    'did you mean "upper"?',
  ),
  mistake(
    'drag of a body named twice',
    (s) => (s.vehicle.aerodynamics[3].bodies = ['upper', 'upper']),
    'vehicle.aerodynamics.3.bodies.1',
    '"upper" a second time',
  ),
  mistake(
    'drag of an arrangement given twice',
    (s) => s.vehicle.aerodynamics.push({ ...s.vehicle.aerodynamics[1], bodies: ['fairing', 'upper'] }),
    'vehicle.aerodynamics.5.bodies',
    'the same bodies as in vehicle.aerodynamics.1',
  ),
  mistake(
    'a piece that weighs nothing',
    (s) => (s.vehicle.bodies.fairing.dryMass_kg = 0),
    'vehicle.bodies.fairing.dryMass_kg',
    'received 0',
    'above 0',
  ),
  mistake(
    'the source of a number that is not there',
    (s) => (s.provenance['vehicle.bodies.upper.dryMass'] = { source: 'x' }),
    'provenance["vehicle.bodies.upper.dryMass"]',
    'unknown name "dryMass"',
    'did you mean "dryMass_kg"?',
  ),
  mistake(
    'the source of a text',
    (s) => (s.provenance['vehicle.name'] = { source: 'x' }),
    'provenance["vehicle.name"]',
    'a path to "Ondel"',
    'the path of a number',
  ),
  mistake(
    'the source of a number by two paths',
    (s) => (s.provenance['sequence.events.3.action.law.angle_deg'] = { source: 'x' }),
    'provenance["sequence.events.3.action.law.angle_deg"]',
    'the number of "sequence.events.kick.action.law.angle_deg" again',
  ),
  mistake(
    'a peak outside its triangle',
    (s) => (s.vehicle.bodies.upper.dryMass_kg = 2000),
    'provenance["vehicle.bodies.upper.dryMass_kg"].spread',
    '1500 to 1900 around 2000',
  ),
];

/** Text that is no JSON: the text, the place, and what was received and allowed. */
export const NOT_JSON: readonly (readonly [
  text: string,
  place: string,
  received: string,
  allowed: string,
])[] = [
  ['', 'line 1, column 1', 'the end of the file', 'a value'],
  ['{', 'line 1, column 2', 'the end of the file', 'a key in double quotes'],
  ['{"a": 1,}', 'line 1, column 9', '"}"', 'a key in double quotes'],
  ['{\n  "a": 1\n  "b": 2\n}', 'line 3, column 3', 'a quotation mark', '"," or "}"'],
  ['{\r\n"a": 1\r\n"b": 2}', 'line 3, column 1', 'a quotation mark', '"," or "}"'],
  ['{a: 1}', 'line 1, column 2', '"a"', 'a key in double quotes'],
  ["{'a': 1}", 'line 1, column 2', '"\'"', 'a key in double quotes'],
  ['[1, 2', 'line 1, column 6', 'the end of the file', '"," or "]"'],
  ['[1 2]', 'line 1, column 4', '"2"', '"," or "]"'],
  ['{"a" 1}', 'line 1, column 6', '"1"', '":" after a key'],
  ['{"a": 01}', 'line 1, column 7', '"01"', 'a number such as'],
  ['{"a": .5}', 'line 1, column 7', '".5"', 'a value'],
  ['{"a": 12kg}', 'line 1, column 7', '"12kg"', 'a number such as'],
  ['{"a": NaN}', 'line 1, column 7', '"NaN"', 'a value'],
  ['{"a": "x\ny"}', 'line 1, column 9', 'the end of the line within a text', 'a closing quotation mark'],
  ['{"a": "x', 'line 1, column 9', 'the end of the file within a text', 'a closing quotation mark'],
  ['{"a": "\\q"}', 'line 1, column 9', '"q"', 'after a backslash'],
  ['{"a": "\t"}', 'line 1, column 8', 'the control character U+0009', 'its escape \\u0009'],
  ['{"a": 1}}', 'line 1, column 9', '"}"', 'the end of the file'],
  ['// note\n{}', 'line 1, column 1', '"/"', 'a value'],
  ['{"ä𝄞": 1, 3}', 'line 1, column 11', '"3"', 'a key in double quotes'],
  ['{"a": 1, "a": 2}', 'line 1, column 10', 'the key "a" again', 'each key once'],
  ['{"__proto__": 1}', 'line 1, column 2', 'the key "__proto__"', 'a key of the study'],
  ['['.repeat(70), 'line 1, column 65', 'the 65th level of nesting', 'at most 64 levels'],
];
