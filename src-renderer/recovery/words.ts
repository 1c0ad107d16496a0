/** What a solved return is said to be, in sentences. */
import type { HomewardReply } from '../../core/replay/homeward.ts';
import type { PartingFigures } from '../../core/recovery/start.ts';
import { missionTime } from '../../core/replay/ruler.ts';
import { fixed, km, tonnes } from '../../core/units/figures.ts';

/** The answer in a sentence: what the return takes, and what the ascent then carries. */
export function homewardSentence(reply: HomewardReply, name: string): string {
  if (reply.status !== 'converged') return `${name}: no answer. ${reply.message}`;
  const takes = `${name}: the return takes ${tonnes(reply.used_kg)} t`;
  const kept = `${tonnes(reply.kept_kg)} t are kept for it`;
  return reply.together
    ? `${takes}, ${kept}, and ${tonnes(reply.payload_kg)} t of payload reach the orbit.`
    : `${takes}; ${kept}.`;
}

function parts({ height_m, speed_mps, angle_rad }: PartingFigures): string {
  return `at ${km(height_m)} km with ${fixed(speed_mps, 0)} m/s, climbing at ${fixed((angle_rad * 180) / Math.PI, 1)}°`;
}

/** What solving in one problem is worth, and how the ascent gives way. */
export function apartSentences({ apart, payload_kg, parting, pricePerKilogram }: HomewardReply): string[] {
  const said: string[] = [];
  if (parting !== null) {
    const other = apart?.parting ?? null;
    const same = other !== null && Math.abs(other.height_m - parting.height_m) < 1;
    said.push(
      `They part ${parts(parting)}${other === null || same ? '' : `; one after the other, ${parts(other)}`}.`,
    );
  }
  if (apart !== null) {
    const lost_kg = payload_kg - apart.payload_kg;
    if (Number.isNaN(apart.payload_kg)) said.push(`One after the other there is no answer: ${apart.message}`);
    else if (lost_kg > 0.5)
      said.push(
        `One after the other it would be ${tonnes(apart.payload_kg)} t, ${fixed(lost_kg, 0)} kg less, with ${tonnes(apart.kept_kg)} t kept.`,
      );
    else said.push('The reserve is enough: the ascent need not give way.');
  }
  if (pricePerKilogram > 0)
    said.push(
      `A kilogram less to be kept for the return would be worth ${fixed(pricePerKilogram, 2)} kg of payload.`,
    );
  return said;
}

/** What holds it, when, and what easing it is worth: a sentence each. */
export function holdSentences({ holds, together, pricePerKilogram }: HomewardReply): string[] {
  if (holds.length === 0) return ['Nothing holds it back.'];
  return holds.map(({ words, time_s, worth_kg, unit }) => {
    const when = Number.isNaN(time_s) ? '' : `, at ${missionTime(time_s, true)}`;
    const worth = fixed(worth_kg, worth_kg < 10 ? 1 : 0);
    // Where the reserve is enough the ascent does not feel it.
    const gain =
      together && pricePerKilogram > 0 ? `carry ${worth} kg more payload` : `save ${worth} kg of propellant`;
    return `${words.charAt(0).toUpperCase()}${words.slice(1)}${when}; ${unit} more would ${gain}.`;
  });
}
