import { describe, expect, it } from 'vitest';
import { loadStudy } from '../../../core/contract/load.ts';
import { textOf } from '../../assets/demos.ts';

interface Document {
  provenance: object;
  returns: {
    chosen: string[];
    plans: Record<string, Record<string, unknown> & { landing: object; entry: object }>;
    allowances: Record<string, Record<string, unknown>>;
  };
}

/** What is wrong with the heavy demo when something in its returns is changed. */
function wrong(change: (returns: Document['returns']) => unknown): string {
  const document = JSON.parse(textOf('heavy')) as Document;
  document.provenance = {};
  change(document.returns);
  const result = loadStudy(JSON.stringify(document));
  return result.ok ? '' : result.problems.map(({ sentence }) => sentence).join('\n');
}

const landing = (engines: object): object => ({ engines: [engines], margin: 0 });

describe('returns in a file', () => {
  it('are as they should be in the demo', () => {
    expect(wrong(() => null)).toBe('');
  });

  it.each<[string, (returns: Document['returns']) => unknown, string]>([
    [
      'a body that keeps nothing',
      ({ plans }) => (plans['downrange']!['body'] = 'ring'),
      'returns.plans.downrange.body: received "ring", which is not a body with a return reserve',
    ],
    [
      'an engine group of another body',
      ({ plans }) => (plans['downrange']!.landing = landing({ group: 'vacuum' })),
      'returns.plans.downrange.landing.engines.0.group: received "vacuum"',
    ],
    [
      'more engines than there are',
      ({ plans }) => (plans['downrange']!.landing = landing({ group: 'staging', engines: 5 })),
      'allowed is a whole number from 1 to 4, the engines of "staging"',
    ],
    [
      'a throttle that the engines do not have',
      ({ plans }) => Object.assign(plans['downrange']!.entry, { throttle: 0.2 }),
      'returns.plans.downrange.entry.throttle: received 0.2, allowed is a number from 0.45 to 1',
    ],
    [
      'a place without a boostback',
      ({ plans }) => (plans['downrange']!['place'] = { kind: 'launchSite' }),
      'returns.plans.downrange.boostback: received nothing',
    ],
    [
      'an entry burn that would end above its start',
      ({ plans }) =>
        Object.assign(plans['downrange']!.entry, {
          start: { kind: 'altitude', height_m: 40_000 },
          end: { kind: 'altitude', height_m: 50_000 },
        }),
      'allowed is a height below that of the start, 40000',
    ],
    ['a plan that is none', ({ chosen }) => chosen.push('home'), 'returns.chosen.1: received "home"'],
    ['two plans of one body', ({ chosen }) => chosen.push('to-site'), 'allowed is one plan a body'],
    [
      'an allowance with a group of another body',
      ({ allowances }) => (allowances['upper']!['deorbitGroup'] = 'main'),
      'returns.allowances.upper.deorbitGroup: received "main"',
    ],
  ])('are refused with %s', (_name, change, sentence) => {
    expect(wrong(change)).toContain(sentence);
  });
});
