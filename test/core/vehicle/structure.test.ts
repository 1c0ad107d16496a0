import { describe, expect, it } from 'vitest';
import { compileBodies, protectedPropellant_kg, splitAtLink } from '../../../core/vehicle/structure.ts';
import { r1, ringed } from '../flight/studies.ts';

describe('the bodies of a vehicle', () => {
  it('weigh what their parts weigh', () => {
    const bodies = compileBodies(ringed().vehicle);
    expect(
      bodies.map(({ id, dry_kg, load_kg, protected_kg }) => [id, dry_kg, load_kg, protected_kg]),
    ).toEqual([
      // Dry mass and springs; usable, residual and return reserve; all but the usable part.
      ['booster', 118_000 + 900, 1_362_000 + 5000 + 113_000, 5000 + 113_000],
      ['ring', 4000, 0, 0],
      ['upper', 62_000, 458_000 + 12_000, 12_000],
      ['fairing', 6000, 0, 0],
    ]);
  });

  it('stand in file order, each with the index of its carrier', () => {
    expect(compileBodies(ringed().vehicle).map((body) => body.parent)).toEqual([-1, 0, 1, 2]);
  });

  it('keep every purpose of propellant but the usable one', () => {
    const each = { usable_kg: 1000, residual_kg: 1, flightReserve_kg: 20, returnReserve_kg: 300 };
    expect(protectedPropellant_kg(each)).toBe(321);
  });

  it('are refused by path when one rides on nothing known', () => {
    const { vehicle } = r1();
    vehicle.bodies.upper!.ridesOn = 'bosster';
    expect(() => compileBodies(vehicle)).toThrow(
      'vehicle.bodies.upper.ridesOn is "bosster", which is none of the bodies booster, upper',
    );
  });
});

describe('undoing a link', () => {
  const bodies = compileBodies(ringed().vehicle);

  it('takes away the body and all that it carries', () => {
    expect(splitAtLink(bodies, [0, 1, 2, 3], 2)).toEqual({ above: [2, 3], below: [0, 1] });
    expect(splitAtLink(bodies, [0, 1, 2, 3], 1)).toEqual({ above: [1, 2, 3], below: [0] });
    expect(splitAtLink(bodies, [0, 1, 2, 3], 3)).toEqual({ above: [3], below: [0, 1, 2] });
    expect(splitAtLink(bodies, [2, 3], 3)).toEqual({ above: [3], below: [2] });
  });

  it('leaves with the carrier what has lost its own way up', () => {
    // The fairing is gone already: only what is in the group counts.
    expect(splitAtLink(bodies, [0, 1, 2], 1)).toEqual({ above: [1, 2], below: [0] });
  });

  it('is refused where it joins no two bodies that fly together', () => {
    expect(() => splitAtLink(bodies, [0, 1, 2, 3], 0)).toThrow(/link "booster" joins no two bodies/);
    expect(() => splitAtLink(bodies, [2, 3], 2)).toThrow(/link "upper" joins no two bodies/);
    expect(() => splitAtLink(bodies, [0, 1], 3)).toThrow(/link "fairing" joins no two bodies/);
    expect(() => splitAtLink(bodies, [0, 1], 9)).toThrow(/link "9" joins no two bodies/);
  });
});
