import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { assertNode, ROOT } from '../../../src-main/launch/setup.mjs';

describe('the set-up', () => {
  it('asks for the Node that package.json asks for', () => {
    const manifest = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as {
      engines: { node: string };
    };
    const oldest = manifest.engines.node.replace('>=', '');
    expect(() => assertNode(`${oldest}.0`)).not.toThrow();
    expect(() => assertNode('20.18.9')).toThrow(`Node ${oldest} or newer is needed, and this is 20.18.9`);
  });

  it.each(['20.20.2', '21.0.0', '22.12.0', '100.0.0'])('takes Node %s', (version) => {
    expect(() => assertNode(version)).not.toThrow();
  });

  it.each(['18.20.8', '20.9.0', '8.99.0'])('refuses Node %s', (version) => {
    expect(() => assertNode(version)).toThrow(/please install it/);
  });
});
