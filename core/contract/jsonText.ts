/**
 * Reads JSON text with places. The language's own parser tells neither line nor column on every engine, and takes a
 * key that stands twice without a word; this scanner finds both before that parser is asked for the value.
 * Grammar: RFC 8259 (ECMA-404).
 */
import type { JsonValue } from './json.ts';
import { makeProblem, quote, type Problem } from './problem.ts';

export type JsonResult =
  { readonly ok: true; readonly value: JsonValue } | { readonly ok: false; readonly problem: Problem };

/** Deepest nesting of objects and lists; a study needs nine levels. */
const DEEPEST = 64;

/**
 * Parses a JSON text. On a mistake in the grammar, a key that stands twice in one object, the key `__proto__` or a
 * nesting of more than 64 levels it returns the problem, whose path is "line 3, column 14" (both counted from 1,
 * columns in characters). A byte-order mark at the start is passed over. Unitless.
 */
export function parseJsonText(text: string): JsonResult {
  const body = text.startsWith('\uFEFF') ? text.slice(1) : text;
  try {
    new Scanner(body).scan();
  } catch (fault) {
    if (!(fault instanceof Fault)) throw fault;
    return { ok: false, problem: makeProblem(placeOf(body, fault.index), fault.received, fault.allowed) };
  }
  return { ok: true, value: JSON.parse(body) as JsonValue };
}

function placeOf(text: string, index: number): string {
  const lines = text.slice(0, index).split(/\r\n|\n|\r/);
  const last = lines[lines.length - 1] ?? '';
  return `line ${lines.length}, column ${[...last].length + 1}`;
}

class Fault extends Error {
  readonly index: number;
  readonly received: string;
  readonly allowed: string;
  constructor(index: number, received: string, allowed: string) {
    super(`${received}; ${allowed}`);
    this.index = index;
    this.received = received;
    this.allowed = allowed;
  }
}

const NUMBER = /-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?/y;
const WORD = /[\p{L}\p{N}_$+.-]+/uy;
const SPACE = /[ \t\n\r]*/y;
const ESCAPE = /["\\/bfnrt]|u[0-9a-fA-F]{4}/y;

class Scanner {
  private at = 0;
  private depth = 0;

  constructor(private readonly text: string) {}

  scan(): void {
    this.space();
    this.value();
    this.space();
    if (this.at < this.text.length) throw this.fault('the end of the file');
  }

  private match(pattern: RegExp): string | undefined {
    pattern.lastIndex = this.at;
    const found = pattern.exec(this.text)?.[0];
    if (found !== undefined) this.at += found.length;
    return found;
  }

  private space(): void {
    this.match(SPACE);
  }

  private fault(allowed: string): Fault {
    const start = this.at;
    if (start >= this.text.length) return new Fault(start, 'the end of the file', allowed);
    if (this.text[start] === '"') return new Fault(start, 'a quotation mark', allowed);
    const word = this.match(WORD) ?? String.fromCodePoint(this.text.codePointAt(start) ?? 0);
    return new Fault(start, quote(word), allowed);
  }

  private take(mark: string): boolean {
    if (this.text[this.at] !== mark) return false;
    this.at += 1;
    return true;
  }

  private value(): void {
    const first = this.text[this.at];
    if (first === '{') return this.nested(() => this.object());
    if (first === '[') return this.nested(() => this.list());
    if (first === '"') {
      this.string();
      return;
    }
    const start = this.at;
    if (first === '-' || (first !== undefined && first >= '0' && first <= '9')) {
      // What follows at once would belong to the number: 012, 1.e5, 12kg.
      if (this.match(NUMBER) !== undefined && this.match(WORD) === undefined) return;
      this.at = start;
      throw this.fault('a number such as -12, 0.5 or 1.2e6');
    }
    const word = this.match(WORD);
    if (word === 'true' || word === 'false' || word === 'null') return;
    this.at = start;
    throw this.fault('a value: an object, a list, a text in double quotes, a number, true, false or null');
  }

  private nested(read: () => void): void {
    this.depth += 1;
    if (this.depth > DEEPEST) {
      throw new Fault(
        this.at,
        `the ${this.depth}th level of nesting`,
        `a nesting of at most ${DEEPEST} levels`,
      );
    }
    this.at += 1;
    read();
    this.depth -= 1;
  }

  private object(): void {
    const keys = new Set<string>();
    this.space();
    if (this.take('}')) return;
    for (;;) {
      this.space();
      const start = this.at;
      if (this.text[start] !== '"') throw this.fault('a key in double quotes');
      const key = this.string();
      if (keys.has(key)) throw new Fault(start, `the key ${quote(key)} again`, 'each key once in an object');
      // Assigned to by name, this key would change an object's kind instead of its content.
      if (key === '__proto__') throw new Fault(start, 'the key "__proto__"', 'a key of the study');
      keys.add(key);
      this.space();
      if (!this.take(':')) throw this.fault('":" after a key');
      this.space();
      this.value();
      this.space();
      if (this.take('}')) return;
      if (!this.take(',')) throw this.fault('"," or "}" after an entry of an object');
    }
  }

  private list(): void {
    this.space();
    if (this.take(']')) return;
    for (;;) {
      this.space();
      this.value();
      this.space();
      if (this.take(']')) return;
      if (!this.take(',')) throw this.fault('"," or "]" after an entry of a list');
    }
  }

  private string(): string {
    const start = this.at;
    this.at += 1;
    for (;;) {
      const letter = this.text[this.at];
      if (letter === undefined || letter === '\n' || letter === '\r') {
        const where = letter === undefined ? 'the end of the file' : 'the end of the line';
        throw new Fault(this.at, `${where} within a text`, 'a closing quotation mark');
      }
      if (letter < ' ') {
        const code = letter.charCodeAt(0).toString(16).padStart(4, '0');
        throw new Fault(this.at, `the control character U+${code.toUpperCase()}`, `its escape \\u${code}`);
      }
      this.at += 1;
      if (letter === '"') return JSON.parse(this.text.slice(start, this.at)) as string;
      if (letter === '\\' && this.match(ESCAPE) === undefined) {
        throw this.fault('one of " \\ / b f n r t or u with four hexadecimal digits after a backslash');
      }
    }
  }
}
