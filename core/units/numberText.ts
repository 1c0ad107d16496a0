/** Numbers as people type them. */

export type NumberText =
  | { readonly ok: true; readonly value: number; readonly rest: string }
  /** `reason` is a clause that says what is wrong and what to write. */
  | { readonly ok: false; readonly reason: string };

/** Spaces that group digits or stand between a number and its unit: plain, no-break, narrow no-break, thin, figure. */
const SPACES = ' \\u00A0\\u202F\\u2009\\u2007';
const SIGN = '[+\\-\\u2212]?';
const EXPONENT = '(?:[eE][+\\-\\u2212]?\\d+)?';
const NUMBER = new RegExp(
  `^(${SIGN})(\\d{1,3}(?:[${SPACES}]\\d{3})+(?!\\d)(?:\\.\\d*)?|\\d+(?:\\.\\d*)?|\\.\\d+)(${EXPONENT})`,
);
/** A comma right after a digit, with all digits, points and commas around it. */
const COMMAS = new RegExp(`^${SIGN}((?:\\d[\\d.,]*)?\\d?,\\d[\\d.,]*)`);
const GROUPED = /^\d{1,3}(?:,\d{3})+(?:\.\d+)?$/;

/**
 * Reads the number at the start of a text and gives the rest after it. The decimal mark is a point; thousands are
 * grouped by spaces, or by commas where these cannot be meant otherwise (two of them, or one and a point). A single
 * comma is refused with a clause that names both readings. The value is dimensionless.
 */
export function readNumber(text: string): NumberText {
  const commas = COMMAS.exec(text)?.[1];
  if (commas !== undefined) {
    const plain = commas.replaceAll(',', '');
    const safe = GROUPED.test(commas) && (commas.split(',').length > 2 || commas.includes('.'));
    if (!safe) return { ok: false, reason: commaReason(commas) };
    return readNumber(text.replace(commas, plain));
  }
  const found = NUMBER.exec(text);
  if (found === null) return { ok: false, reason: 'a number such as 12, 0.5 or 1.2e6 must come first' };
  const [all, sign = '', digits = '', exponent = ''] = found;
  const value = Number(
    `${sign}${digits.replace(new RegExp(`[${SPACES}]`, 'g'), '')}${exponent}`.replaceAll('\u2212', '-'),
  );
  if (!Number.isFinite(value)) return { ok: false, reason: 'the number is too large' };
  return { ok: true, value, rest: text.slice(all.length) };
}

function commaReason(commas: string): string {
  const plain = commas.replaceAll(',', '');
  if (!GROUPED.test(commas)) {
    return /^\d+,\d+$/.test(commas)
      ? `the decimal mark is a point, so write ${commas.replace(',', '.')}`
      : 'the comma does not group thousands, so write the number without it';
  }
  return `the comma may group thousands or be a decimal mark, so write ${plain} or ${commas.replace(',', '.')}`;
}
