/** A brief as one HTML page that stands alone: its sheets under one another, one to a printed page. No script, no other file. */
import { FONT_FACE } from '../charts/exportChart.ts';

export interface HandoutWords {
  readonly title: string;
  readonly caution: string;
  /** Of the study. */
  readonly hash: string;
  readonly sheet: 'paper' | 'night';
}

const PAGE_STYLE = `
@page{size:1200px 675px;margin:0}
html,body{height:auto;overflow:auto}
body{display:flex;flex-direction:column;align-items:center}
.page{position:relative!important;opacity:1!important;pointer-events:none;zoom:1!important;break-after:page;border-bottom:1px solid var(--rule)}
.page .playhead,.page .veil{display:none}
@media print{.page{border:none;height:674px!important}*{print-color-adjust:exact}}
`;

/** The page of these sheets, as they stand in the window: drawings on canvas become pictures. */
export function handout(sections: readonly HTMLElement[], words: HandoutWords): string {
  const page = document.implementation.createHTMLDocument(words.title);
  page.documentElement.lang = 'en';
  page.documentElement.dataset['sheet'] = words.sheet;
  const charset = page.createElement('meta');
  charset.setAttribute('charset', 'utf-8');
  const style = page.createElement('style');
  style.textContent = `${FONT_FACE}${styleRules()}${PAGE_STYLE}`;
  page.head.prepend(charset);
  page.head.append(style);
  for (const section of sections) page.body.append(still(section));
  const foot = page.body.querySelector('.page:last-child .foot > :first-child');
  if (foot !== null) foot.textContent = `${words.caution} Study ${words.hash}`;
  return `<!doctype html>\n${page.documentElement.outerHTML}\n`;
}

/** The rules of the window's style sheets, but for typefaces, which would be files of their own. */
function styleRules(): string {
  return [...document.styleSheets]
    .flatMap((sheet) => [...sheet.cssRules])
    .filter((rule) => !(rule instanceof CSSFontFaceRule) && !(rule instanceof CSSImportRule))
    .map((rule) => rule.cssText)
    .join('\n');
}

/** A sheet as it stands, without what only works in the window. */
function still(section: HTMLElement): HTMLElement {
  const copy = section.cloneNode(true) as HTMLElement;
  copy.removeAttribute('inert');
  const from = section.querySelectorAll('canvas');
  copy.querySelectorAll('canvas').forEach((canvas, i) => {
    const picture = document.createElement('img');
    picture.src = from[i]!.toDataURL('image/png');
    picture.alt = canvas.getAttribute('aria-label') ?? '';
    picture.style.cssText = canvas.style.cssText;
    canvas.replaceWith(picture);
  });
  copy.querySelectorAll('[tabindex]').forEach((element) => element.removeAttribute('tabindex'));
  return copy;
}
