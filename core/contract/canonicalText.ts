/** Writes JSON so that equal documents give equal bytes and a change of one number changes one line. */

/**
 * The text of a document: two spaces a level, keys in the order in which the document holds them, a list of plain
 * values on one line, a newline at the end. Unitless. Throws TypeError for what JSON cannot hold, such as NaN.
 */
export function canonicalText(document: unknown): string {
  return `${write(document, '', '')}\n`;
}

function write(value: unknown, indent: string, path: string): string {
  const inner = `${indent}  `;
  if (Array.isArray(value)) {
    const items = value.map((each: unknown, i) => write(each, inner, `${path}.${i}`));
    if (value.every((each) => typeof each !== 'object' || each === null)) return `[${items.join(', ')}]`;
    return `[\n${items.map((item) => inner + item).join(',\n')}\n${indent}]`;
  }
  if (typeof value === 'object' && value !== null) {
    const entries = Object.entries(value).filter(([, each]) => each !== undefined);
    if (entries.length === 0) return '{}';
    const lines = entries.map(
      ([key, each]) => `${inner}${JSON.stringify(key)}: ${write(each, inner, `${path}.${key}`)}`,
    );
    return `{\n${lines.join(',\n')}\n${indent}}`;
  }
  if (typeof value === 'number' && !Number.isFinite(value)) {
    throw new TypeError(`${path.slice(1)} is ${value}; allowed is a finite number`);
  }
  if (
    value === null ||
    typeof value === 'string' ||
    typeof value === 'number' ||
    typeof value === 'boolean'
  ) {
    return JSON.stringify(value);
  }
  throw new TypeError(`${path.slice(1)} is a ${typeof value}; allowed is what JSON can hold`);
}
