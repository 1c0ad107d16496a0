import { describe, expect, test } from 'vitest';
import * as data from '../../../../core/earth/atmosphere/us1976-data.ts';
import { Us1976Atmosphere } from '../../../../core/earth/atmosphere/us1976.ts';
import published from '../../../published/earth/atmosphere-us1976.json' with { type: 'json' };
import { Worst } from '../worst.ts';

const air = new Us1976Atmosphere();
const at = (height_m: number, piece = air.pieceAt(height_m)) => {
  air.evaluate(height_m, piece);
  const { density_kgpm3, pressure_Pa, temperature_K, soundSpeed_mps } = air;
  return { density_kgpm3, pressure_Pa, temperature_K, soundSpeed_mps };
};
const VACUUM = air.pieceEdges_m.length;
const SPECIFIC_GAS_CONSTANT_JpkgK = data.GAS_CONSTANT_JpkmolK / data.MOLAR_MASS_SEA_LEVEL_kgpkmol;

describe("the standard's own numbers", () => {
  test('the lower layers join: each base temperature follows from the gradients below it', () => {
    published.layerBases.rows.forEach((row, k) => {
      expect(data.LAYER_BASES_m[k]).toBe(row.geopotential_m);
    });
    let temperature = data.SEA_LEVEL_TEMPERATURE_K;
    for (let k = 1; k < published.layerBases.rows.length; k++) {
      temperature += data.LAYER_GRADIENTS_Kpm[k - 1]! * (data.LAYER_BASES_m[k]! - data.LAYER_BASES_m[k - 1]!);
      expect(temperature).toBeCloseTo(Number(published.layerBases.rows[k]!.temperature_K), 9);
    }
  });

  test('kinetic temperature at 86 km is the same from below and from above', () => {
    const top = at(86000, 6);
    // The table of molar masses has six decimals: 187 K times half of the last is 1e-4 K.
    expect(Math.abs(top.temperature_K - data.TEMPERATURE_86_K)).toBeLessThan(1e-4);
  });

  test("the gas constant is the product of Boltzmann's and Avogadro's within their digits", () => {
    // Six digits of k and seven of N_A.
    expect(
      Math.abs((data.BOLTZMANN_1976_JpK * data.AVOGADRO_1976_pkmol) / data.GAS_CONSTANT_JpkmolK - 1),
    ).toBeLessThan(3e-6);
  });
});

describe('the U.S. Standard Atmosphere 1976 below 86 km', () => {
  // The printed rows are checked by core/evidence/earth.ts, which checks.test.ts runs.
  test("sea level has exactly the standard's defining pressure and temperature", () => {
    const sea = at(0);
    expect(sea.pressure_Pa).toBe(101325);
    expect(sea.temperature_K).toBe(288.15);
  });

  test("the air is in hydrostatic equilibrium with the standard's gravity", () => {
    const worst = new Worst('dp/dz + rho g, over rho g', '', 1e-10);
    for (let z = -4900; z < 85900; z += 511) {
      const piece = air.pieceAt(z);
      const p = (dz: number) => at(z + dz, piece).pressure_Pa;
      const slope = (8 * (p(20) - p(-20)) - (p(40) - p(-40))) / 240;
      const g = data.GRAVITY_1976_mps2 * (data.RADIUS_1976_m / (data.RADIUS_1976_m + z)) ** 2;
      worst.add(z, slope / (at(z, piece).density_kgpm3 * g) + 1);
    }
    // Fourth-order differences of a pressure that falls by e in 5600 m or more: 4 (20 / 5600)^4 / 120 = 5e-12;
    // rounding of the pressure over 80 m of that fall, 1e-14.
    worst.report();
  });

  test('the equation of state holds with the molecular-scale temperature, to -5 km', () => {
    const worst = new Worst('p - rho R T', 'relative', 1e-14);
    for (let z = -5000; z < 80000; z += 173) {
      const here = at(z);
      const gas = SPECIFIC_GAS_CONSTANT_JpkgK * here.temperature_K;
      worst.add(z, here.pressure_Pa / (here.density_kgpm3 * gas) - 1);
      worst.add(z, here.soundSpeed_mps / Math.sqrt(1.4 * gas) - 1);
      worst.add(z, air.soundSpeedAt(z, air.pieceAt(z)) / here.soundSpeed_mps - 1);
    }
    worst.report();
  });
});

