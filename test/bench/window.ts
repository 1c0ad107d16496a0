/**
 * The window under the hand, in a real browser on the real loopback host: how long until the first picture and the first
 * answer, how long from a pointer's move to braid and numbers written, how fast answers follow a dragged knot.
 */
import { openWindow, settledPayload_kg } from '../e2e/harness.ts';

const MOVES = 200;

/** Times in ms, sorted. */
type Sorted = readonly number[];

interface Measured {
  readonly study: string;
  /** From starting host and browser to the window's first picture, and to a settled answer on show, ms. */
  readonly firstPicture_ms: number;
  readonly firstAnswer_ms: number;
  readonly scrub: Sorted;
  readonly knotMoves: Sorted;
  /** Answers that came while the knot was moved `MOVES` times, and the time that this took, ms. */
  readonly answers: number;
  readonly drag_ms: number;
}

const quantile = (times: Sorted, share: number): number =>
  times[Math.min(times.length - 1, Math.floor(share * times.length))] ?? Number.NaN;

async function measure(study: string | null): Promise<Measured> {
  const begun = performance.now();
  const stage = await openWindow(study);
  const { page } = stage;
  try {
    await page.locator('.row').waitFor();
    const firstPicture_ms = performance.now() - begun;
    await settledPayload_kg(page);
    const firstAnswer_ms = performance.now() - begun;
    // From the pointer's event to the end of all that it set off before the next picture. The globe draws with the picture.
    await page.evaluate(() => {
      const kept: number[] = [];
      Object.assign(globalThis, { kept });
      addEventListener('pointermove', (event) => {
        if (event.buttons !== 0) queueMicrotask(() => kept.push(performance.now() - event.timeStamp));
      });
    });
    const taken = async (): Promise<number[]> =>
      page.evaluate(() => (globalThis as unknown as { kept: number[] }).kept.splice(0));

    const bar = (await page.locator('svg.band').last().boundingBox())!;
    const along = (share: number): [number, number] => [bar.x + share * bar.width, bar.y + 0.5 * bar.height];
    await page.mouse.move(...along(0.05));
    await page.mouse.down();
    for (let i = 1; i <= MOVES; i++) {
      await page.mouse.move(...along(0.05 + (0.9 * i) / MOVES));
      await page.evaluate(() => new Promise((resume) => requestAnimationFrame(resume)));
    }
    await page.mouse.up();
    const scrub = (await taken()).sort((a, b) => a - b);

    const { x, y } = await page.evaluate(() => {
      const knots = [...document.querySelectorAll('svg.band')[0]!.querySelectorAll('.knot.movable')];
      const at = knots.map((knot) => knot.getBoundingClientRect());
      // One in the middle, so that there is room to move it.
      const middle = at.sort((p, q) => Math.abs(p.x - 600) - Math.abs(q.x - 600))[0]!;
      return { x: middle.x + middle.width / 2, y: middle.y + middle.height / 2 };
    });
    await page.evaluate(() => {
      const row = document.querySelector('[data-payload-kg]')!;
      const seen = { answers: 0 };
      Object.assign(globalThis, { seen });
      new MutationObserver(() => (seen.answers += 1)).observe(row, { attributeFilter: ['data-payload-kg'] });
    });
    await page.mouse.move(x, y);
    await page.mouse.down();
    const dragged = performance.now();
    for (let i = 1; i <= MOVES; i++) {
      await page.mouse.move(x + 0.4 * i, y);
      await page.evaluate(() => new Promise((resume) => requestAnimationFrame(resume)));
    }
    const drag_ms = performance.now() - dragged;
    const answers = await page.evaluate(
      () => (globalThis as unknown as { seen: { answers: number } }).seen.answers,
    );
    await page.mouse.up();
    const knotMoves = (await taken()).sort((a, b) => a - b);
    if (stage.faults.length > 0) throw new Error(`The window wrote errors: ${stage.faults.join('; ')}`);
    return {
      study: study ?? 'first demo',
      firstPicture_ms,
      firstAnswer_ms,
      scrub,
      knotMoves,
      answers,
      drag_ms,
    };
  } finally {
    await stage.close();
  }
}

const row = (times: Sorted): string =>
  [0.5, 0.95, 1].map((share) => quantile(times, share).toFixed(1).padStart(6)).join('  ');

const orders = JSON.parse(process.argv[2] ?? '{}') as { json?: boolean; studies?: string[] };
const results: Measured[] = [];
for (const study of orders.studies?.length ? orders.studies : [null]) results.push(await measure(study));
if (orders.json === true) process.stdout.write(`${JSON.stringify(results, null, 1)}\n`);
else {
  for (const result of results) {
    process.stdout.write(
      [
        `The window on ${result.study}, 1440 × 900, in software. Times in ms.`,
        `  start to first picture ${result.firstPicture_ms.toFixed(0)}, to the settled answer ${result.firstAnswer_ms.toFixed(0)}`,
        '                                                                   median     95 %    most',
        `  pointer's event to braid and numbers written, scrubbing (${result.scrub.length}) ${row(result.scrub)}   aim 16 at 95 %: ${quantile(result.scrub, 0.95) <= 16 ? 'met' : 'missed'}`,
        `  the same, moving a knot (${result.knotMoves.length})                                 ${row(result.knotMoves)}`,
        `  ${result.answers} re-flown answers shown over ${result.knotMoves.length} moves in ${(result.drag_ms / 1000).toFixed(1)} s: one every ${(result.drag_ms / Math.max(1, result.answers)).toFixed(0)} ms`,
        '',
      ].join('\n'),
    );
  }
}
