/** Plans of flights home with edges and limits of every kind, for the demos that have a return: the start from each one's own ascent. */
import { readdirSync, readFileSync } from 'node:fs';
import { loadStudy } from '../../core/contract/load.ts';
import type { ReturnEdge } from '../../core/contract/returns.ts';
import type { Study } from '../../core/contract/study.ts';
import { compileStudy, type CompiledStudy } from '../../core/flight/compile.ts';
import { SOLVE_ACCURACY } from '../../core/flight/accuracy.ts';
import { FlightEngine } from '../../core/flight/engine.ts';
import { compileReturn, type CompiledReturn } from '../../core/recovery/compile.ts';
import { startOfReturn, type ReturnStart } from '../../core/recovery/start.ts';
import { solvePayload } from '../../core/solve/payload.ts';

/** As far from what run.mjs builds as from here. */
const FOLDER = new URL('../../assets/demos/', import.meta.url);

const free: ReturnEdge = { kind: 'free' };
const height = (km: number): ReturnEdge => ({ kind: 'altitude', height_m: km * 1000 });
const speed = (mps: number): ReturnEdge => ({ kind: 'speed', speed_mps: mps });
const pressure = (kPa: number): ReturnEdge => ({ kind: 'dynamicPressure', pressure_Pa: kPa * 1000 });
const heating = (Wpcm2: number): ReturnEdge => ({ kind: 'heating', heatFlux_Wpm2: Wpcm2 * 1e4 });

const STARTS = [
  ...[free, height(150), height(70), height(50), height(30), height(12), speed(1200), speed(1600)],
  ...[speed(2000), pressure(0.5), pressure(5), pressure(30), pressure(90)],
  ...[heating(1), heating(3), heating(8), heating(20)],
];
const ENDS = [
  ...[free, height(45), height(30), height(20), height(8), speed(1300), speed(900), speed(500), speed(200)],
  ...[pressure(60), pressure(25), pressure(5), heating(8), heating(3), heating(1)],
];
/** Both edges free, under limits from easy to hopeless. */
const LIMITS: readonly object[] = [
  {},
  ...[120_000, 90_000, 60_000, 50_000, 40_000, 30_000, 20_000].map((dynamicPressure_Pa) => ({
    dynamicPressure_Pa,
  })),
  ...[120_000, 80_000, 60_000, 40_000, 20_000].map((heatFlux_Wpm2) => ({ heatFlux_Wpm2 })),
  ...[100, 70, 55, 45, 30].map((load_mps2) => ({ load_mps2 })),
  { dynamicPressure_Pa: 60_000, heatFlux_Wpm2: 60_000, load_mps2: 60 },
];

/** One variation: which demo and plan, and what is changed in it. */
export interface Variation {
  readonly name: string;
  readonly demo: string;
  readonly plan: string;
  readonly change: (plan: Record<string, unknown>) => void;
}

const edgeName = (edge: ReturnEdge): string =>
  edge.kind === 'free' ? 'free' : `${edge.kind} ${String(Object.values(edge)[1])}`;

interface Document {
  provenance: object;
  returns?: { plans: Record<string, Record<string, unknown>> };
}

const documentOf = (file: string): Document =>
  JSON.parse(readFileSync(new URL(file, FOLDER), 'utf8')) as Document;

const demos = (): string[] =>
  readdirSync(FOLDER)
    .filter((file) => file.endsWith('.plumeline.json'))
    .sort();

/** All variations of all demos, in one order. */
export function returnVariations(): Variation[] {
  return demos().flatMap((demo) =>
    Object.entries(documentOf(demo).returns?.plans ?? {}).flatMap(([plan, { entry }]) => {
      const own = (name: string, change: Variation['change']): Variation => ({
        name: `${demo.replace(/\..*/, '')}, ${plan}, ${name}`,
        demo,
        plan,
        change,
      });
      const limited = LIMITS.map((limits) =>
        own(`limits ${JSON.stringify(limits)}`, (data) => (data['limits'] = limits)),
      );
      if (entry === undefined) return limited;
      const edged = STARTS.flatMap((start) =>
        ENDS.map((end) =>
          own(`from ${edgeName(start)} to ${edgeName(end)}`, (data) => {
            data['entry'] = { ...(data['entry'] as object), start, end };
          }),
        ),
      );
      return [...edged, ...limited];
    }),
  );
}

const ascents = new Map<string, { compiled: CompiledStudy; values: Float64Array }>();

function loaded(variation: Variation): Study | string {
  const document = documentOf(variation.demo);
  document.provenance = {};
  const plan = document.returns!.plans[variation.plan]!;
  variation.change(plan);
  plan['reserve'] = { kind: 'taken', margin: 0.03 };
  const result = loadStudy(JSON.stringify(document));
  return result.ok ? result.study : result.problems[0]!.sentence;
}

/** The return of a variation with its start at the parting of the demo's own ascent; the sentence that refuses its document. */
export function startOfVariation(
  variation: Variation,
): { compiled: CompiledReturn; start: ReturnStart } | string {
  const study = loaded(variation);
  if (typeof study === 'string') return study;
  let ascent = ascents.get(variation.demo);
  if (ascent === undefined) {
    const compiled = compileStudy(study);
    ascent = { compiled, values: solvePayload(compiled).values };
    ascents.set(variation.demo, ascent);
  }
  const compiled = compileStudy(study);
  const engine = new FlightEngine(compiled, SOLVE_ACCURACY);
  engine.fly(ascent.values);
  const home = compileReturn(compiled, variation.plan, engine.plan);
  const start = startOfReturn(engine, home.body, home.reserve_kg, ascent.values, compiled.makeLaws());
  if (start === null) throw new Error(`${variation.name}: the ascent has no such parting`);
  return { compiled: home, start };
}
