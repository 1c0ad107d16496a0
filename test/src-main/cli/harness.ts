/** Runs the command within the test, with its streams kept. */
import { fileURLToPath } from 'node:url';
import type { Orbit } from '../../../core/earth/orbit.ts';
import type { Ledger } from '../../../core/flight/ledger.ts';
import { runCommand } from '../../../src-main/cli/program.ts';
import type { Terminal } from '../../../src-main/cli/terminal.ts';

export const R1 = fileURLToPath(new URL('../../published/r1/r1.plumeline.json', import.meta.url));
export const ROOT = fileURLToPath(new URL('../../..', import.meta.url));

export interface Ended {
  readonly code: number;
  readonly out: string;
  readonly err: string;
}

/** What the tests read of a printed JSON; which parts are there depends on the command. */
export interface Printed {
  readonly caution: string;
  readonly inputs: string;
  readonly study: string;
  readonly status: string;
  readonly payload_kg: number;
  readonly solve: { readonly status: string };
  readonly flight: { readonly code: string };
  readonly parameters: readonly { readonly path: string; readonly value: number; readonly unit: string }[];
  readonly log: readonly { readonly id: string; readonly name: string; readonly time_s: number }[];
  readonly ledger: Ledger;
  readonly orbit: Orbit;
  readonly gaps: readonly { readonly event: string; readonly command_s: number }[];
  readonly tracks: readonly { readonly id: string; readonly end: string }[];
  readonly reference: { readonly gap_s: number };
  readonly points: readonly {
    readonly mode: string;
    readonly gap_s: number;
    readonly payload_kg: number;
    readonly share: number;
    readonly payloadPerSecond_kgps: number | null;
    readonly closedOn: string;
    readonly ledger: Ledger;
  }[];
}

/** `given` replaces parts of the terminal. */
export async function plumeline(args: readonly string[], given: Partial<Terminal> = {}): Promise<Ended> {
  let out = '';
  let err = '';
  const code = await runCommand(args, {
    out: (text) => (out += text),
    err: (text) => (err += text),
    bar: null,
    colour: false,
    demosFolder: fileURLToPath(new URL('../../fixtures', import.meta.url)),
    now_ms: () => 0,
    interrupted: () => false,
    ...given,
  });
  return { code, out, err };
}

/** Rows of a CSV text without its `#` lines, as texts by column. Only for texts whose cells hold no line feed. */
export function csvRows(text: string): Record<string, string>[] {
  const [head = '', ...rows] = text
    .trimEnd()
    .split('\n')
    .filter((line) => !line.startsWith('#'));
  const cells = (line: string): string[] =>
    [...line.matchAll(/("(?:[^"]|"")*"|[^,]*)(?:,|$)/g)].map(([, cell = '']) =>
      cell.startsWith('"') ? cell.slice(1, -1).replaceAll('""', '"') : cell,
    );
  const names = cells(head);
  return rows.map((row) => Object.fromEntries(names.map((name, i) => [name, cells(row)[i] ?? ''])));
}
