import { describe, expect, it } from 'vitest';
import { geoOrthographic } from 'd3';
import {
  distanceTicks,
  placeAt,
  project,
  sampleGlobePath,
  toDegrees,
  turnView,
  viewOfPath,
} from '../../../core/replay/globe.ts';
import { readTrack } from '../../../core/replay/flightData.ts';
import { allStudies, flightOf } from './studies.ts';

const { compiled, flight } = flightOf(allStudies()[0]!.study, 0);
const reader = readTrack(compiled, flight, 0);

describe('the globe', () => {
  it('starts at the site and ends where the log says that insertion is', () => {
    const path = sampleGlobePath(reader, 0, 'earthFixed');
    const first = toDegrees(path.directions[0]!, path.directions[1]!, path.directions[2]!);
    expect(first.latitude_deg).toBeCloseTo(compiled.study.site.latitude_deg, 9);
    expect(first.longitude_deg).toBeCloseTo(compiled.study.site.longitude_deg, 9);
    const insertion = flight.log.find((entry) => entry.id === 'insertion')!;
    expect(path.heights_m[path.heights_m.length - 1]).toBeCloseTo(insertion.height_m, 3);
    const ticks = distanceTicks(path, 100_000);
    // The ticks are at round distances on the ellipsoid; the log measures the same way, so it ends past the last one.
    const last = ticks[ticks.length - 1]!.distance_m;
    expect(last).toBe(Math.floor(insertion.downrange_m / 100_000) * 100_000);
  });

  it('turns the Earth-fixed frame against the inertial one by the turn of the Earth', () => {
    const fixed = new Float64Array(4);
    const inertial = new Float64Array(4);
    placeAt(reader, 300, 'earthFixed', fixed);
    placeAt(reader, 300, 'inertial', inertial);
    const a = toDegrees(fixed[0]!, fixed[1]!, fixed[2]!).longitude_deg;
    const b = toDegrees(inertial[0]!, inertial[1]!, inertial[2]!).longitude_deg;
    // 7.292115e-5 rad/s (WGS 84) for 300 s.
    expect(b - a).toBeCloseTo((7.292115e-5 * 300 * 180) / Math.PI, 9);
  });

  it('projects as a general-purpose map library does', () => {
    const path = sampleGlobePath(reader, 0, 'earthFixed');
    const view = turnView(viewOfPath(path, 0.6, 900, 400), 0.3, -0.2);
    const { latitude_deg, longitude_deg } = toDegrees(...view.toward);
    const lat = (latitude_deg * Math.PI) / 180;
    const lon = (longitude_deg * Math.PI) / 180;
    const east = [-Math.sin(lon), Math.cos(lon), 0];
    const north = [-Math.sin(lat) * Math.cos(lon), -Math.sin(lat) * Math.sin(lon), Math.cos(lat)];
    const roll = Math.atan2(
      view.up.reduce((sum, v, i) => sum + v * east[i]!, 0),
      view.up.reduce((sum, v, i) => sum + v * north[i]!, 0),
    );
    const map = geoOrthographic()
      .rotate([-longitude_deg, -latitude_deg, (roll * 180) / Math.PI])
      .translate([view.x_px, view.y_px])
      .scale(view.scale_px);
    const out = new Float64Array(3);
    for (let i = 0; i < path.times_s.length; i += 40) {
      const [x, y, z] = [path.directions[3 * i]!, path.directions[3 * i + 1]!, path.directions[3 * i + 2]!];
      project(view, x, y, z, 0, out);
      const at = toDegrees(x, y, z);
      const [px, py] = map([at.longitude_deg, at.latitude_deg])!;
      // Both are double precision at a scale of some thousand pixels a radius.
      expect(out[0]).toBeCloseTo(px, 6);
      expect(out[1]).toBeCloseTo(py, 6);
    }
  });

  it('shows the whole path inside the pane, running to the right, above the limb when seen from beside', () => {
    const path = sampleGlobePath(reader, 0, 'earthFixed');
    const view = viewOfPath(path, (80 * Math.PI) / 180, 1000, 360);
    const out = new Float64Array(3);
    let before = -Infinity;
    for (let i = 0; i < path.times_s.length; i++) {
      const seen = project(
        view,
        path.directions[3 * i]!,
        path.directions[3 * i + 1]!,
        path.directions[3 * i + 2]!,
        path.heights_m[i]!,
        out,
      );
      expect(seen).toBe(true);
      expect(out[0]).toBeGreaterThan(0);
      expect(out[0]).toBeLessThan(1000);
      expect(out[1]).toBeGreaterThan(0);
      expect(out[1]).toBeLessThan(360);
      expect(out[0]).toBeGreaterThanOrEqual(before - 0.5);
      before = out[0]!;
    }
  });

  it('steps by less than a millionth of a pixel where a float would step by half a metre', () => {
    const path = sampleGlobePath(reader, 0, 'earthFixed');
    // One metre a pixel at the surface.
    const view = { ...viewOfPath(path, 0.4, 1000, 400), scale_px: 6378137, x_px: 0, y_px: 0 };
    const out = new Float64Array(3);
    const place = new Float64Array(4);
    placeAt(reader, 300, 'earthFixed', place);
    project(view, place[0]!, place[1]!, place[2]!, place[3]!, out);
    const x0 = out[0]!;
    placeAt(reader, 300 + 1e-6, 'earthFixed', place);
    project(view, place[0]!, place[1]!, place[2]!, place[3]!, out);
    // About 4 km/s for a microsecond is 4 mm; double precision at 6e6 px resolves 1e-9 px.
    expect(Math.abs(out[0]! - x0)).toBeGreaterThan(1e-4);
    expect(Math.abs(out[0]! - x0)).toBeLessThan(1e-2);
  });
});
