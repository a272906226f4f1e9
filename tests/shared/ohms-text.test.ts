import { describe, expect, test } from "vitest";
import { ohmsIn } from "../../shared/words/ohms-text.ts";

describe("ohms as they are written", () => {
  // IEC 60062:2016, clause 5, examples of the letter and digit code for resistance values (from memory).
  test.each([
    ["R10", 0.1],
    ["R332", 0.332],
    ["1R0", 1],
    ["5R9", 5.9],
    ["33R2", 33.2],
    ["590R", 590],
    ["1K0", 1_000],
    ["3K32", 3_320],
    ["59K", 59_000],
    ["332K", 332_000],
    ["1M0", 1_000_000],
    ["3M32", 3_320_000],
    ["1G0", 1e9],
  ])("%s is %s Ω by the letter and digit code", (text, ohms) => {
    expect(ohmsIn(text)).toBe(ohms);
  });

  // Common practice, no source.
  test.each([
    ["12.4k", 12_400],
    ["12,4k", 12_400],
    ["12k4", 12_400],
    ["12.4 kΩ", 12_400],
    ["4R7", 4.7],
    ["0R35", 0.35],
    [".5", 0.5],
    [",5", 0.5],
    ["0,350", 0.35],
    ["350m", 0.35],
    ["4m7", 0.0047],
    ["0", 0],
    ["2 M", 2e6],
    ["47 Ohm", 47],
    ["1,250k", 1_250],
    ["open", "open"],
    ["OL", "open"],
    ["0L", "open"],
    ["0.L", "open"],
    ["∞", "open"],
    ["∞ Ω", "open"],
  ])("%s is %s", (text, ohms) => {
    expect(ohmsIn(text)).toBe(ohms);
  });

  test.each(["", "k", "R", "1.2k4", "12k4k", "1e3", "4E7", "-3", "12V", "1..2", "1,2,3", "12,400", "Ω", "infinite"])(
    "%j is no reading",
    (text) => {
      expect(ohmsIn(text)).toBeNull();
    },
  );
});
