import { expect, test } from 'vitest';
import { isJsonObject } from '../../../core/contract/json.ts';
import { DIMENSIONS } from '../../../core/units/dimensions.ts';
import { unitOfKey } from '../../../core/units/keys.ts';
import { unitFactor } from '../../../core/units/unitTable.ts';
import { ondelDocument } from '../../fixtures/study.ts';

function keysOf(value: unknown): string[] {
  if (Array.isArray(value)) return value.flatMap(keysOf);
  if (!isJsonObject(value)) return [];
  return Object.entries(value).flatMap(([key, each]) => (typeof each === 'number' ? [key] : keysOf(each)));
}

test('the unit is the ending of a key', () => {
  expect(unitOfKey('vehicle.bodies.upper.dryMass_kg')).toMatchObject({
    dimension: 'mass',
    unit: 'kg',
    toSi: 1,
  });
  expect(unitOfKey('launchAzimuth_deg')).toMatchObject({ dimension: 'angle', unit: 'deg' });
  expect(unitOfKey('sequence.events.tangent.action.law.b_per_s')).toMatchObject({ dimension: 'rate' });
  expect(unitOfKey('vehicle.bodies.booster.engineGroups.main.count')).toMatchObject({
    dimension: 'ratio',
    unit: '',
  });
});

test('every number of a study has a key whose unit is known, and whose factor the unit parser confirms', () => {
  const keys = [...new Set(keysOf(ondelDocument()))];
  expect(keys.length).toBeGreaterThan(20);
  for (const key of keys) {
    const { dimension, unit, toSi } = unitOfKey(key);
    if (unit !== '')
      expect(unitFactor(unit, DIMENSIONS[dimension].si)).toEqual({ kind: 'factor', factor: toSi });
  }
});

test('endings that a study may have and the shared one has not are confirmed by the unit parser too', () => {
  for (const key of ['rate_radps', 'parameter_m3ps2', 'flux_Wpm2', 'pressureAngle_Parad']) {
    const { dimension, unit, toSi } = unitOfKey(key);
    expect(unitFactor(unit, DIMENSIONS[dimension].si)).toEqual({ kind: 'factor', factor: toSi });
  }
});

test('an ending that is no unit is an error of the schema', () => {
  expect(() => unitOfKey('dryMass_stone')).toThrow('received the unit "stone", allowed is one of kg, m,');
});
