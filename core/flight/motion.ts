/**
 * Equations of motion of one flyer: a point mass in the inertial frame that coincides with the Earth-fixed one at
 * mission time 0 (x through longitude 0 on the equator, z north).
 *
 * v̇ = g + [(T − p A) d − D u_air] / m, T the vacuum thrust, A the exit area that is burning, d the thrust's direction,
 * D = ½ ρ v² C_D S against the air-relative velocity; thrust, area and mass are known functions of time in a segment.
 *
 * Where an arrangement has a normal-force slope C, K (c d − u_air) with K = ½ ρ v² S C and c = d·u_air is added: at right
 * angles to the axis, which the thrust lies along, in the plane of axis and velocity, K sin α in size, so that it is the
 * slope times α where a slope means anything. The ledger counts it as drag.
 *
 * Where a limit a on sensed acceleration throttles, T is what makes |(T − p A) d − D u_air| = a m, and the propellant that
 * throttling saves against the commanded flow, kg, is one more component of the state, its last: then mass follows the
 * flight. The throttle leaves the exit area alone.
 *
 * With the ledger (12 components instead of 6) each loss is its own quadrature, on the Earth-relative velocity w = v − ω×r
 * with direction u (the vertical while at rest):
 *   ideal T/m; gravity −g·u; drag D (u_air·u)/m; back-pressure p A/m; steering (T − p A)(1 − d·u)/m;
 *   centrifugal (ω×(ω×r))·u. Then d|w|/dt = ideal less the rest; the Coriolis term is at right angles to w.
 */
import type { Atmosphere } from '../earth/atmosphere/atmosphere.ts';
import { EARTH_ROTATION_radps } from '../constants/physical.ts';
import type { EarthFigure } from '../earth/figure.ts';
import type { Gravity } from '../earth/gravity.ts';
import type { OdeSystem } from '../ode/system.ts';
import type { DragTable } from '../vehicle/drag.ts';
import type { WindProfile } from '../earth/wind.ts';
import type { HeldSpan, Segment } from './planTypes.ts';
import type { SteeringLaw } from './steering/law.ts';

/** Below this Earth-relative speed the vehicle counts as at rest: directions are the vertical's. m/s */
const REST_mps = 1e-3;
/** Most nodes of a drag table, so that all frozen pieces fit into one integer. */
export const MOST_MACH_NODES = 4095;
const LAYER_BASE = 4096;
const LAYERS = 64;
const WIND_BASE = LAYERS * LAYER_BASE;

export const STATE_SIZE = 6;
const LEDGER_SIZE = 12;

/** Whether a state of so many components has the propellant saved by limits as its last, and its ledger. Unitless. */
export function hasSaved(dimension: number): boolean {
  return dimension === STATE_SIZE + 1 || dimension === LEDGER_SIZE + 1;
}

/** Whether a state of so many components has a ledger. Unitless. */
export function hasLedger(dimension: number): boolean {
  return dimension >= LEDGER_SIZE;
}

export interface MotionSetting {
  readonly gravity: Gravity;
  /** What heights are measured from. */
  readonly figure: EarthFigure;
  readonly atmosphere: Atmosphere;
  readonly wind: WindProfile | null;
  /** Rate at which Earth and air turn, rad/s; WGS 84's when left out. */
  readonly rotation_radps?: number;
}

