/** A compiled study's flight as named rows of numbers, for the same flight written in other languages. SI throughout. */
import { EARTH_ROTATION_radps } from '../../core/constants/physical.ts';
import { fastExp, logOfRatio } from '../../core/earth/atmosphere/elementary.ts';
import { Us1976Atmosphere } from '../../core/earth/atmosphere/us1976.ts';
import {
  GAS_CONSTANT_JpkmolK,
  GRAVITY_1976_mps2,
  HEAT_RATIO,
  LAYER_BASES_m,
  LAYER_GRADIENTS_Kpm,
  LOWER_TOP_m,
  MOLAR_MASS_SEA_LEVEL_kgpkmol,
  RADIUS_1976_m,
  SEA_LEVEL_PRESSURE_Pa,
  SEA_LEVEL_TEMPERATURE_K,
} from '../../core/earth/atmosphere/us1976-data.ts';
import { UPPER_PIECES, upperTable } from '../../core/earth/atmosphere/us1976-upper-table.ts';
import { AZIMUTH, PAYLOAD, type CompiledStudy } from '../../core/flight/compile.ts';
import { SOLVE_ACCURACY } from '../../core/flight/accuracy.ts';
import { launchFrame } from '../../core/flight/launch.ts';
import type { PiecewiseTable } from '../../core/math/interpolation.ts';

/** Longest step (s) and depth at which a flight has fallen (m): those of the engine, which does not show them. */
const LONGEST_STEP_s = 60;
const GROUND_SLACK_m = 1;

const LAW_CODES = new Map([
  ['vertical', 0],
  ['kick', 1],
  ['zeroAlpha', 2],
  ['linearTangent', 3],
]);

/** Triggers whose times are known before the flight. */
const CLOCK_TRIGGERS = ['time', 'after', 'before', 'gap', 'propellant'];

/** The references fly less than the engine does: what they cannot fly is said by name, and not measured. */
export class NotFlownElsewhere extends Error {}

type Rows = Map<string, readonly number[]>;

/** One row a line: name, count, numbers, each with all its digits. Values of the parameters in SI and radians. */
export function flightData(compiled: CompiledStudy, values: Float64Array): string {
  const rows: Rows = new Map();
  const { events } = compiled.study.sequence;
  const other = events.find(({ trigger }) => !CLOCK_TRIGGERS.includes(trigger.kind));
  if (other !== undefined) throw new NotFlownElsewhere(`the trigger "${other.trigger.kind}"`);
  addEarth(rows, compiled);
  addAir(rows, compiled);
  addDrags(rows, compiled);
  addPlan(rows, compiled, values);
  const lines = [...rows].map(([name, numbers]) => [name, numbers.length, ...numbers].join(' '));
  return `${lines.join('\n')}\n`;
}

function addEarth(rows: Rows, { setting, study }: CompiledStudy): void {
  if (setting.wind !== null) throw new NotFlownElsewhere('wind');
  const { gravity, figure } = setting;
  const oblate = 1.5 * gravity.j2 * gravity.radius_m * gravity.radius_m;
  rows.set('earth', [
    gravity.gm_m3ps2,
    oblate,
    figure.equatorialRadius_m,
    figure.flattening,
    EARTH_ROTATION_radps,
  ]);
  const { relative, position_m, speed_mps } = SOLVE_ACCURACY;
  const ground_m = Math.min(0, study.site.height_m) - GROUND_SLACK_m;
  rows.set('limits', [relative, position_m, speed_mps, LONGEST_STEP_s, ground_m]);
}

