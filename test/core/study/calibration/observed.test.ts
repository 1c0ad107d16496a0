import { describe, expect, it } from 'vitest';
import { readPoints } from '../../../../core/study/calibration/observed.ts';

describe('a table of observed points', () => {
  it('is read in any units and any order of columns, empty cells left out', () => {
    const text = [
      '# read off a screen',
      'altitude [ft], time [min], altitude error [ft], speed [km/h], speed error [m/s]',
      '100000, 1, 500, , ',
      '',
      ',2,,3600,5',
    ].join('\r\n');
    const [first, second, ...rest] = readPoints(text);
    expect(rest).toEqual([]);
    expect(first).toMatchObject({ quantity: 'altitude', time_s: 60 });
    expect(first!.value).toBeCloseTo(30_480, 9);
    expect(first!.error).toBeCloseTo(152.4, 9);
    expect(second).toMatchObject({ quantity: 'speed', time_s: 120, error: 5 });
    expect(second!.value).toBeCloseTo(1000, 9);
  });

  const HEAD = 'time [s], altitude [km], altitude error [m]';
  it.each([
    ['', /received no lines/],
    [HEAD, /received no values/],
    ['altitude [km], altitude error [km]\n1,1', /no column "time"/],
    ['time [s], altitude [km]\n1,1', /column 2: received altitude without a column "altitude error"/],
    [
      'time [s], height [km]\n1,1',
      /line 1, column 2: received the column "height \[km\]", allowed is one of time, altitude/,
    ],
    ['time [s], altitude\n1,1', /line 1, column 2: received the column "altitude"/],
    [
      'time [s], altitude [s], altitude error [m]\n1,1,1',
      /line 1, column 2: received the unit "s" of altitude/,
    ],
    ['time [s], altitude [nm], altitude error [m]\n1,1,1', /line 1, column 2: .*nautical mile/],
    [`${HEAD}, altitude [m]\n1,1,1,1`, /line 1, column 4: received altitude again/],
    [`${HEAD}\n1,2`, /line 2: received 2 cells, allowed is 3/],
    [`${HEAD}\n1,x,3`, /line 2, column 2 \(altitude\): received "x"/],
    [`${HEAD}\n1,0x10,3`, /line 2, column 2 \(altitude\): received "0x10"/],
    [`${HEAD}\n1,2,-`, /line 2, column 3 \(altitude error\): received "-"/],
    [`${HEAD}\n1,2,0`, /line 2, column 3 \(altitude error\): received 0, allowed is a number above 0/],
    [`${HEAD}\n1,2,`, /line 2, column 3 \(altitude error\): received nothing/],
    [`${HEAD}\n,2,3`, /line 2, column 1 \(time\): received nothing, allowed is a number/],
  ])('is refused in a sentence: %j', (text, message) => {
    expect(() => readPoints(text)).toThrow(message);
  });
});
