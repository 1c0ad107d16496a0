/** The sweep's chart as a file of its own; it carries the caution and the inputs' hash. */

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
  'paint-order',
  'stroke-linejoin',
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
