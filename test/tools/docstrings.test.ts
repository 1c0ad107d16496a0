import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import ts from 'typescript';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { findDocstringFaults } from './docstrings.mjs';

const options: ts.CompilerOptions = {
  target: ts.ScriptTarget.ES2023,
  module: ts.ModuleKind.ESNext,
  moduleResolution: ts.ModuleResolutionKind.Bundler,
  allowImportingTsExtensions: true,
  noEmit: true,
  strict: true,
  types: [],
};

const folder = mkdtempSync(join(tmpdir(), 'docstrings-'));
afterAll(() => {
  rmSync(folder, { recursive: true });
});

/** One compiler run serves all cases: they are gathered while the tests are being declared. */
const cases: { file: string; text: string }[] = [];
const faults = new Map<string, string[]>();
beforeAll(() => {
  for (const { file, text } of cases) writeFileSync(file, text);
  for (const { file, line, name } of findDocstringFaults(
    cases.map((each) => each.file),
    options,
  )) {
    faults.set(file, [...(faults.get(file) ?? []), `${line} ${name}`]);
  }
});

/** Declares a test of the faults of one file with this text, each as "line name". */
function faultsOf(sentence: string, text: string, expected: string[]): void {
  const file = join(folder, `case${cases.length}.ts`);
  cases.push({ file, text });
  it(sentence, () => {
    expect(faults.get(file) ?? []).toEqual(expected);
  });
}

describe('docstring check', () => {
  faultsOf(
    'faults an exported function without a docstring, however it is written',
    [
      'export function one(): void {}',
      'export const two = (): void => {};',
      'function three(): void {}',
      'export { three as four };',
    ].join('\n'),
    ['1 one', '2 two', '3 four'],
  );

  faultsOf(
    'leaves alone what is not exported, and data',
    'function one(): void {}\nexport const rows = [1, 2];\nexport interface A { b: 1 }\none();',
    [],
  );

  faultsOf('faults a plain comment', 'export {};\n// It says what it does.\nexport function one(): void {}', [
    '3 one',
  ]);
  faultsOf('faults a heading that is no sentence', '/** Does it. */\nexport function one(): void {}', [
    '2 one',
  ]);

  faultsOf(
    'faults classes and their public methods, and no others',
    [
      '/** A thing of some kind. */',
      'export class A {',
      '  open(): void {}',
      '  private shut(): void { this.#hidden(); }',
      '  #hidden(): void { this.shut(); }',
      '  protected kept(): void {}',
      '  readonly field = 1;',
      '  get read(): string { return ""; }',
      '}',
      'export class B {}',
    ].join('\n'),
    ['3 A.open', '8 A.read', '10 B'],
  );

  faultsOf(
    'takes a method’s docstring from the interface that the class implements',
    [
      'interface Shape {',
      '  /** The enclosed area in m². */',
      '  area(): number;',
      '}',
      '/** A square with a side. */',
      'export class Square implements Shape {',
      '  area(): number { return 1; }',
      '}',
    ].join('\n'),
    [],
  );

  const about = 'export {};\n/** Gives back what was put in';
  const takes = 'export function f(x: number): number { return x; }';
  for (const [what, text] of [
    ['a number taken', `${about}. */ export function f(x: number): void { void x; }`],
    ['a number returned', `${about}. */ export function f(): number { return 1; }`],
    ['an array of numbers', `${about}. */ export function f(x: readonly number[]): void { void x; }`],
    ['a typed array', `${about}. */ export function f(x: Float64Array): void { void x; }`],
    ['a tuple', `${about}. */ export function f(): [string, number] { return ["", 1]; }`],
    ['a number or nothing', `${about}. */ export function f(x?: number): void { void x; }`],
    ['a word that only contains a symbol', `${about}: the body's own. */ ${takes}`],
  ] as const) {
    faultsOf(`faults ${what} without a word on its units`, text, ['2 f']);
  }

  for (const [what, text] of [
    ['a symbol', `${about}, in m/s. */ ${takes}`],
    ['a symbol in brackets', `${about} [kg]. */ ${takes}`],
    ['a word', `${about}, in radians. */ ${takes}`],
    ['the word dimensionless', `${about}; dimensionless. */ ${takes}`],
    ['a tag', `${about}. \n * @param x in kelvins */ ${takes}`],
    [
      'the name of a parameter',
      `${about}. */ export function f(rate_radps: number): void { void rate_radps; }`,
    ],
    ['the file’s opening comment', `// All numbers here are dimensionless.\n${about}. */ ${takes}`],
    ['no number at all', `${about}. */ export function f(x: string): string { return x; }`],
  ] as const) {
    faultsOf(`is content with ${what}`, text, []);
  }

  const factor = (units: string): string =>
    [
      `/** A factor of a scaled matrix${units}. */`,
      'export class Factor {',
      '  /** The sum of the squares. */',
      '  norm(): number { return 1; }',
      '}',
    ].join('\n');
  faultsOf('lets a class speak for its methods', factor('; all numbers are dimensionless'), []);
  faultsOf('faults a method whose class says nothing of units', factor(''), ['4 Factor.norm']);
});
