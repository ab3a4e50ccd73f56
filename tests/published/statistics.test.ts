import tCdf from '@stdlib/stats-base-dists-t-cdf'
import tQuantile from '@stdlib/stats-base-dists-t-quantile'
import { describe, expect, test } from 'vitest'
import { autocorrelationAt, deviationOf, meanOf, varianceOf } from '../../server/bench/statistics/moments.ts'
import { pairedTest, welchTest } from '../../server/bench/statistics/t-tests.ts'

/** Relative distance, for figures given to a number of digits. */
const apart = (found: number | undefined, wanted: number): number => Math.abs((found ?? Number.NaN) / wanted - 1)

/** Student's sleep data (Biometrika 6, 1908), as R's data set `sleep` has them. */
const sleepFirst = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0]
const sleepSecond = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4]

describe("Student's sleep data", () => {
  test('Welch: what R prints, and the full figures recomputed', () => {
    const found = welchTest(sleepFirst, sleepSecond)!
    // R's t.test prints t = -1.8608, df = 17.776, p-value = 0.07939, interval -3.3654832 0.2054832.
    expect(found.t).toBeCloseTo(-1.8608, 4)
    expect(found.degreesOfFreedom).toBeCloseTo(17.776, 3)
    expect(found.p).toBeCloseTo(0.07939, 5)
    expect(found.interval[0]).toBeCloseTo(-3.3654832, 7)
    expect(found.interval[1]).toBeCloseTo(0.2054832, 7)
    expect(apart(found.t, -1.86081346748685)).toBeLessThan(1e-13)
    expect(apart(found.degreesOfFreedom, 17.7764735161785)).toBeLessThan(1e-13)
    expect(apart(found.p, 0.0793941401873583)).toBeLessThan(1e-12)
    expect(apart(found.interval[0], -3.36548323071171)).toBeLessThan(1e-13)
    expect(apart(found.interval[1], 0.205483230711711)).toBeLessThan(1e-12)
  })

  test('means and variances', () => {
    expect(meanOf(sleepFirst)).toBeCloseTo(0.75, 14)
    expect(meanOf(sleepSecond)).toBeCloseTo(2.33, 14)
    expect(apart(varianceOf(sleepFirst), 3.20055555555556)).toBeLessThan(1e-14)
    expect(apart(varianceOf(sleepSecond), 4.009)).toBeLessThan(1e-14)
  })

  test('paired: significant where Welch is not', () => {
    // Recomputed; R's own print from memory: t = -4.0621, df = 9, p-value = 0.002833.
    const found = pairedTest(sleepFirst, sleepSecond)!
    expect(found.degreesOfFreedom).toBe(9)
    expect(apart(found.t, -4.06212768338204)).toBeLessThan(1e-13)
    expect(apart(found.p, 0.00283289019738427)).toBeLessThan(1e-11)
    expect(apart(found.interval[0], -2.45988576327698)).toBeLessThan(1e-13)
    expect(apart(found.interval[1], -0.700114236723018)).toBeLessThan(1e-12)
  })
})

