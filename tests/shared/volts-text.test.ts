import { expect, test } from "vitest";
import { voltsIn } from "../../shared/words/volts-text.ts";

// Common practice, no source.
test.each([
  ["1.81", 1.81],
  ["1,81 V", 1.81],
  ["-0.3", -0.3],
  ["−0.3V", -0.3],
  [".45", 0.45],
  ["450m", 0.45],
  ["450 mV", 0.45],
  ["3V3", 3.3],
  ["0V85", 0.85],
  ["12", 12],
  ["0", 0],
])("%s is %s V", (text, volts) => {
  expect(voltsIn(text)).toBe(volts);
});

test.each(["", "V", "1.8.1", "1e3", "open", "12 A", "--3", "3V3V"])("%j is no reading", (text) => {
  expect(voltsIn(text)).toBeNull();
});