/** The equations of motion as an integrable system; SI, inertial frame. See the top of the file. */
export class Motion implements OdeSystem {
  readonly dimension: number;
  /** Rate at which Earth and air turn. */
  readonly rotation_radps: number;
  /** Results of the last evaluation, for observers: SI. */
  height_m = 0;
  speedAir_mps = 0;
  mach = 0;
  thrustNet_N = 0;
  drag_N = 0;
  mass_kg = 0;
  density_kgpm3 = 0;
  /** Gravity of the last evaluation, inertial, m/s². */
  readonly gravity = new Float64Array(3);
  /** Thrust direction of the last evaluation, inertial unit vector. */
  readonly aim = new Float64Array(3);
  /** Wind of the last evaluation, inertial, m/s; nothing in still air. */
  readonly gust = new Float64Array(3);
  private readonly atmosphere: Atmosphere;
  private readonly wind: WindProfile | null;
  private readonly field: Gravity;
  private readonly figure: EarthFigure;
  private readonly layerEdges: Float64Array;
  private machEdges: Float64Array = new Float64Array(0);
  private drag!: DragTable;
  private law!: SteeringLaw;
  /** `alongAir` of the law. */
  private alongAir = false;
  private layer = 0;
  private machPiece = 0;
  private windPiece = 0;
  private start_s = 0;
  private mass0_kg = 0;
  private flow_kgps = 0;
  private flowRate_kgps2 = 0;
  private thrust0_N = 0;
  private thrustRate_Nps = 0;
  private area0_m2 = 0;
  private areaRate_m2ps = 0;
  /** The limit in force: see `HeldSpan`; null where there is none, and then nothing else here counts. */
  private hold: HeldSpan | null = null;
  /** Index of the saved propellant in the state, −1 when it has none. */
  private readonly savedAt: number;
  private readonly withLedger: boolean;
  /** Share of the commanded throttle with which the limit in force would just be met; at the last evaluation. */
  wanted = Number.POSITIVE_INFINITY;
  /** Share of the commanded throttle at the last evaluation; 1 where no limit throttles. */
  share = 1;

  constructor(setting: MotionSetting, withLedger: boolean, withSaved = false) {
    const size = withLedger ? LEDGER_SIZE : STATE_SIZE;
    this.dimension = withSaved ? size + 1 : size;
    this.savedAt = withSaved ? size : -1;
    this.withLedger = withLedger;
    this.atmosphere = setting.atmosphere;
    this.wind = setting.wind;
    this.rotation_radps = setting.rotation_radps ?? EARTH_ROTATION_radps;
    this.field = setting.gravity;
    this.figure = setting.figure;
    this.layerEdges = setting.atmosphere.pieceEdges_m;
  }

  /** Takes over a segment's thrust, flow, area and mass (SI; extra_kg is the payload) with its drag and law. */
  enter(segment: Segment, extra_kg: number, drag: DragTable, law: SteeringLaw): void {
    this.start_s = segment.start_s;
    this.mass0_kg = segment.mass_kg + extra_kg;
    this.flow_kgps = segment.flow_kgps;
    this.flowRate_kgps2 = segment.flowRate_kgps2;
    this.thrust0_N = segment.thrust_N;
    this.thrustRate_Nps = segment.thrustRate_Nps;
    const hold = this.savedAt < 0 ? null : (segment.hold ?? null);
    this.hold = hold;
    this.share = 1;
    if (hold !== null) {
      this.flow_kgps = hold.restFlow_kgps + hold.flow_kgps;
      this.flowRate_kgps2 = hold.restFlowRate_kgps2;
      this.thrust0_N = hold.restThrust_N + hold.thrust_N;
      this.thrustRate_Nps = hold.restThrustRate_Nps;
    }
    this.area0_m2 = segment.exitArea_m2;
    this.areaRate_m2ps = segment.exitAreaRate_m2ps;
    this.drag = drag;
    this.machEdges = drag.coefficient.edges;
    this.law = law;
    this.alongAir = law.alongAir;
  }

