/** Charts as files of their own, which look the same without the window's styles and fonts and carry caution and inputs' hash. */
import textFont from '@fontsource-variable/atkinson-hyperlegible-next/files/atkinson-hyperlegible-next-latin-wght-normal.woff2?inline';

const NAMESPACE = 'http://www.w3.org/2000/svg';
/** Written into the file with their computed values. */
const KEPT = [
  'fill',
  'stroke',
  'stroke-width',
  'stroke-dasharray',
  'stroke-linejoin',
  'paint-order',
  'font-size',
  'font-weight',
  'font-family',
  'text-anchor',
  'opacity',
] as const;
const FOOT = 34;
/** The typeface as CSS that needs no other file. */
export const FONT_FACE = `@font-face{font-family:'Atkinson Hyperlegible Next Variable';font-weight:200 800;src:url(${textFont}) format('woff2')} text{font-feature-settings:'tnum'}`;

/** A chart's picture as SVG text; caution and hash (of the inputs) stand under it. */
export function chartSvg(svg: SVGSVGElement, caution: string, hash: string): string {
  const copy = svg.cloneNode(true) as SVGSVGElement;
  const from = [svg, ...svg.querySelectorAll<SVGElement>('*')];
  const to = [copy, ...copy.querySelectorAll<SVGElement>('*')];
  from.forEach((element, i) => {
    const style = getComputedStyle(element);
    const target = to[i]!;
    for (const name of ['class', 'tabindex', 'role']) target.removeAttribute(name);
    for (const property of KEPT) target.style.setProperty(property, style.getPropertyValue(property));
  });
  const width = Number(svg.getAttribute('width'));
  const height = Number(svg.getAttribute('height')) + FOOT;
  copy.setAttribute('xmlns', NAMESPACE);
  copy.setAttribute('height', String(height));
  copy.setAttribute('viewBox', `0 0 ${width} ${height}`);
  copy.style.removeProperty('opacity');
  const { backgroundColor, color } = getComputedStyle(document.body);
  const ground = document.createElementNS(NAMESPACE, 'rect');
  ground.setAttribute('width', String(width));
  ground.setAttribute('height', String(height));
  ground.setAttribute('fill', backgroundColor);
  const fonts = document.createElementNS(NAMESPACE, 'style');
  fonts.textContent = FONT_FACE;
  copy.prepend(fonts, ground);
  [caution, `Inputs ${hash}`].forEach((words, i) => {
    const text = document.createElementNS(NAMESPACE, 'text');
    text.setAttribute('x', '0');
    text.setAttribute('y', String(height - FOOT + 14 + 15 * i));
    text.setAttribute('font-size', width < 560 ? '8.5' : '11');
    text.setAttribute('font-family', "'Atkinson Hyperlegible Next Variable', sans-serif");
    text.setAttribute('fill', color);
    text.textContent = words;
    copy.append(text);
  });
  return `<?xml version="1.0" encoding="UTF-8"?>\n${new XMLSerializer().serializeToString(copy)}\n`;
}

/** The same picture as PNG of `scale` pixels for each of the SVG's units, in base64. Rejects with a sentence. */
export async function chartPng(svgText: string, scale = 2): Promise<string> {
  const image = new Image();
  image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(svgText)}`;
  try {
    await image.decode();
  } catch (error) {
    throw new Error('The chart cannot be made into a picture: the browser does not draw its SVG.', {
      cause: error,
    });
  }
  const canvas = document.createElement('canvas');
  canvas.width = Math.round(scale * image.width);
  canvas.height = Math.round(scale * image.height);
  const context = canvas.getContext('2d');
  if (context === null)
    throw new Error('The chart cannot be made into a picture: the browser gives no canvas.');
  context.drawImage(image, 0, 0, canvas.width, canvas.height);
  return canvas.toDataURL('image/png').replace(/^data:image\/png;base64,/, '');
}
