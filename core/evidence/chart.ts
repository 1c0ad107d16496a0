/** A chart of the report as SVG text. */
import { chartShapes, type TimeChart } from '../replay/timeChart.ts';

const SIZE = { width: 540, height: 366 };

/** Text made safe to stand in HTML and SVG. Unitless. */
export function escaped(text: string): string {
  return text.replace(/[&<>"]/g, (c) => ({ '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' })[c]!);
}

/** The chart as an SVG element; time in seconds along, the chart's own unit up. Its colours are classes of the page. */
export function chartSvg(chart: TimeChart): string {
  const { width, height } = SIZE;
  const shapes = chartShapes(chart, SIZE).map(({ tag, kind, at, words }) => {
    const attributes = Object.entries(at).map(([name, value]) => ` ${name}="${value}"`);
    const inner =
      words === undefined ? '' : tag === 'text' ? escaped(words) : `<title>${escaped(words)}</title>`;
    return `<${tag} class="${kind}"${attributes.join('')}>${inner}</${tag}>`;
  });
  return (
    `<svg role="img" aria-label="${escaped(chart.title)} against time" viewBox="0 0 ${width} ${height}" ` +
    `width="${width}" height="${height}">${shapes.join('')}</svg>`
  );
}
