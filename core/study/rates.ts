/**
 * Exchange rates: what a unit more of each number of a study is worth in payload, from the multipliers of one answer. By the
 * envelope theorem only the direct effect of a number on the target's residuals counts, since to first order the free
 * steering has nothing left to give. A. V. Fiacco, Introduction to Sensitivity and Stability Analysis in Nonlinear
 * Programming, 1983 (from memory).
 */
import type { Study } from '../contract/study.ts';
import { compileAnswer, solveAnswer, solvedPaths, type StudyAnswer } from '../solve/answer.ts';
import { conditionsUnder, pricesOf } from '../solve/conditions.ts';
import type { PayloadOutcome } from '../solve/payload.ts';
import { deviationOf } from './spread/shapes.ts';
import { unitOfKey } from '../units/keys.ts';
import {
  countsWhole,
  NumberError,
  numberOf,
  numberPaths,
  refusalOf,
  stepsToNumber,
  withStep,
} from './numbers.ts';

/** What one number is worth. */
export interface ExchangeRate {
  readonly path: string;
  /** Of the number, as in the study; empty for a pure number. */
  readonly unit: string;
  readonly value: number;
  /** kg of payload for one unit more. */
  readonly perUnit_kg: number;
  /** kg of payload for 1 % more of the number; NaN where it is zero. */
  readonly perPercent_kg: number;
  /**
   * `central`, or to one side only, where the other is not allowed or the number stands on a kink: a second later and a
   * second earlier are then worth different amounts.
   */
  readonly side: 'central' | 'more' | 'less';
  /** Where a limit binds or the solve moves times the multipliers of the target tell half: the rate is then solved for. */
  readonly method: 'multipliers' | 'solvedAgain';
  /** The same by solving again on both sides; null until asked for, NaN where a solve has no answer. */
  readonly verified_kg: number | null;
}

export interface RatesResult {
  readonly outcome: PayloadOutcome;
  /** Most worth for 1 % first; those at zero, which have no per cent, behind. */
  readonly rates: readonly ExchangeRate[];
  /** Paths whose numbers change nothing. */
  readonly idle: readonly string[];
  /** Paths that have no rate, and why, as a clause. */
  readonly without: readonly { readonly path: string; readonly why: string }[];
  readonly cancelled: boolean;
}

export interface RatesOptions {
  /** Solve again on both sides of each number. */
  readonly verify?: boolean;
  /** Only paths that contain this text, in whatever case. */
  readonly find?: string;
  /** Only these paths. */
  readonly only?: readonly string[];
  readonly stop?: () => boolean;
}

export interface RatesProgress {
  readonly done: number;
  readonly of: number;
}

/** Steps by unit where a number is zero, in that unit; else a thousandth of the number. */
const STEP_AT_ZERO: Readonly<Record<string, number>> = {
  kg: 10,
  s: 0.02,
  m: 10,
  m2: 0.1,
  deg: 0.01,
  N: 100,
  Pa: 10,
};
const STEP = 1e-3;
/** Times count from an arbitrary zero: a thousandth of them is no measure. */
const STEP_s = 0.02;
/** An angle's, deg. */
const STEP_deg = 0.01;
/** Below this for 1 %, or for a step, a number changes nothing: the noise of the flights is some 1e-5 kg. */
const NOTHING_kg = 1e-4;
/** The same where a return is flown too: what its steps, chosen anew, leave. */
const COUPLED_NOTHING_kg = 5e-3;
/** And of payloads solved for, which are good to grams. */
const SOLVED_NOTHING_kg = 0.02;
/** The two one-sided differences disagree by more than this share: the number stands on a kink. */
const KINK = 0.05;

/**
 * The exchange rate of every number of a study, in kg per unit; yields between numbers. One cold solve and two flights a
 * number, and with `verify` two solves. What has no answer comes back with the solve's reason and no rates.
 */
