import { describe, expect, it } from 'vitest';
import { plumeline, R1 } from './harness.ts';

describe('plumeline film', () => {
  it.each([
    [['--size', '100x5'], /--size: received "100x5", allowed is 720p/],
    [['--size', '1081x1920'], /--size: received "1081x1920".*even numbers/],
    [['--rate', 'fast'], /--rate: received "fast", allowed is 24, 25, 30, .*or a ratio such as 30000\/1001/],
    [['--out', 'film.avi'], /--out: received "film.avi", allowed is a name that ends in .webm, .mp4/],
    [
      ['--alpha', '--out', 'film.mp4'],
      /--out: received "film.mp4", allowed is .* \.webm or \.png with --alpha/,
    ],
    [['--still', '3'], /--out: received "film.webm", allowed is a name that ends in \.png with --still/],
    [['--length', '1 s'], /--length: received "1 s", allowed is a time from 20 s/],
    [['--sound', '/nowhere.wav'], /--sound: .*it is not there/],
    [['--sheet', 'pink'], /--sheet/],
  ])('refuses %j in one sentence', async (extra, sentence) => {
    const ended = await plumeline(['film', R1, '--out', 'film.webm', ...extra]);
    expect(ended.code).toBe(2);
    expect(ended.err).toMatch(sentence);
    expect(ended.err.trimEnd().split('\n').length).toBe(1);
  });

  it('asks for a name to write to', async () => {
    expect((await plumeline(['film', R1])).err).toMatch(/--out: received nothing/);
  });
});
