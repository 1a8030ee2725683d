import { describe, expect, it } from 'vitest';
import { leastSquaresCost, pelt } from '../../src/photometry/pelt.js';
import { MAD_TO_SIGMA, medianAbsoluteDeviation } from '../../src/photometry/robust-statistics.js';

/** Annual flow of the Nile at Aswan 1871-1970, 10^8 m3 (Cobb 1978; R datasets `Nile`). */
const NILE = [
  1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020, 960, 1180, 799, 958, 1140, 1100,
  1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840, 874, 694, 940, 833, 701, 916, 692, 1020, 1050, 969, 831, 726, 456,
  824, 702, 1120, 1100, 832, 764, 821, 768, 845, 864, 862, 698, 845, 744, 796, 1040, 759, 781, 865, 845, 944, 984, 897,
  822, 1010, 771, 676, 649, 846, 812, 742, 801, 1040, 860, 874, 848, 890, 744, 749, 838, 1050, 918, 986, 797, 923, 975,
  815, 1020, 906, 901, 1170, 912, 746, 919, 718, 714, 740,
];

const segment = (columns: readonly (readonly (number | null)[])[], penalty: number, minimumRows = 1) =>
  pelt({ rows: columns[0]?.length ?? 0, cost: leastSquaresCost(columns), penalty, minimumRows });

describe('PELT (Killick, Fearnhead & Eckley 2012)', () => {
  it('50 zeros, then 50 tens, penalty 15: one change at 50', () => {
    const signal = [...Array<number>(50).fill(0), ...Array<number>(50).fill(10)];
    expect(segment([signal], 15)).toEqual({ changePoints: [50], objective: expect.closeTo(15, 9) as number });
  });
  it('Nile: mean 919.35 over 100 years, and one change, after 28 (1898), with penalty 2 ln n sigma^2', () => {
    expect(NILE.reduce((sum, flow) => sum + flow, 0) / NILE.length).toBeCloseTo(919.35, 9);
    const steps = NILE.slice(1).map((flow, index) => flow - (NILE[index] ?? 0));
    const sigma = (MAD_TO_SIGMA * (medianAbsoluteDeviation(steps) ?? 0)) / Math.SQRT2;
    expect(sigma).toBeCloseTo(115.32, 2);
    expect(segment([NILE], 2 * Math.log(100) * sigma ** 2).changePoints).toEqual([28]);
  });
  it('Nile: the change gains 1 237 699.56 in least squares (28 x 72 / 100 x squared difference of the means)', () => {
    const cost = leastSquaresCost([NILE]);
    expect(cost(0, 100) - cost(0, 28) - cost(28, 100)).toBeCloseTo(1237699.56, 2);
  });
  it('12 frames, six near 0 and six near +0.52, penalty .05: one change at 6, objective .088', () => {
    const frames = [0, 0.1, -0.1, 0.05, -0.05, 0, 0.5, 0.6, 0.45, 0.55, 0.5, 0.52];
    const { changePoints, objective } = segment([frames], 0.05);
    expect(changePoints).toEqual([6]);
    expect(objective).toBeCloseTo(0.088, 3);
  });
});

describe('several signals, missing values, short runs', () => {
  it('a change that only one of two columns shows is found', () => {
    const flat = Array<number>(12).fill(1);
    const stepped = [...Array<number>(7).fill(0), ...Array<number>(5).fill(1)];
    expect(segment([flat, stepped], 0.5).changePoints).toEqual([7]);
  });
  it('missing values neither hide nor make a change', () => {
    const signal = [0, null, 0, 0, null, 3, null, 3, 3];
    const { changePoints } = segment([signal, signal.map(() => null)], 1);
    expect(changePoints.length).toBe(1);
    expect([4, 5]).toContain(changePoints[0]);
  });
  it('a minimum length keeps single rows from being segments', () => {
    const spike = [0, 0, 0, 0, 9, 0, 0, 0, 0];
    expect(segment([spike], 1).changePoints).toEqual([4, 5]);
    expect(segment([spike], 1, 2).changePoints.every((at, index, all) => at - (all[index - 1] ?? 0) >= 2)).toBe(true);
  });
  it('no rows, one row', () => {
    expect(segment([[]], 1)).toEqual({ changePoints: [], objective: 0 });
    expect(segment([[5]], 1)).toEqual({ changePoints: [], objective: 0 });
  });
  it('refuses what cannot be', () => {
    expect(() => segment([[1, 2]], -1)).toThrow(/penalty/);
    expect(() => segment([[1, 2]], 1, 0)).toThrow(/minimumRows/);
    expect(() => leastSquaresCost([[1], [1, 2]])).toThrow(/one length/);
    expect(() => leastSquaresCost([[Number.NaN]])).toThrow(/finite/);
  });
});