  /** State derivative at mission time t (s) and inertial state y (m, m/s[, ledger in m/s]); see the top of the file. */
  derivative(t: number, y: Float64Array, dydt: Float64Array): void {
    const x = y[0]!;
    const yy = y[1]!;
    const z = y[2]!;
    const vx = y[3]!;
    const vy = y[4]!;
    const vz = y[5]!;
    const r = Math.sqrt(x * x + yy * yy + z * z);
    const gravity = this.gravity;
    this.field.acceleration(x, yy, z, gravity);
    const gx = gravity[0]!;
    const gy = gravity[1]!;
    const gz = gravity[2]!;

    // Air.
    const height = this.figure.height_m(x, yy, z);
    const atmosphere = this.atmosphere;
    atmosphere.evaluate(height, this.layer);
    const spin = this.rotation_radps;
    const wx = vx + spin * yy;
    const wy = vy - spin * x;
    const wz = vz;
    let ax = wx;
    let ay = wy;
    let az = wz;
    if (this.wind !== null) {
      this.blow(this.wind, x, yy, z, height);
      ax -= this.gust[0]!;
      ay -= this.gust[1]!;
      az -= this.gust[2]!;
    }
    const air = Math.sqrt(ax * ax + ay * ay + az * az);
    let ux: number;
    let uy: number;
    let uz: number;
    if (air > REST_mps) {
      ux = ax / air;
      uy = ay / air;
      uz = az / air;
    } else {
      ux = x / r;
      uy = yy / r;
      uz = z / r;
    }
    const mach = air / atmosphere.soundSpeed_mps;
    const drag =
      0.5 *
      atmosphere.density_kgpm3 *
      air *
      air *
      this.drag.referenceArea_m2 *
      this.drag.coefficient.evaluate(mach, this.machPiece);

    // Engines.
    const tau = t - this.start_s;
    let mass = this.mass0_kg - tau * (this.flow_kgps + 0.5 * tau * this.flowRate_kgps2);
    let vacuum = this.thrust0_N + tau * this.thrustRate_Nps;
    const pressed = atmosphere.pressure_Pa * (this.area0_m2 + tau * this.areaRate_m2ps);
    const aim = this.aim;
    aim[0] = ux;
    aim[1] = uy;
    aim[2] = uz;
    if (!this.alongAir) this.law.point(t, aim, y);
    const dx = aim[0];
    const dy = aim[1];
    const dz = aim[2];
    // Normal force K (c d − u), c = d·u: so much more along −u and along d.
    const slope = this.drag.normalForceSlope_perRad;
    let normal = 0;
    let lift = 0;
    if (slope > 0) {
      normal = 0.5 * atmosphere.density_kgpm3 * air * air * this.drag.referenceArea_m2 * slope;
      lift = normal * (ux * dx + uy * dy + uz * dz);
    }
    if (this.savedAt >= 0) {
      dydt[this.savedAt] = 0;
      const { hold } = this;
      if (hold !== null) {
        if (hold.mode !== 'idle') mass += y[this.savedAt]! - hold.saved_kg;
        const felt = hold.limit_mps2 * mass;
        const against = drag + normal;
        const along = against * (ux * dx + uy * dy + uz * dz);
        const square = felt * felt - against * against + along * along;
        const needed = along + Math.sqrt(square > 0 ? square : 0) - lift + pressed;
        this.wanted = 1 + (needed - vacuum) / hold.thrust_N;
        if (hold.mode !== 'idle') {
          this.share = hold.mode === 'holding' ? this.wanted : hold.least;
          vacuum -= (1 - this.share) * hold.thrust_N;
          dydt[this.savedAt] = (1 - this.share) * hold.flow_kgps;
        }
      }
    }
    const net = vacuum - pressed;
    const push = (net + lift) / mass;
    const brake = (drag + normal) / mass;

    dydt[0] = vx;
    dydt[1] = vy;
    dydt[2] = vz;
    dydt[3] = gx + push * dx - brake * ux;
    dydt[4] = gy + push * dy - brake * uy;
    dydt[5] = gz + push * dz - brake * uz;

    if (this.withLedger) {
      const ground = Math.sqrt(wx * wx + wy * wy + wz * wz);
      let ex: number;
      let ey: number;
      let ez: number;
      if (ground > REST_mps) {
        ex = wx / ground;
        ey = wy / ground;
        ez = wz / ground;
      } else {
        ex = x / r;
        ey = yy / r;
        ez = z / r;
      }
      const spin2 = spin * spin;
      dydt[6] = vacuum / mass;
      dydt[7] = -(gx * ex + gy * ey + gz * ez);
      const ahead = dx * ex + dy * ey + dz * ez;
      dydt[8] = brake * (ux * ex + uy * ey + uz * ez) - (lift / mass) * ahead;
      dydt[9] = pressed / mass;
      dydt[10] = (net / mass) * (1 - ahead);
      dydt[11] = -spin2 * (x * ex + yy * ey);
    }

    this.density_kgpm3 = atmosphere.density_kgpm3;
    this.height_m = height;
    this.speedAir_mps = air;
    this.mach = mach;
    this.thrustNet_N = net;
    this.drag_N = drag;
    this.mass_kg = mass;
  }

