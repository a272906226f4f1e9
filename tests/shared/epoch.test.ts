import { expect, test } from "vitest";
import { Epoch } from "../../shared/epoch.ts";

test("a token is good until the next cut or stop, and never again after it", () => {
  const epoch = new Epoch();
  const before = epoch.token;
  expect(epoch.hasRisenSince(before)).toBe(false);
  epoch.raise();
  const between = epoch.token;
  expect([epoch.hasRisenSince(before), epoch.hasRisenSince(between)]).toEqual([true, false]);
  epoch.raise();
  expect([epoch.hasRisenSince(before), epoch.hasRisenSince(between)]).toEqual([true, true]);
});
