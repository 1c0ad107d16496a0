/** How propellant lies at an ignition, for people: each tank with its Bond number, the criterion, and the motor that is missing. */
import type { SettlingMotor, StagingSettling } from '../../core/parting/settling/staging.ts';
import { clock, fixed } from '../../core/units/figures.ts';
import { section, table } from './tables.ts';

/** Two digits are more than the correlation is good for. */
function rounded(value: number): string {
  const round = Number(value.toPrecision(2));
  return fixed(round, round !== 0 && Math.abs(round) < 10 ? 1 : 0);
}

export const TANK_HEAD = ['Bond number', 'over the critical', 'sensed, m/s²', 'out of place, mm', 'state '];

/** Cells of a tank under that head. */
export function tankCells({
  history,
  bond,
  margin,
  displaced_m,
  state,
}: StagingSettling['tanks'][number]): string[] {
  const { acceleration_mps2 } = history.samples[history.samples.length - 1]!;
  return [
    rounded(bond),
    margin > 0 ? rounded(margin) : 'not held',
    fixed(acceleration_mps2, 4),
    fixed(1000 * displaced_m, 0),
    state,
  ];
}

/** The settling of one body at its ignition; `motor` is what would bring its propellant home, null where none is needed. */
export function settlingSection(
  settling: StagingSettling,
  motor: SettlingMotor | null,
  colour: boolean,
): string {
  const { tanks, state, ignition_s, settledFrom_s, criterion } = settling;
  const rows = tanks.map((tank) => [tank.history.fill.tank.name, ...tankCells(tank)]);
  const when = Number.isFinite(settledFrom_s) ? `, all tanks settled from ${clock(settledFrom_s)} on` : '';
  const lines = [
    `When thrust sets in at ${clock(ignition_s)} the propellant of "${settling.body}" is ${state}${state === 'settled' ? when : ''}.`,
    table(['tank ', ...TANK_HEAD], rows, colour),
    `${criterion[0]!.toUpperCase()}${criterion.slice(1)}.`,
  ];
  if (motor !== null)
    lines.push(
      Number.isFinite(motor.thrust_N)
        ? `Settling motors of ${fixed(motor.thrust_N, 0)} N for ${fixed(motor.burn_s, 2)} s, with ${fixed(motor.propellant_kg, 2)} kg of propellant and without cases, would bring it home.`
        : 'No settling motor brings it home between release and ignition.',
    );
  return section('Propellant at ignition', lines.join('\n'), colour);
}
