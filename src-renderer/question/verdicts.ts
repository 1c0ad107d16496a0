/** Verdicts on a claim in words. */
import type { Verdict } from '../../core/study/claim/judge.ts';

export const VERDICT_WORDS: Readonly<Record<Verdict, string>> = {
  supported: 'supported',
  notSupported: 'not supported',
  dependsOnAssumption: 'true or not',
  noAnswer: 'no answer',
};
