/** The window's typeface as part of a saved page, so that it looks the same where the typeface is not installed. */

const FAMILY = 'Atkinson Hyperlegible Next Variable';

/** CSS that brings the upright Latin letters with it. Empty where the window has no such typeface of its own. */
export async function typefaceCss(): Promise<string> {
  const rules = [...document.styleSheets].flatMap((sheet) => [...sheet.cssRules]);
  const latin = rules.find(
    (rule): rule is CSSFontFaceRule =>
      rule instanceof CSSFontFaceRule &&
      rule.style.getPropertyValue('font-family').includes(FAMILY) &&
      /U\+0+-0*FF\b/i.test(rule.style.getPropertyValue('unicode-range')),
  );
  if (latin === undefined) return '';
  const url = /url\("?([^")]+)"?\)/.exec(latin.style.getPropertyValue('src'))?.[1];
  if (url === undefined) return '';
  const reply = await fetch(new URL(url, latin.parentStyleSheet?.href ?? document.baseURI));
  if (!reply.ok) return '';
  const bytes = new Uint8Array(await reply.arrayBuffer());
  const text = Array.from(bytes, (byte) => String.fromCharCode(byte)).join('');
  return (
    `@font-face{font-family:'${FAMILY}';font-weight:200 800;` +
    `src:url(data:font/woff2;base64,${btoa(text)}) format('woff2')}`
  );
}