describe('NIST reference data for one variable', () => {
  // NIST StRD, certified values; the data sets are public.
  const lottery =
    `162 671 933 414 788 730 817 33 536 875 670 236 473 167 877 980 316 950 456 92 517 557 956 954 104 178 794 278 147
    773 437 435 502 610 582 780 689 562 964 791 28 97 848 281 858 538 660 972 671 613 867 448 738 966 139 636 847 659
    754 243 122 455 195 968 793 59 730 361 574 522 97 762 431 158 429 414 22 629 788 999 187 215 810 782 47 34 108 986
    25 644 829 630 315 567 919 331 207 412 242 607 668 944 749 168 864 442 533 805 372 63 458 777 416 340 436 140 919
    350 510 572 905 900 85 389 473 758 444 169 625 692 140 897 672 288 312 860 724 226 884 508 976 741 476 417 831 15
    318 432 241 114 799 955 833 358 935 146 630 830 440 642 356 373 271 715 367 393 190 669 8 861 108 795 269 590 326
    866 64 523 862 840 219 382 998 4 628 305 747 247 34 747 729 645 856 974 24 568 24 694 608 480 410 729 947 293 53
    930 223 203 677 227 62 455 387 318 562 242 428 968`
      .split(/\s+/)
      .map(Number)

  test('Lottery', () => {
    expect(lottery).toHaveLength(218)
    expect(apart(meanOf(lottery), 518.95871559633)).toBeLessThan(1e-14)
    expect(apart(deviationOf(lottery), 291.699727470969)).toBeLessThan(1e-14)
    expect(apart(autocorrelationAt(lottery, 1), -0.120948622967393)).toBeLessThan(1e-13)
  })

  const numAcc = (middle: number): number[] => [
    middle,
    ...Array.from({ length: 1000 }, (_, index) => middle + (index % 2 === 0 ? -0.1 : 0.1)),
  ]

  test('NumAcc3 and NumAcc4: a spread far below the mean', () => {
    // The inputs are not exact in binary: 0.1000000005588 is the best that doubles allow for NumAcc4.
    for (const [middle, digits] of [
      [1_000_000.2, 1e-9],
      [10_000_000.2, 1e-8],
    ] as const) {
      const values = numAcc(middle)
      expect(apart(meanOf(values), middle)).toBeLessThan(1e-15)
      expect(apart(deviationOf(values), 0.1)).toBeLessThan(digits)
      expect(autocorrelationAt(values, 1)).toBeCloseTo(-0.999, 7)
    }
  })

  test('a sum keeps what a plain one loses', () => {
    expect(meanOf([1, 1e100, 1, -1e100])).toBe(0.5)
  })
})

describe("Student's t", () => {
  // Quantiles recomputed with thirty digits; they agree with the usual printed tables.
  const shares = [0.9, 0.95, 0.975, 0.99, 0.995]
  test.each([
    [1, [3.07768353718, 6.31375151468, 12.7062047362, 31.8205159538, 63.6567411629]],
    [2, [1.88561808316, 2.91998558035, 4.30265272975, 6.96455673428, 9.92484320092]],
    [3, [1.6377443537, 2.3533634348, 3.18244630528, 4.54070285857, 5.84090930973]],
    [4, [1.53320627406, 2.13184678633, 2.7764451052, 3.74694738798, 4.60409487135]],
    [5, [1.47588404882, 2.01504837333, 2.57058183564, 3.36492999891, 4.03214298356]],
    [6, [1.43975574727, 1.94318028052, 2.44691185114, 3.14266840329, 3.70742802132]],
    [8, [1.39681530974, 1.85954803753, 2.3060041352, 2.89645944771, 3.35538733133]],
    [9, [1.3830287384, 1.83311293266, 2.2621571628, 2.82143792503, 3.24983554159]],
    [10, [1.37218364111, 1.81246112281, 2.22813885199, 2.76376945811, 3.16927267262]],
    [15, [1.34060560785, 1.75305035569, 2.13144954556, 2.60248029501, 2.94671288348]],
    [20, [1.32534070699, 1.72471824292, 2.08596344727, 2.52797700274, 2.84533970979]],
    [30, [1.31041502539, 1.69726088659, 2.0422724563, 2.4572615424, 2.74999565357]],
    [60, [1.29582109352, 1.6706488649, 2.00029782201, 2.39011947262, 2.66028302886]],
    [120, [1.28864623366, 1.65765089936, 1.97993040508, 2.35782461265, 2.61742114511]],
    [17.776473516178488, [Number.NaN, Number.NaN, 2.10281724157, Number.NaN, Number.NaN]],
  ] as const)('%d degrees of freedom', (freedom, quantiles) => {
    quantiles.forEach((wanted, index) => {
      if (Number.isNaN(wanted)) return
      const share = shares[index]!
      expect(apart(tQuantile(share, freedom), wanted)).toBeLessThan(1e-11)
      expect(apart(tCdf(wanted, freedom), share)).toBeLessThan(1e-11)
    })
  })

  test('coverage factors for 95.45 % of GUM table G.2', () => {
    // JCGM 100:2008, table G.2, from memory; recomputed alike.
    const printed = [
      [1, 13.97],
      [2, 4.53],
      [3, 3.31],
      [4, 2.87],
      [5, 2.65],
      [10, 2.28],
      [20, 2.13],
      [50, 2.05],
    ] as const
    for (const [freedom, factor] of printed) expect(tQuantile(0.5 + 0.9545 / 2, freedom)).toBeCloseTo(factor, 2)
  })
})
