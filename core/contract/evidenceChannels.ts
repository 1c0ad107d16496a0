/**
 * The published numbers, which the desktop side reads and the window's evidence is made from. Documents among them are checked
 * as documents; what the numbers of a check look like, the check knows.
 */
import { z } from 'zod';
// Before the first schema: it sets how zod runs.
import './primitives.ts';
import { studySchema } from './study.ts';

const numbers = z.custom<object>(
  (value) => typeof value === 'object' && value !== null,
  'allowed is an object',
);
const name = z.string().min(1).max(200);

export const evidenceChannels = {
  'evidence.data': {
    request: z.strictObject({}),
    response: z.strictObject({
      reportedFlights: z.array(
        z.strictObject({ id: name, title: name, study: studySchema, report: numbers }),
      ),
      ascentStudy: studySchema,
      ascent: numbers,
      losses: numbers,
      atmosphere: numbers,
      geodesy: numbers,
      orbits: numbers,
      arenstorf: numbers,
      gravityTurn: numbers,
      staging: numbers,
      partings: numbers,
      separations: z.array(z.strictObject({ id: name, title: name, report: numbers })),
      settling: numbers,
    }),
  },
} as const;