function addAir(rows: Rows, { setting }: CompiledStudy): void {
  const { atmosphere } = setting;
  if (!(atmosphere instanceof Us1976Atmosphere)) {
    throw new NotFlownElsewhere('an atmosphere other than the standard one');
  }
  const gas = GAS_CONSTANT_JpkmolK / MOLAR_MASS_SEA_LEVEL_kgpkmol;
  const hydrostatic = GRAVITY_1976_mps2 / gas;
  const layers: number[] = [];
  let temperature = SEA_LEVEL_TEMPERATURE_K;
  let pressure = SEA_LEVEL_PRESSURE_Pa;
  LAYER_BASES_m.forEach((base, k) => {
    const gradient = LAYER_GRADIENTS_Kpm[k]!;
    const exponent = gradient === 0 ? hydrostatic / temperature : hydrostatic / gradient;
    layers.push(base, gradient, temperature, pressure, exponent);
    const rise = (LAYER_BASES_m[k + 1] ?? base) - base;
    const top = temperature + gradient * rise;
    pressure *= fastExp(-exponent * (gradient === 0 ? rise : logOfRatio(top, temperature)));
    temperature = top;
  });
  rows.set('layers', layers);
  const held = atmosphere.soundSpeedAt(LOWER_TOP_m, LAYER_BASES_m.length - 1);
  rows.set('air', [RADIUS_1976_m, gas, HEAT_RATIO * gas, held]);
  rows.set('airEdges', [...atmosphere.pieceEdges_m]);
  const { coefficients, firstInterval, intervalCount } = upperTable();
  rows.set(
    'upperParts',
    UPPER_PIECES.flatMap((piece, k) => [
      1000 * piece.bottom_km,
      1 / (1000 * piece.spacing_km),
      firstInterval[k]!,
      intervalCount[k]! - 1,
    ]),
  );
  rows.set('upperTable', [...coefficients]);
}

function addDrags(rows: Rows, { drags }: CompiledStudy): void {
  rows.set(
    'dragAreas',
    drags.map((drag) => drag.referenceArea_m2),
  );
  drags.forEach(({ coefficient }, k) => {
    rows.set(`dragEdges${k}`, [...coefficient.edges]);
    rows.set(`dragPieces${k}`, cubicPieces(coefficient));
  });
}

/** Five numbers a piece: origin and four coefficients, read off value and slope at the piece's two ends. */
function cubicPieces(table: PiecewiseTable): number[] {
  const { edges } = table;
  return Array.from({ length: edges.length + 1 }, (_, piece) => {
    const origin = edges[Math.max(piece - 1, 0)]!;
    const value = table.evaluate(origin, piece);
    const slope = table.slope(origin, piece);
    if (piece === 0 || piece === edges.length) return [origin, value, slope, 0, 0];
    const width = edges[piece]! - origin;
    const secant = (table.evaluate(origin + width, piece) - value) / width;
    const end = table.slope(origin + width, piece);
    if (slope === end) return [origin, value, slope, 0, 0];
    const second = (3 * secant - 2 * slope - end) / width;
    const third = (slope + end - 2 * secant) / (width * width);
    return [origin, value, slope, second, third];
  }).flat();
}

function addPlan(rows: Rows, compiled: CompiledStudy, values: Float64Array): void {
  const { segments } = compiled.plan;
  const first = segments.findIndex((segment) => !segment.held);
  const laws: number[] = [];
  rows.set(
    'segments',
    segments.slice(first).flatMap((s) => {
      let law = -1;
      if (s.lawEvent >= 0) {
        law = laws.length / 3;
        laws.push(...lawNumbers(compiled, values, s.lawEvent));
      }
      const mass = s.mass_kg + values[PAYLOAD]!;
      return [
        s.start_s,
        s.end_s,
        s.thrust_N,
        s.thrustRate_Nps,
        s.exitArea_m2,
        s.exitAreaRate_m2ps,
        s.flow_kgps,
        s.flowRate_kgps2,
        mass,
        s.arrangement,
        law,
      ];
    }),
  );
  rows.set('laws', laws);
  // What steers when the vehicle is released: the last law given on the pad, or the vertical.
  const before = segments.slice(0, first).findLast((segment) => segment.lawEvent >= 0);
  rows.set(
    'lawBefore',
    before === undefined
      ? [0, 0, 0, compiled.plan.release_s]
      : [...lawNumbers(compiled, values, before.lawEvent), before.start_s],
  );
  const frame = launchFrame(compiled.site, values[AZIMUTH]!);
  rows.set('up', [...frame.up]);
  rows.set('ahead', [...frame.ahead]);
  rows.set('start', [...compiled.site.state]);
}

/** Kind and two numbers of the law that an event brings in. */
function lawNumbers(compiled: CompiledStudy, values: Float64Array, event: number): number[] {
  const { action } = compiled.study.sequence.events[event]!;
  if (action.kind !== 'steer') throw new Error(`event ${event} has no law`);
  const code = LAW_CODES.get(action.law.kind);
  if (code === undefined) throw new NotFlownElsewhere(`the steering law "${action.law.kind}"`);
  const own = compiled.parameters.flatMap((parameter, i) => (parameter.event === event ? [values[i]!] : []));
  if (action.law.kind === 'kick') return [code, own[0]!, action.law.duration_s];
  return [code, own[0] ?? 0, own[1] ?? 0];
}
