/** The sweep for other programs: the chart as a file of its own, the table as CSV; both carry the caution and the inputs' hash. */
import type { SweepResult } from '../../core/study/sweep.ts';

/** A file is written with computed styles in it, so that it looks the same without the window's style sheets. */
const KEPT = [
  'fill',
  'stroke',
  'stroke-width',
  'stroke-dasharray',
  'font-size',
  'font-weight',
  'font-family',
  'text-anchor',
  'opacity',
] as const;

export function sweepSvgFile(svg: SVGSVGElement, caution: string, hash: string): string {
  const copy = svg.cloneNode(true) as SVGSVGElement;
  const from = [svg, ...svg.querySelectorAll<SVGElement>('*')];
  const to = [copy, ...copy.querySelectorAll<SVGElement>('*')];
  from.forEach((element, i) => {
    const style = getComputedStyle(element);
    const target = to[i]!;
    target.removeAttribute('class');
    for (const property of KEPT) target.style.setProperty(property, style.getPropertyValue(property));
  });
  const width = Number(svg.getAttribute('width'));
  const height = Number(svg.getAttribute('height'));
  const foot = 34;
  copy.setAttribute('xmlns', 'http://www.w3.org/2000/svg');
  copy.setAttribute('height', String(height + foot));
  copy.setAttribute('viewBox', `0 0 ${width} ${height + foot}`);
  const sheet = getComputedStyle(document.body).backgroundColor;
  const ground = document.createElementNS('http://www.w3.org/2000/svg', 'rect');
  ground.setAttribute('width', String(width));
  ground.setAttribute('height', String(height + foot));
  ground.setAttribute('fill', sheet);
  copy.prepend(ground);
  [caution, `Inputs ${hash}`].forEach((words, i) => {
    const text = document.createElementNS('http://www.w3.org/2000/svg', 'text');
    text.setAttribute('x', '0');
    text.setAttribute('y', String(height + 14 + 15 * i));
    text.setAttribute('font-size', '11');
    text.setAttribute('font-family', 'Atkinson Hyperlegible Next, sans-serif');
    text.setAttribute('fill', getComputedStyle(document.body).color);
    text.textContent = words;
    copy.append(text);
  });
  return `<?xml version="1.0" encoding="UTF-8"?>\n${new XMLSerializer().serializeToString(copy)}\n`;
}

/** One row a point; numbers in full, with a point; what is not solved has an empty payload and its reason. */
export function sweepCsv(sweep: SweepResult, caution: string, hash: string): string {
  const quote = (text: string): string => `"${text.replaceAll('"', '""')}"`;
  const cell = (value: number | undefined): string =>
    value !== undefined && Number.isFinite(value) ? String(value) : '';
  const rows = sweep.points.map((p) =>
    [
      p.mode,
      cell(p.gap_s),
      cell(p.effectiveGap_s),
      p.outcome.status,
      cell(p.payload_kg),
      cell(p.share),
      cell(p.perigee_m),
      cell(p.apogee_m),
      cell(p.ledger?.ideal_mps),
      cell(p.ledger?.gravity_mps),
      cell(p.ledger?.steering_mps),
      cell(p.ledger?.drag_mps),
      cell(p.ledger?.backPressure_mps),
      cell(p.ledger?.centrifugal_mps),
      p.outcome.status === 'converged' ? '' : quote(p.outcome.message),
    ].join(','),
  );
  return (
    `# ${caution}\n# inputs ${hash}\n` +
    'mode,gap_s,effectiveGap_s,status,payload_kg,share,perigee_m,apogee_m,ideal_mps,gravity_mps,steering_mps,drag_mps,' +
    `backPressure_mps,centrifugal_mps,reason\n${rows.join('\n')}\n`
  );
}
