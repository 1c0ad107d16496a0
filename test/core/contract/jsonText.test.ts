import fc from 'fast-check';
import { expect, test } from 'vitest';
import { parseJsonText } from '../../../core/contract/jsonText.ts';

/** Whether the language's own parser, the judge here, takes a text. */
function isJson(text: string): boolean {
  try {
    JSON.parse(text);
    return true;
  } catch {
    return false;
  }
}

test('every text that the language writes is read as the language reads it', () => {
  fc.assert(
    fc.property(fc.json({ maxDepth: 6 }), fc.constantFrom(undefined, 1, '\t'), (compact, space) => {
      fc.pre(!compact.includes('__proto__'));
      const text = JSON.stringify(JSON.parse(compact), null, space);
      expect(parseJsonText(text)).toEqual({ ok: true, value: JSON.parse(text) as unknown });
    }),
    { seed: 3, numRuns: 500 },
  );
});

test('a text spoilt in one place is refused exactly when the language refuses it', () => {
  const base = '{"a": [1, -2.5e+3, "x\\u00e9\\n"], "b": {"c": true, "d": null}, "e": ""}';
  let refused = 0;
  fc.assert(
    fc.property(
      fc.nat(base.length),
      fc.constantFrom(...Array.from('{}[]":,\\0.-+eEtnu \n\tx\u0001é')),
      fc.constantFrom(0, 1),
      (at, letter, cut) => {
        const text = base.slice(0, at) + letter + base.slice(at + cut);
        const result = parseJsonText(text);
        if (!result.ok && result.problem.received.includes('again')) return;
        if (!isJson(text)) refused += 1;
        expect(result.ok).toBe(isJson(text));
      },
    ),
    { seed: 4, numRuns: 3000 },
  );
  // Both outcomes must have come up for the comparison to mean anything.
  expect(refused).toBeGreaterThan(300);
  expect(refused).toBeLessThan(2900);
});

test('a text cut short anywhere is refused at its end or within its last word', () => {
  const base = '{"alpha": [1.5, {"beta": "text"}], "gamma": false}';
  for (let length = 0; length < base.length; length++) {
    const result = parseJsonText(base.slice(0, length));
    expect(result.ok).toBe(false);
    if (result.ok) continue;
    const column = Number(/column (\d+)$/.exec(result.problem.path)![1]);
    expect(column).toBeLessThanOrEqual(length + 1);
    expect(column).toBeGreaterThan(length - 'false'.length);
  }
});

test('lines are counted from 1 by any line end, columns in characters', () => {
  const place = (text: string): string => {
    const result = parseJsonText(text);
    return result.ok ? 'read' : result.problem.path;
  };
  expect(place('[\n1,\n?]')).toBe('line 3, column 1');
  expect(place('[\r\n1,\r\n ?]')).toBe('line 3, column 2');
  expect(place('[\r1,\r\r?]')).toBe('line 4, column 1');
  expect(place('["𝄞𝄞", ?]')).toBe('line 1, column 8');
});
