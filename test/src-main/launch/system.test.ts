import { describe, expect, it } from 'vitest';
import { provideSystemNeeds } from '../../../src-main/launch/system.mjs';

const needs = [
  { command: 'chromium', debianPackage: 'chromium', purpose: 'the tests that drive the window' },
  { command: 'Xvfb', debianPackage: 'xvfb', purpose: 'the tests that drive the window' },
];

/** A machine of some kind, and what has been asked of it. */
function machineWith(options: {
  isDebian?: boolean;
  isRoot?: boolean;
  present?: string[];
  /** What an install leaves on the path. */
  brings?: string[];
  failing?: string;
}) {
  const present = new Set(options.present ?? []);
  const calls: string[] = [];
  const machine = {
    isDebian: options.isDebian ?? true,
    isRoot: options.isRoot ?? true,
    has: (command: string) => present.has(command),
    aptGet: (args: readonly string[]) => {
      calls.push(args.join(' '));
      if (args[0] === options.failing) return Promise.resolve({ code: 100, output: 'E: no such thing' });
      if (args[0] === 'install') for (const command of options.brings ?? []) present.add(command);
      return Promise.resolve({ code: 0, output: '' });
    },
  };
  return { machine, calls };
}

const silent = (): void => undefined;

describe('programs of the system', () => {
  it('are not touched when all are there', async () => {
    const { machine, calls } = machineWith({ present: ['chromium', 'Xvfb'] });
    await provideSystemNeeds(needs, silent, machine);
    expect(calls).toEqual([]);
  });

  it('are installed as root on Debian, the missing ones alone', async () => {
    const { machine, calls } = machineWith({ present: ['chromium'], brings: ['Xvfb'] });
    const said: string[] = [];
    await provideSystemNeeds(needs, (line) => said.push(line), machine);
    expect(calls).toEqual(['update', 'install --yes --no-install-recommends xvfb']);
    expect(said).toEqual(['installing Debian packages: xvfb']);
  });

  it('are asked for in one sentence from any other user of Debian', async () => {
    const { machine, calls } = machineWith({ isRoot: false });
    await expect(provideSystemNeeds(needs, silent, machine)).rejects.toThrow(
      /^Please run "sudo apt-get install chromium xvfb", needed for the tests that drive the window\.$/,
    );
    expect(calls).toEqual([]);
  });

  it('are asked for in one sentence on other systems', async () => {
    const { machine, calls } = machineWith({ isDebian: false });
    await expect(provideSystemNeeds(needs, silent, machine)).rejects.toThrow(
      /^Please install chromium and Xvfb, needed for the tests that drive the window, so that they are on the path\.$/,
    );
    expect(calls).toEqual([]);
  });

  it('fail with apt-get’s own words when it fails', async () => {
    const { machine } = machineWith({ failing: 'install' });
    await expect(provideSystemNeeds(needs, silent, machine)).rejects.toThrow(
      /exit code 100:\nE: no such thing/,
    );
  });

  it('fail when an install does not bring the program', async () => {
    const { machine } = machineWith({ brings: ['chromium'] });
    await expect(provideSystemNeeds(needs, silent, machine)).rejects.toThrow(/did not bring Xvfb/);
  });
});
