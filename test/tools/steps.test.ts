import { describe, expect, it } from 'vitest';
import { countTests } from './steps.mjs';

const file = (status: string, ...assertionResults: string[]) => ({
  status,
  assertionResults: assertionResults.map((each) => ({ status: each })),
});
const report = (passed: number, failed: number, testResults: object[], skipped = 0) => ({
  numPassedTests: passed,
  numFailedTests: failed,
  numPendingTests: skipped,
  numTodoTests: 0,
  testResults,
});

describe('the count of tests', () => {
  it('is vitest’s own', () => {
    expect(countTests(report(2, 1, [file('failed', 'passed', 'passed', 'failed')]), 1)).toEqual({
      passed: 2,
      failed: 1,
      note: '3 tests in 1 files',
    });
  });

  it('counts a file that fails before its tests as one failure', () => {
    expect(countTests(report(1, 0, [file('passed', 'passed'), file('failed')]), 1)).toMatchObject({
      passed: 1,
      failed: 1,
    });
  });

  it('counts a run that ends badly with no failed test as one failure', () => {
    expect(countTests(report(1, 0, [file('passed', 'passed')]), 1)).toMatchObject({ passed: 1, failed: 1 });
  });

  it('names skipped tests, and counts them neither way', () => {
    expect(countTests(report(1, 0, [file('passed', 'passed', 'skipped')], 1), 0)).toEqual({
      passed: 1,
      failed: 0,
      note: '1 tests in 1 files, 1 skipped',
    });
  });
});