describe('the U.S. Standard Atmosphere 1976 from 86 to 1000 km', () => {
  test("the four segments of temperature join with the standard's slopes", () => {
    const jump = new Worst('temperature across the joints', 'K', 1e-9);
    for (const edge of [91000, 100000, 110000, 120000]) {
      const piece = air.pieceAt(edge);
      jump.add(edge, at(edge, piece).temperature_K - at(edge, piece - 1).temperature_K);
    }
    jump.report();
    const slope = (z: number, piece: number) =>
      (at(z + 5, piece).temperature_K - at(z - 5, piece).temperature_K) / 0.01;
    // 12 K/km from each side of 110 and 120 km; 0 at 91 km. The ellipse is steep towards 110 km, which leaves the
    // outermost cubic 0.004 K/km.
    for (const [z, piece, expected] of [
      [91000, 8, 0],
      [110000, 9, 12],
      [110000, 10, 12],
      [120000, 10, 12],
      [120000, 11, 12],
    ] as const)
      expect(Math.abs(slope(z, piece) - expected), `${z} m, piece ${piece}`).toBeLessThan(0.01);
  });

  test('the speed of sound is held at its value at 86 km', () => {
    const top = at(86000, 6).soundSpeed_mps;
    for (const z of [86000, 90000, 150000, 999000, 1e6, 5e6]) {
      expect(at(z).soundSpeed_mps).toBe(top);
      expect(air.soundSpeedAt(z, air.pieceAt(z))).toBe(top);
    }
  });

  test('there is nothing above 1000 km', () => {
    for (const z of [1e6, 2e6, 1e9]) {
      expect(at(z).density_kgpm3).toBe(0);
      expect(at(z).pressure_Pa).toBe(0);
    }
    expect(at(1e6 - 1).density_kgpm3).toBeGreaterThan(0);
  });
});

describe('the pieces of the U.S. Standard Atmosphere 1976', () => {
  test('the edges ascend, belong to the piece above and lie where the standard puts them', () => {
    const edges = air.pieceEdges_m;
    for (let k = 0; k < edges.length; k++) {
      if (k > 0) expect(edges[k]).toBeGreaterThan(edges[k - 1]!);
      expect(air.pieceAt(edges[k]!)).toBe(k + 1);
      expect(air.pieceAt(edges[k]! - 1e-6)).toBe(k);
    }
    expect(edges[0]).toBeCloseTo(11019.07, 1);
    expect([...edges.slice(-6)]).toEqual([86e3, 91e3, 100e3, 110e3, 120e3, 1000e3]);
    expect(air.pieceAt(-1e5)).toBe(0);
  });

  test('neighbouring pieces meet at their edge', () => {
    const within = new Worst(
      'jump of pressure and density at the edges but 86 and 1000 km',
      'relative',
      1e-12,
    );
    const join = new Worst('jump of pressure and density at 86 km', 'relative', 1.3e-5);
    for (let k = 0; k < VACUUM - 1; k++) {
      const edge = air.pieceEdges_m[k]!;
      const below = at(edge, k);
      const above = at(edge, k + 1);
      const worst = edge === 86000 ? join : within;
      worst.add(`pressure, ${edge.toFixed(0)} m`, above.pressure_Pa / below.pressure_Pa - 1);
      worst.add(`density, ${edge.toFixed(0)} m`, above.density_kgpm3 / below.density_kgpm3 - 1);
    }
    // Two formulas that share their value at the knot.
    within.report();
    // The standard's two definitions: hydrostatic from below, number densities of seven digits from above.
    join.report();
  });

  test('a held piece goes on smoothly past its edges', () => {
    // Fourth differences 20 m apart, from 300 m inside to 300 m outside. Smooth, they are of the order of
    // (20 / 5600)^4 = 2e-10; were the next piece's formula used past an edge, the change of slope of ln density at
    // 11 km alone, 3e-5 per m, would show as 6e-4, and the change of curvature at 91 km as 4e-7. What is left is
    // the spline's steps of its third derivative.
    const worst = new Worst('fourth difference of ln density about the edges', '', 1e-7);
    const logs = (z: number, piece: number) => Math.log(at(z, piece).density_kgpm3);
    for (let piece = 0; piece < VACUUM; piece++) {
      const low = piece === 0 ? -5000 : air.pieceEdges_m[piece - 1]!;
      const high = air.pieceEdges_m[piece]!;
      for (const edge of [low, high])
        for (let z = edge - 300; z <= edge + 300; z += 20) {
          const difference =
            logs(z - 40, piece) -
            4 * logs(z - 20, piece) +
            6 * logs(z, piece) -
            4 * logs(z + 20, piece) +
            logs(z + 40, piece);
          worst.add(`piece ${piece}, ${z.toFixed(0)} m`, difference);
        }
    }
    worst.report();
  });

  test('no two atmospheres share their fields', () => {
    const other = new Us1976Atmosphere();
    air.evaluate(0, 0);
    other.evaluate(50000, other.pieceAt(50000));
    expect(air.density_kgpm3).toBeGreaterThan(1.2);
    expect(other.density_kgpm3).toBeLessThan(0.01);
  });
});
