import { describe, expect, it } from "vitest";
import { diagnosed, HEALTHY_OHMS, HEALTHY_SIGNALS, HEALTHY_VOLTS } from "./diagnosis-bench.ts";

const readings = (checks: Record<string, string>) => ({
  draw: "core-alive" as const,
  host: "attached" as const,
  coldOhms: HEALTHY_OHMS,
  volts: HEALTHY_VOLTS,
  signals: HEALTHY_SIGNALS,
  checks: { "host-look": "no-link", ...checks },
});
const share = (checks: Record<string, string>, element: string): number =>
  diagnosed(readings(checks))
    .faults.filter((each) => each.element === element)
    .reduce((sum, each) => sum + each.probability, 0);
/** A chip that does not run, by all that sees it; the current of the core shows a dead chip in itself too. */
const WAITS = { "fans-run": "stay-full", "chip-warmth": "cool", "firmware-select": "still" };
const RUNS = { "fans-run": "slow-down", "chip-warmth": "warm", "firmware-select": "reads" };

describe("checks that see whether the chip runs", () => {
  it("speak for a reset, a clock or a dead chip where it does not run, and for its link where it does", () => {
    expect(share(WAITS, "chip")).toBeGreaterThan(share({}, "chip"));
    expect(share(WAITS, "lanes") + share(WAITS, "ref-clock")).toBeLessThan(0.05);
    expect(share(RUNS, "chip")).toBeLessThan(share({}, "chip") / 2);
    expect(share(RUNS, "lanes") + share(RUNS, "ref-clock")).toBeGreaterThan(0.4);
  });

  it("are one proof: a second and a third of them add less than the first, and none condemns the chip alone", () => {
    const [first, ...more] = Object.entries(WAITS);
    const odds = (checks: Record<string, string>): number => {
      const p = share(checks, "chip");
      return p / (1 - p);
    };
    const one = odds(Object.fromEntries([first ?? ["", ""]])) / odds({});
    const rest = odds(WAITS) / odds(Object.fromEntries([first ?? ["", ""]]));
    expect(one).toBeGreaterThan(1);
    // Were each of them a proof of its own, two more would square what one alone says.
    expect(rest).toBeLessThan(one ** 2);
    expect(more).toHaveLength(2);
    const chip = diagnosed(readings(WAITS)).faults.find((each) => each.element === "chip");
    expect(chip?.chipProofs).toBeLessThan(2);
  });

  it("say the same in whatever order they are answered", () => {
    const turned = Object.fromEntries(Object.entries(WAITS).reverse());
    expect(share(turned, "chip")).toBeCloseTo(share(WAITS, "chip"), 9);
    expect(diagnosed(readings(turned)).faults.map((each) => each.element)).toEqual(
      diagnosed(readings(WAITS)).faults.map((each) => each.element),
    );
  });

  it("an open line of the firmware chip is seen at its select line though the chip may run", () => {
    expect(share({ ...RUNS, "firmware-select": "still" }, "firmware-chip")).toBeGreaterThan(
      share(RUNS, "firmware-chip") * 5,
    );
  });
});
