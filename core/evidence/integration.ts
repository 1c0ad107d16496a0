/** Published checks of the integrator: a periodic orbit of three bodies, a Kepler orbit, an orbit under J2. */
import { Gravity, OBLATE_GRAVITY } from '../earth/gravity.ts';
import { orbitFromState } from '../earth/orbit.ts';
import { StepStore } from '../ode/dense.ts';
import { Driver } from '../ode/driver.ts';
import { SmoothSystem } from '../ode/system.ts';
import type { PublishedOrbits } from './orbits.ts';
import { outcome, Rows, type EvidenceOutcome } from './rows.ts';

export interface PublishedArenstorf {
  readonly primary: string;
  readonly start: {
    readonly status: string;
    readonly source: string;
    readonly mu: number;
    readonly state: readonly number[];
    readonly period: number;
  };
  readonly positions: {
    readonly status: string;
    readonly source: string;
    readonly rows: readonly { t: number; x: number; y: number }[];
  };
}

class FreeSystem extends SmoothSystem {
  constructor(
    readonly dimension: number,
    private readonly rate: (y: Float64Array, dydt: Float64Array) => void,
  ) {
    super();
  }

  override derivative(_t: number, y: Float64Array, dydt: Float64Array): void {
    this.rate(y, dydt);
  }
}

interface Flown {
  readonly steps: StepStore;
  readonly end: Float64Array;
}

/** Carries `start` on over a span at 1e-12 a step (absolute in the components' units); null when that fails. */
function integrate(system: SmoothSystem, start: Float64Array, span: number, absolute: number): Flown | null {
  const driver = new Driver(system.dimension, {
    relative: 1e-12,
    absolute: new Float64Array(system.dimension).fill(absolute),
    longestStep: Number.POSITIVE_INFINITY,
    mostSteps: 100_000,
  });
  const steps = new StepStore(system.dimension);
  driver.start(system, 0, start);
  return driver.advanceTo(system, span, [], steps) === 'reached' ? { steps, end: driver.y } : null;
}

/** The periodic orbit of Arenstorf, dimensionless: published positions on the way, and closure after one period. */
export function checkArenstorf({ start, positions }: PublishedArenstorf): EvidenceOutcome {
  const { mu } = start;
  const system = new FreeSystem(4, (y, d) => {
    const toEarth = y[0]! + mu;
    const toMoon = y[0]! - (1 - mu);
    const y2 = y[1]! * y[1]!;
    const earth = (1 - mu) / (toEarth * toEarth + y2) ** 1.5;
    const moon = mu / (toMoon * toMoon + y2) ** 1.5;
    d[0] = y[2]!;
    d[1] = y[3]!;
    d[2] = y[0]! + 2 * y[3]! - earth * toEarth - moon * toMoon;
    d[3] = y[1]! - 2 * y[2]! - (earth + moon) * y[1]!;
  });
  const flown = integrate(system, Float64Array.from(start.state), start.period, 1e-12);
  const at = new Float64Array(4);
  const rows = new Rows(positions);
  for (const { t, x, y } of positions.rows) {
    flown?.steps.sample(t, at);
    (['x', 'y'] as const).forEach((axis, i) =>
      rows.compare({
        quantity: `${axis} at t = ${t}`,
        unit: '',
        published: i === 0 ? x : y,
        ours: flown === null ? Number.NaN : at[i]!,
        tolerance: 1e-9,
        why: 'printed to ten digits, up to half a unit of 1e-9; and 1e-12 a step, which the orbit multiplies to 4e-10 at worst',
      }),
    );
  }
  const closure = new Rows(start);
  (['x', 'y'] as const).forEach((axis, i) =>
    closure.compare({
      quantity: `${axis} after one period`,
      unit: '',
      published: start.state[i]!,
      ours: flown === null ? Number.NaN : flown.end[i]!,
      tolerance: 6e-10,
      why: 'three times what 1e-12 a step grows to on an orbit that passes the smaller body closely three times',
    }),
  );
  return outcome(
    'arenstorf',
    'The periodic orbit of Arenstorf',
    'The integrator of all flights on a problem of three bodies that punishes errors.',
    [...rows.rows, ...closure.rows],
  );
}

