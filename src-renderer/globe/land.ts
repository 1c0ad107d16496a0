/** Land outlines: Natural Earth by way of world-atlas (public domain), as one GeoJSON object. */
import { feature } from 'topojson-client';
import type { Topology } from 'topojson-specification';
import coarse from 'world-atlas/land-110m.json';
import fine from 'world-atlas/land-50m.json';

function outline(topology: unknown): GeoJSON.FeatureCollection | GeoJSON.Feature {
  const world = topology as Topology;
  const land = world.objects['land'];
  if (land === undefined) throw new Error('The land outlines hold no object "land".');
  return feature(world, land);
}

export const coarseLand = outline(coarse);
export const fineLand = outline(fine);
