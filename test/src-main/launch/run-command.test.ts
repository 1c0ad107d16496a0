import { describe, expect, it } from 'vitest';
import { runCommand } from '../../../src-main/launch/run-command.mjs';

const cwd = import.meta.dirname;
const node = (script: string, timeLimit_ms?: number) =>
  runCommand(process.execPath, ['-e', script], {
    cwd,
    ...(timeLimit_ms === undefined ? {} : { timeLimit_ms }),
  });

describe('running a program', () => {
  it('keeps its exit code and all that it prints', async () => {
    expect(await node('console.log("out"); console.error("err"); process.exitCode = 7')).toEqual({
      code: 7,
      output: expect.stringMatching(/^(out\nerr\n|err\nout\n)$/) as string,
    });
  });

  it('is a failure when a signal ends it', async () => {
    expect(await node('process.kill(process.pid, "SIGKILL")')).toMatchObject({ code: 1 });
  });

  it('ends it at its time limit and says so', async () => {
    const { code, output } = await node('setInterval(() => {}, 1000)', 300);
    expect(code).toBe(1);
    expect(output).toContain('Ended: still running after 0.3 s.');
  });

  it('is an outcome too when there is no such program', async () => {
    const { code, output } = await runCommand('no-such-program', [], { cwd });
    expect(code).toBe(127);
    expect(output).toMatch(/no-such-program cannot be started/);
  });
});