  /** Distance to the nearest edge of the frozen pieces: Mach numbers as they are, heights in km. */
  pieceMargin(_t: number, y: Float64Array): number {
    this.locate(y);
    const h = this.height_m;
    let margin = Infinity;
    const layer = this.layer;
    const edges = this.layerEdges;
    if (layer > 0) margin = Math.min(margin, (h - edges[layer - 1]!) * 1e-3);
    if (layer < edges.length) margin = Math.min(margin, (edges[layer]! - h) * 1e-3);
    const piece = this.machPiece;
    const machEdges = this.machEdges;
    if (piece > 0) margin = Math.min(margin, this.mach - machEdges[piece - 1]!);
    if (piece < machEdges.length) margin = Math.min(margin, machEdges[piece]! - this.mach);
    if (this.wind !== null) {
      const windEdges = this.wind.pieceEdges_m;
      if (this.windPiece > 0) margin = Math.min(margin, (h - windEdges[this.windPiece - 1]!) * 1e-3);
      if (this.windPiece < windEdges.length)
        margin = Math.min(margin, (windEdges[this.windPiece]! - h) * 1e-3);
    }
    return margin;
  }

  /** Moves the frozen piece whose edge is nearest to its neighbour; margins as in `pieceMargin`. */
  crossEdge(t: number, y: Float64Array): void {
    // What lies as near as the nearest edge, and nothing that was left a moment ago.
    const near = Math.max(0, this.pieceMargin(t, y)) + 1e-12;
    this.layer = moved(this.layerEdges, this.layer, this.height_m, near * 1e3);
    this.machPiece = moved(this.machEdges, this.machPiece, this.mach, near);
    if (this.wind !== null) {
      this.windPiece = moved(this.wind.pieceEdges_m, this.windPiece, this.height_m, near * 1e3);
    }
  }

  /** Freezes the pieces that hold the state y (m, m/s). */
  choosePiece(_t: number, y: Float64Array): void {
    this.layer = this.atmosphere.pieceAt(this.figure.height_m(y[0]!, y[1]!, y[2]!));
    this.locate(y);
    this.machPiece = this.drag.coefficient.pieceAt(this.mach);
    if (this.wind !== null) this.windPiece = this.wind.pieceAt(this.height_m);
  }

  /** The frozen pieces as one integer. Unitless. */
  piece(): number {
    return this.machPiece + LAYER_BASE * this.layer + WIND_BASE * this.windPiece;
  }

  /** Restores frozen pieces from `piece`. Unitless. */
  setPiece(code: number): void {
    this.machPiece = code % LAYER_BASE;
    this.layer = Math.floor(code / LAYER_BASE) % LAYERS;
    this.windPiece = Math.floor(code / WIND_BASE);
  }

  /** The wind at a position (m) and height (m) into `gust`: inertial components, m/s. */
  private blow(wind: WindProfile, x: number, y: number, z: number, height: number): void {
    wind.evaluate(height, this.windPiece);
    // East is ẑ × r̂, north is r̂ × east.
    const e = 1 / Math.sqrt(x * x + y * y);
    const east = wind.eastward_mps;
    const north = wind.northward_mps / Math.sqrt(x * x + y * y + z * z);
    this.gust[0] = (-y * east - x * z * north) * e;
    this.gust[1] = (x * east - y * z * north) * e;
    this.gust[2] = north / e;
  }

  /** Height and Mach number of a state, by the frozen pieces. */
  private locate(y: Float64Array): void {
    const x = y[0]!;
    const yy = y[1]!;
    const z = y[2]!;
    const height = this.figure.height_m(x, yy, z);
    let ax = y[3]! + this.rotation_radps * yy;
    let ay = y[4]! - this.rotation_radps * x;
    let az = y[5]!;
    if (this.wind !== null) {
      this.blow(this.wind, x, yy, z, height);
      ax -= this.gust[0]!;
      ay -= this.gust[1]!;
      az -= this.gust[2]!;
    }
    this.height_m = height;
    this.speedAir_mps = Math.sqrt(ax * ax + ay * ay + az * az);
    this.mach = this.speedAir_mps / this.atmosphere.soundSpeedAt(height, this.layer);
  }
}

/** The piece next to `piece` across whichever of its edges `value` has reached within `near` (or passed). */
function moved(edges: Float64Array, piece: number, value: number, near: number): number {
  if (piece < edges.length && value >= edges[piece]! - near) return piece + 1;
  if (piece > 0 && value <= edges[piece - 1]! + near) return piece - 1;
  return piece;
}