export function* rateSteps(study: Study, options: RatesOptions = {}): Generator<RatesProgress, RatesResult> {
  const stop = options.stop ?? ((): boolean => false);
  const answer = solveAnswer(compileAnswer(study), { stop });
  const { outcome } = answer;
  const rates: ExchangeRate[] = [];
  const idle: string[] = [];
  const without: { path: string; why: string }[] = [];
  const wanted = options.find?.toLowerCase() ?? '';
  const paths = numberPaths(study).filter(
    (path) => path.toLowerCase().includes(wanted) && options.only?.includes(path) !== false,
  );
  const free = new Set(solvedPaths(answer.asked));
  if ((study.goal ?? 'mostPayload') !== 'mostPayload')
    throw new NumberError(
      `goal: received "${study.goal ?? ''}", allowed is "mostPayload"; rates are kilograms of payload`,
    );
  if (outcome.status === 'converged') {
    const probe = new RateProbe(study, answer);
    for (const [i, path] of paths.entries()) {
      if (stop()) break;
      if (free.has(path))
        without.push({ path, why: 'the solve chooses it, so at the answer it is worth nothing either way' });
      else if (countsWhole(study, stepsToNumber(study, path)))
        without.push({ path, why: 'it counts something' });
      else {
        const rate = probe.rate(path, options.verify === true, stop);
        if (typeof rate === 'string') without.push({ path, why: rate });
        else if (rate === null) idle.push(path);
        else rates.push(rate);
      }
      yield { done: i + 1, of: paths.length };
    }
  }
  return { outcome, rates: sortRates(rates), idle, without, cancelled: stop() };
}

/** Most worth for 1 % first; numbers at zero behind, by their worth a unit. Masses in kg. */
export function sortRates(rates: readonly ExchangeRate[]): ExchangeRate[] {
  const size = (rate: ExchangeRate): number =>
    Number.isNaN(rate.perPercent_kg) ? -1 : Math.abs(rate.perPercent_kg);
  return [...rates].sort((p, q) => size(q) - size(p) || Math.abs(q.perUnit_kg) - Math.abs(p.perUnit_kg));
}

/** What a rate is sorted by: its number's stated uncertainty, 1 % of the number, or a unit of it. */
export type RateOrder = 'uncertainty' | 'percent' | 'unit';

/** kg of payload for one standard deviation of the number's stated spread; NaN where none is stated. */
export function uncertaintyWorth_kg(study: Study, { path, value, perUnit_kg }: ExchangeRate): number {
  const spread = study.provenance[path]?.spread;
  return spread === undefined ? Number.NaN : perUnit_kg * deviationOf({ ...spread, nominal: value });
}

/** Largest effect first, whatever its sign; what has no such effect (NaN) behind, by its worth a unit. Masses in kg. */
export function orderRates(study: Study, rates: readonly ExchangeRate[], order: RateOrder): ExchangeRate[] {
  const effect = (rate: ExchangeRate): number => {
    const worth_kg = {
      uncertainty: uncertaintyWorth_kg(study, rate),
      percent: rate.perPercent_kg,
      unit: rate.perUnit_kg,
    }[order];
    return Number.isNaN(worth_kg) ? -1 : Math.abs(worth_kg);
  };
  return [...rates].sort((p, q) => effect(q) - effect(p) || Math.abs(q.perUnit_kg) - Math.abs(p.perUnit_kg));
}

/** Those whose path contains all words of a text, in whatever case and order; in the order in which they come. Unitless. */
export function findRates(rates: readonly ExchangeRate[], text: string): ExchangeRate[] {
  const words = text
    .toLowerCase()
    .split(/\s+/)
    .filter((word) => word !== '');
  return rates.filter(({ path }) => words.every((word) => path.toLowerCase().includes(word)));
}

/** Rates of one answer, one number after the other. */
class RateProbe {
  private readonly here: Float64Array | string;
  private readonly prices_kg: Float64Array;
  /** Whether the conditions that have prices are all that holds the answer back. */
  private readonly whole: boolean;
  /** Less than this a number changes nothing by, kg. */
  private readonly nothing_kg: number;

  constructor(
    private readonly study: Study,
    private readonly answer: StudyAnswer,
  ) {
    const { outcome, asked, coupled } = answer;
    this.here = conditionsUnder(answer, study);
    this.prices_kg = pricesOf(answer);
    this.whole =
      coupled !== null || (!outcome.limits.some((limit) => limit.binds) && asked.timed.length === 0);
    this.nothing_kg = coupled === null ? NOTHING_kg : COUPLED_NOTHING_kg;
  }

