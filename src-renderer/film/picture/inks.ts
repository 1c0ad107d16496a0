/** The two sheets' colours for a canvas, which cannot read a style sheet; those of app/tokens.css (a test compares them). */

export interface BodyInk {
  readonly ink: string;
  readonly full: string;
  readonly empty: string;
}

export interface SheetInks {
  readonly sheet: string;
  readonly pane: string;
  readonly ink: string;
  readonly ink2: string;
  readonly ink3: string;
  readonly rule: string;
  readonly hair: string;
  readonly air: string;
  readonly sea: string;
  readonly land: string;
  readonly coast: string;
  readonly body1: BodyInk;
  readonly body2: BodyInk;
  readonly body3: BodyInk;
  readonly body4: BodyInk;
  /** Strength of what is still to come. */
  readonly future: number;
}

export const SHEETS: Readonly<Record<'paper' | 'night', SheetInks>> = {
  paper: {
    sheet: '#f3f2ec',
    pane: '#fbfaf7',
    ink: '#17212c',
    ink2: '#46525e',
    ink3: '#626c76',
    rule: '#bdbdb3',
    hair: '#dad9d0',
    air: '#4c6b7a',
    sea: '#ecede9',
    land: '#e0dfd5',
    coast: '#8f948f',
    body1: { ink: '#17578f', full: '#2f73b0', empty: '#dce7f1' },
    body2: { ink: '#a63a12', full: '#cc5a2b', empty: '#f8e6db' },
    body3: { ink: '#7a1fc2', full: '#8e62bd', empty: '#efe3f8' },
    body4: { ink: '#5a2a12', full: '#84553a', empty: '#eee2da' },
    future: 0.5,
  },
  night: {
    sheet: '#0c131b',
    pane: '#121b25',
    ink: '#f1ede3',
    ink2: '#b9c1c8',
    ink3: '#8e99a4',
    rule: '#3a4754',
    hair: '#222d38',
    air: '#a9c4d2',
    sea: '#101922',
    land: '#1d2831',
    coast: '#5a6873',
    body1: { ink: '#86bdf3', full: '#4d8fcc', empty: '#152536' },
    body2: { ink: '#f5a077', full: '#cf6a3c', empty: '#2e1c15' },
    body3: { ink: '#c77dff', full: '#9a5fd0', empty: '#261833' },
    body4: { ink: '#7fd858', full: '#55a03a', empty: '#16260f' },
    future: 0.55,
  },
};

/** The inks of a body's colour; pieces without thrust are plain. */
export function bodyInk(inks: SheetInks, colour: 1 | 2 | 3 | 4 | 'plain'): BodyInk {
  if (colour === 'plain') return { ink: inks.ink2, full: inks.ink2, empty: inks.ink2 };
  return inks[`body${colour}`];
}

/** A colour between two, both as #rrggbb; share 0 is the first. Mixed as the window's style sheet mixes them, in sRGB. */
export function mix(from: string, to: string, share: number): string {
  const part = (colour: string, i: number): number => parseInt(colour.slice(1 + 2 * i, 3 + 2 * i), 16);
  const channel = (i: number): string =>
    Math.round(part(from, i) + share * (part(to, i) - part(from, i)))
      .toString(16)
      .padStart(2, '0');
  return `#${channel(0)}${channel(1)}${channel(2)}`;
}
