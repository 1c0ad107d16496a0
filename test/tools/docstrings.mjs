import { readdirSync } from 'node:fs';
import { join, relative, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import ts from 'typescript';

// Says which exported functions, classes and public methods of core/ lack a docstring, or take or return numbers
// without a word on their units. Run as a program it checks the project's core and ends with code 1 on a fault.

/**
 * @typedef {object} Fault
 * @property {string} file
 * @property {number} line   Counted from 1.
 * @property {string} name   Function, class, or Class.method.
 * @property {string} problem
 */

/** Fewer words than these make no sentence. */
const LEAST_WORDS = 4;

const UNIT_WORDS = new RegExp(
  '\\b(dimensionless|unitless|units?|(kilo|milli|micro|centi)?(met(re|er)s?|seconds?|grams?)|hours?|days?|tonnes?' +
    '|newtons?|pascals?|kelvins?|joules?|watts?|hertz|radians?|degrees?|percent(age)?|fractions?|ratios?' +
    '|counts?|number of|ind(ex|ices)|SI)\\b',
  'i',
);
/** A file's opening comment may say this for all that stands in it; so may a class for its methods. */
const UNITS_OF_ALL = /\b(dimensionless|unitless|units?)\b/i;
const SYMBOL = '(?:[kMGmuµn]?(?:m|s|g|N|Pa|K|J|W|Hz|rad)|deg|t|h|d|mol|%)';
/** "in m/s", "[kg]", "(rad)", "kg·m²". */
const UNIT_SYMBOL = new RegExp(`(?<=^|[\\s([,;/·*])${SYMBOL}(?=$|[\\s)\\].,;:/·*^²³⁻-])`);
/** A name that carries its unit: `altitude_m`, `density_kgpm3`, `rate_radps`. */
const UNIT_SUFFIX = new RegExp(`[A-Za-z0-9]_${SYMBOL}\\d?(?:p\\w+)?\\b`);

const NUMBER_ARRAYS = /^(?:Float|Int|Uint|BigInt|BigUint)\d+(?:Clamped)?Array$/;

/**
 * @param {readonly string[]} files  Absolute paths of the files to check.
 * @param {ts.CompilerOptions} options
 * @returns {Fault[]} In the order of the files and of their lines.
 */
export function findDocstringFaults(files, options) {
  const program = ts.createProgram(files, options);
  const checker = program.getTypeChecker();
  return files.flatMap((file) => {
    const source = program.getSourceFile(file);
    const module = source && checker.getSymbolAtLocation(source);
    if (source === undefined || module === undefined) return [];
    return checker
      .getExportsOfModule(module)
      .flatMap((symbol) => checkExport(checker, source, symbol))
      .sort((a, b) => a.line - b.line);
  });
}

/**
 * @param {ts.TypeChecker} checker
 * @param {ts.SourceFile} source
 * @param {ts.Symbol} exported
 * @returns {Fault[]}
 */
function checkExport(checker, source, exported) {
  const { name } = exported;
  const symbol =
    (exported.flags & ts.SymbolFlags.Alias) !== 0 ? checker.getAliasedSymbol(exported) : exported;
  // What is passed on from another file is checked there.
  const declaration = symbol.declarations?.find((node) => node.getSourceFile() === source);
  if (declaration === undefined) return [];
  if (ts.isClassDeclaration(declaration)) {
    return [
      ...checkSentence(checker, source, symbol, declaration, name),
      ...declaration.members.flatMap((member) => checkMember(checker, source, name, member)),
    ];
  }
  const type = checker.getTypeOfSymbolAtLocation(symbol, declaration);
  if (type.getCallSignatures().length === 0) return [];
  return checkFunction(checker, source, symbol, declaration, name, type);
}

/**
 * @param {ts.TypeChecker} checker
 * @param {ts.SourceFile} source
 * @param {string} className
 * @param {ts.ClassElement} member
 * @returns {Fault[]}
 */
function checkMember(checker, source, className, member) {
  const hidden = ts.ModifierFlags.Private | ts.ModifierFlags.Protected;
  if (member.name === undefined || ts.isPrivateIdentifier(member.name)) return [];
  if ((ts.getCombinedModifierFlags(member) & hidden) !== 0) return [];
  const symbol = checker.getSymbolAtLocation(member.name);
  // Of an overloaded or a get-and-set member the first declaration speaks for all.
  if (symbol === undefined || symbol.declarations?.[0] !== member) return [];
  const name = `${className}.${symbol.name}`;
  const type = checker.getTypeOfSymbolAtLocation(symbol, member);
  if (type.getCallSignatures().length > 0) return checkFunction(checker, source, symbol, member, name, type);
  return ts.isAccessor(member) ? checkSentence(checker, source, symbol, member, name) : [];
}

/**
 * @param {ts.TypeChecker} checker
 * @param {ts.SourceFile} source
 * @param {ts.Symbol} symbol
 * @param {ts.Node} node
 * @param {string} name
 * @param {ts.Type} type
 * @returns {Fault[]}
 */
function checkFunction(checker, source, symbol, node, name, type) {
  const faults = checkSentence(checker, source, symbol, node, name);
  if (faults.length > 0) return faults;
  const signatures = type.getCallSignatures();
  const parameters = signatures.flatMap((signature) => [...signature.parameters]);
  const types = [
    ...parameters.map((parameter) => checker.getTypeOfSymbolAtLocation(parameter, node)),
    ...signatures.map((signature) => signature.getReturnType()),
  ];
  if (!types.some((each) => isNumeric(checker, each))) return [];
  if (UNITS_OF_ALL.test(readSurroundings(checker, source, node))) return [];
  const text = [...parameters.map((parameter) => parameter.name), readDocumentation(checker, symbol)].join(
    '\n',
  );
  if (UNIT_SUFFIX.test(text) || UNIT_SYMBOL.test(text) || UNIT_WORDS.test(text)) return [];
  return [fault(source, node, name, 'takes or returns numbers: say in which units, or "dimensionless"')];
}

/**
 * @param {ts.TypeChecker} checker
 * @param {ts.SourceFile} source
 * @param {ts.Symbol} symbol
 * @param {ts.Node} node
 * @param {string} name
 * @returns {Fault[]}
 */
function checkSentence(checker, source, symbol, node, name) {
  const text = ts.displayPartsToString(symbol.getDocumentationComment(checker)).trim();
  if (text === '') return [fault(source, node, name, 'has no docstring')];
  if (text.split(/\s+/).length >= LEAST_WORDS) return [];
  return [fault(source, node, name, `its docstring is no sentence: "${text}"`)];
}

/**
 * @param {ts.TypeChecker} checker
 * @param {ts.Symbol} symbol
 * @returns {string} Description and tags. A method's may come from the interface that it implements.
 */
function readDocumentation(checker, symbol) {
  const tags = symbol.getJsDocTags(checker).map((tag) => ts.displayPartsToString(tag.text));
  return [ts.displayPartsToString(symbol.getDocumentationComment(checker)), ...tags].join('\n');
}

/**
 * @param {ts.TypeChecker} checker
 * @param {ts.SourceFile} source
 * @param {ts.Node} node
 * @returns {string} The file's opening comment and, for a method, its class's docstring.
 */
function readSurroundings(checker, source, node) {
  const opening = ts.getLeadingCommentRanges(source.text, 0)?.[0];
  const parent = node.parent;
  const owner =
    ts.isClassDeclaration(parent) && parent.name ? checker.getSymbolAtLocation(parent.name) : undefined;
  return [
    opening === undefined ? '' : source.text.slice(opening.pos, opening.end),
    owner === undefined ? '' : readDocumentation(checker, owner),
  ].join('\n');
}

/**
 * @param {ts.TypeChecker} checker
 * @param {ts.Type} type
 * @returns {boolean} Whether it is a number, or an array of numbers, or one of these among others.
 */
function isNumeric(checker, type) {
  if ((type.flags & ts.TypeFlags.NumberLike) !== 0) return true;
  if (type.isUnion()) return type.types.some((each) => isNumeric(checker, each));
  if (NUMBER_ARRAYS.test(type.getSymbol()?.name ?? '')) return true;
  if (!checker.isArrayType(type) && !checker.isTupleType(type)) return false;
  return checker
    .getTypeArguments(/** @type {ts.TypeReference} */ (type))
    .some((element) => isNumeric(checker, element));
}

/**
 * @param {ts.SourceFile} source
 * @param {ts.Node} node
 * @param {string} name
 * @param {string} problem
 * @returns {Fault}
 */
function fault(source, node, name, problem) {
  const { line } = source.getLineAndCharacterOfPosition(node.getStart(source));
  return { file: source.fileName, line: line + 1, name, problem };
}

/** Checks the project's core and reports on standard output. */
function main() {
  const root = fileURLToPath(new URL('../..', import.meta.url));
  const config = ts.getParsedCommandLineOfConfigFile(join(root, 'core/tsconfig.json'), undefined, {
    ...ts.sys,
    onUnRecoverableConfigFileDiagnostic: (diagnostic) => {
      throw new Error(ts.flattenDiagnosticMessageText(diagnostic.messageText, '\n'));
    },
  });
  const files = readdirSync(join(root, 'core'), { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.ts') && !name.endsWith('.d.ts'))
    .map((name) => join(root, 'core', name))
    .sort();
  const faults = findDocstringFaults(files, config?.options ?? {});
  for (const { file, line, name, problem } of faults) {
    process.stdout.write(`${relative(root, file)}:${line}  ${name} ${problem}\n`);
  }
  process.stdout.write(`${files.length} files read, ${faults.length} faults\n`);
  process.exitCode = faults.length === 0 ? 0 : 1;
}

if (process.argv[1] !== undefined && resolve(process.argv[1]) === fileURLToPath(import.meta.url)) main();