  /** The rate of a number in kg per unit, null where it changes nothing, or why it has none. */
  rate(path: string, verify: boolean, stop: () => boolean): ExchangeRate | string | null {
    const steps = stepsToNumber(this.study, path);
    const value = numberOf(this.study, path);
    const step = stepOf(path, value);
    const aside = (by: number): Study | string =>
      refusalOf(this.study, steps, value + by) ?? withStep(this.study, steps, value + by);
    const worth = (by: number): number | string => {
      const study = aside(by);
      if (typeof study === 'string') return study;
      const there = conditionsUnder(this.answer, study, path);
      if (typeof there === 'string') return there;
      if (typeof this.here === 'string') return this.here;
      let sum = 0;
      for (let k = 0; k < there.length; k++) sum -= this.prices_kg[k]! * (there[k]! - this.here[k]!);
      return sum / by;
    };
    if (!this.whole) {
      const again = this.verified(aside, step, 'central', stop);
      if (Number.isNaN(again)) return 'a solve beside it has no answer';
      if (Math.abs(again) * Math.max(0.01 * Math.abs(value), step) < SOLVED_NOTHING_kg) return null;
      return this.found(path, value, again, 'central', 'solvedAgain', again);
    }
    const [more, less] = [worth(step), worth(-step)];
    if (typeof more === 'string' && typeof less === 'string') return more;
    let side: ExchangeRate['side'] = 'central';
    let perUnit_kg: number;
    if (typeof more === 'string') [side, perUnit_kg] = ['less', less as number];
    else if (typeof less === 'string') [side, perUnit_kg] = ['more', more];
    else if (this.bends(more, less, step) && this.kinks(worth, step, more - less))
      [side, perUnit_kg] = ['more', more];
    else perUnit_kg = 0.5 * (more + less);
    if (Math.abs(perUnit_kg) * Math.max(0.01 * Math.abs(value), step) < this.nothing_kg) return null;
    const again = verify ? this.verified(aside, step, side, stop) : null;
    return this.found(path, value, perUnit_kg, side, 'multipliers', again);
  }

  private found(
    path: string,
    value: number,
    perUnit_kg: number,
    side: ExchangeRate['side'],
    method: ExchangeRate['method'],
    verified_kg: number | null,
  ): ExchangeRate {
    // An entry of a list has the unit of the list.
    const { unit } = unitOfKey(path.replace(/(?:\.\d+)+$/, ''));
    const perPercent_kg = value === 0 ? Number.NaN : 0.01 * value * perUnit_kg;
    return { path, unit, value, perUnit_kg, perPercent_kg, side, method, verified_kg };
  }

  /** Whether the two sides still disagree as much nearer by: curvature, which held steering has much of, would not. */
  private kinks(worth: (by: number) => number | string, step: number, apart: number): boolean {
    const [more, less] = [worth(step / 8), worth(-step / 8)];
    return (
      typeof more === 'string' || typeof less === 'string' || Math.abs(more - less) > 0.5 * Math.abs(apart)
    );
  }

  private verified(
    aside: (by: number) => Study | string,
    step: number,
    side: ExchangeRate['side'],
    stop: () => boolean,
  ): number {
    const payload = (by: number): number => {
      const { outcome, asked } = this.answer;
      if (by === 0) return outcome.payload_kg;
      const study = aside(by);
      const { memory } = outcome;
      if (typeof study === 'string' || memory === null) return Number.NaN;
      return solveAnswer(compileAnswer(study, asked), { memory, stop }).outcome.payload_kg;
    };
    const [high, low] = [side === 'less' ? 0 : step, side === 'more' ? 0 : -step];
    return (payload(high) - payload(low)) / (high - low);
  }

  private bends(more: number, less: number, step: number): boolean {
    const apart = Math.abs(more - less);
    return apart > KINK * Math.max(Math.abs(more), Math.abs(less)) && apart * step > 10 * this.nothing_kg;
  }
}

/** A small step of a number at a path, in its own unit: the payload bends little over it and rounding is far below. */
export function stepOf(path: string, value: number): number {
  const key = path.replace(/(?:\.\d+)+$/, '');
  const suffix = key.slice(key.lastIndexOf('.') + 1).split('_')[1] ?? '';
  if (suffix === 's' && path.startsWith('sequence.')) return STEP_s;
  if (suffix === 'deg') return STEP_deg;
  return value === 0 ? (STEP_AT_ZERO[suffix] ?? 1e-3) : STEP * Math.abs(value);
}
