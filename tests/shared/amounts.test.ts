import { expect, test } from "vitest";
import { sayAmount, sayFarads, sayMs, sayOhms, sayShare } from "../../shared/words/amounts.ts";

test("an amount has a prefix of the International System and three figures (SI brochure, 9th edition, table 7)", () => {
  expect([
    sayAmount(0.00117, "F"),
    sayAmount(0.0000047, "F"),
    sayAmount(0.9999, "A"),
    sayAmount(12_400, "Ω"),
    sayAmount(0, "A"),
    sayAmount(-0.0021, "A"),
    sayAmount(3.3e-8, "F"),
    sayAmount(2.2e6, "Ω"),
    sayAmount(999.6, "W"),
    sayAmount(12.3456, "A"),
    sayAmount(0.05, "V"),
  ]).toEqual(["1.17 mF", "4.7 µF", "1 A", "12.4 kΩ", "0 A", "-2.1 mA", "33 nF", "2.2 MΩ", "1 kW", "12.3 A", "50 mV"]);
});

test("ohms stay ohms down to a tenth, a time is never in kiloseconds, a share is in percent", () => {
  expect([sayOhms(0.31), sayOhms(0.04), sayMs(412.4), sayMs(12_340), sayMs(1_500_000), sayMs(0.02)]).toEqual([
    "0.31 Ω",
    "40 mΩ",
    "412 ms",
    "12.3 s",
    "1500 s",
    "20 µs",
  ]);
  expect([sayShare(0.12), sayFarads(0.00213)]).toEqual(["12 %", "2.13 mF"]);
});

test.each([
  // JCGM 100:2008, 7.2.6: "R = 10.057 62 Ω with uc = 27 mΩ should be rounded to 10.058 Ω" (from memory).
  [10.05762, 0.027, "10.058 Ω ± 0.027 Ω"],
  [0.82, 0.00446, "0.8200 Ω ± 0.0045 Ω"],
  [1234.5, 12.3, "1.234 kΩ ± 0.012 kΩ"],
  [1234.5, 123, "1.23 kΩ ± 0.12 kΩ"],
  // A value smaller than its uncertainty is told in the unit of the uncertainty.
  [0.0009, 0.4, "0.00 Ω ± 0.40 Ω"],
  [0, 0.00002, "0 µΩ ± 20 µΩ"],
])("%d with an uncertainty of %d is told as %s", (value, expanded, told) => {
  expect(sayOhms(value, expanded)).toBe(told);
});