/** A Kepler orbit by integration (km, km/s), and how J2 turns node and perigee (degrees per hour). */
export function checkIntegratedOrbits({ vallado24, curtisJ2 }: PublishedOrbits): EvidenceOutcome {
  const fall = (gravity: Gravity): FreeSystem => {
    const pull = new Float64Array(3);
    return new FreeSystem(6, (y, d) => {
      gravity.acceleration(y[0]!, y[1]!, y[2]!, pull);
      for (let i = 0; i < 3; i++) {
        d[i] = y[i + 3]!;
        d[i + 3] = pull[i]!;
      }
    });
  };
  const start = (example: {
    position_km: readonly number[];
    velocity_kmps: readonly number[];
  }): Float64Array =>
    Float64Array.from([...example.position_km, ...example.velocity_kmps], (each) => 1000 * each);
  const plain = new Rows(vallado24);
  const point = new Gravity(vallado24.gm_km3ps2 * 1e9, 0, OBLATE_GRAVITY.radius_m);
  const after = integrate(fall(point), start(vallado24), vallado24.span_s, 1e-6);
  const why = 'one unit of the last printed digit, for inputs printed to a metre and a centimetre a second';
  ['x', 'y', 'z'].forEach((axis, i) => {
    const ours = (k: number): number => (after === null ? Number.NaN : after.end[k]! / 1000);
    plain.digits(
      `position ${axis} after 2400 s, integrated`,
      'km',
      ours(i),
      vallado24.endPosition_km[i]!,
      why,
    );
    plain.digits(
      `velocity ${axis} after 2400 s, integrated`,
      'km/s',
      ours(i + 3),
      vallado24.endVelocity_kmps[i]!,
      why,
    );
  });
  const rows = new Rows(curtisJ2);
  const oblate = new Gravity(curtisJ2.gm_km3ps2 * 1e9, OBLATE_GRAVITY.j2, 6378e3);
  const state = start(curtisJ2);
  const before = orbitFromState(state, oblate.gm_m3ps2);
  const period_s = 2 * Math.PI * Math.sqrt(before.semiMajorAxis_m ** 3 / oblate.gm_m3ps2);
  // Whole revolutions, so that what comes back each revolution drops out.
  const span_s = Math.round((48 * 3600) / period_s) * period_s;
  const turned = integrate(fall(oblate), state, span_s, 1e-6);
  const end = turned === null ? null : orbitFromState(turned.end, oblate.gm_m3ps2);
  const rate = (change_rad: number | undefined): number =>
    change_rad === undefined ? Number.NaN : ((change_rad * 180) / Math.PI / span_s) * 3600;
  const compare = (quantity: string, published: string, ours: number): void =>
    rows.compare({
      quantity,
      unit: '°/h',
      published,
      ours,
      tolerance: 0.01 * Math.abs(Number(published)),
      why: '1 %: three printed digits of a first-order theory, whose second order is 0.1 %, and the choice of period as much',
    });
  compare(
    'turning of the node under J2, integrated',
    curtisJ2.raanRate_degph,
    rate(end === null ? undefined : end.raan_rad - before.raan_rad),
  );
  compare(
    'turning of the perigee under J2, integrated',
    curtisJ2.argumentOfPerigeeRate_degph,
    rate(end === null ? undefined : end.argumentOfPerigee_rad - before.argumentOfPerigee_rad),
  );
  return outcome(
    'integrated-orbits',
    'Orbits by integration',
    'The integrator and the gravity of all flights on orbits whose course is published.',
    [...plain.rows, ...rows.rows],
  );
}
