import { describe, expect, test } from "vitest";
import type { PlanEvent } from "../../shared/plan.ts";
import { advance } from "../../src/plan/machine/advance.ts";
import { initialState, type Ledger, type PlanState } from "../../src/plan/machine/machine-state.ts";
import { kestrelPlan } from "./example-plan.ts";

const plan = kestrelPlan();
const FEEDS = ["slot3v3", "slot12", "aux"];

/** Waiting for every feed to be read, before aux rises; slot12 was on at so many volts, the others never. */
function clearing(appliedVolts: number, rules: Ledger["rules"] = 2): PlanState {
  const { ledger } = initialState(plan);
  return {
    kind: "safe",
    ledger: { ...ledger, rules, stage: "hold-low", appliedVolts: { slot12: appliedVolts } },
    step: {
      step: "clear",
      target: { stage: "rise", index: 0 },
      sinceMs: 0,
      first: {},
      seen: {},
      windowFromMs: 0,
      windowVolts: null,
    },
  };
}

/** Readings of all feeds each 20 ms, slot12 at these volts; until the machine leaves the step, or for eight seconds. */
function leftWith(from: PlanState, slot12: (ms: number) => number): { state: PlanState; ms: number } {
  let state = from;
  for (let ms = 20; ms <= 8000; ms += 20) {
    for (const feed of FEEDS) {
      const volts = feed === "slot12" ? Math.round(slot12(ms) * 1000) / 1000 : 0;
      const event: PlanEvent = {
        event: "reading",
        atMs: ms,
        reading: {
          feed,
          queriedAtMs: ms - 1,
          atMs: ms,
          volts: { kind: "value", volts },
          amps: { kind: "value", amps: 0 },
          mode: "cv",
          together: true,
        },
      };
      ({ state } = advance(plan, state, event));
      if (state.kind !== "safe" || state.step.step !== "clear") return { state, ms };
    }
  }
  return { state, ms: Number.POSITIVE_INFINITY };
}

const isSetUp = (state: PlanState): boolean => state.kind === "safe" && state.step.step === "configure";

describe("volts on a feed that was on before", () => {
  // A capacitor discharges as e^(-t/RC): here R·C is 20 s.
  const discharge = (fromVolts: number) => (ms: number) => fromVolts * Math.exp(-ms / 20_000);

  test("that fall from what was applied are its own charge", () => {
    expect(isSetUp(leftWith(clearing(3), discharge(2.9)).state)).toBe(true);
  });

  test.each([
    ["that stand still", () => 2.9],
    ["that stand still but for a step of the reading now and then", (ms: number) => (ms % 60 === 0 ? 2.899 : 2.9)],
    ["that rise", (ms: number) => 1 + ms / 5000],
  ])("%s are a source: nothing is set up, and the run ends", (_, volts) => {
    const { state } = leftWith(clearing(3), volts);
    expect(state).toMatchObject({ kind: "ended", output: "off", trip: { rule: "back-feed", feed: "slot12" } });
  });

  test("above what was applied are waited for while they fall, and nothing is set up", () => {
    const { state, ms } = leftWith(clearing(3), discharge(12));
    expect(ms).toBe(Number.POSITIVE_INFINITY);
    expect(state).toMatchObject({ kind: "safe", step: { step: "clear" } });
  });

  test("are taken as they were in a record from before there were bounds", () => {
    expect(isSetUp(leftWith(clearing(3, 1), () => 12).state)).toBe(true);
  });
});

test("after a raised limit every feed is looked at anew before one is set up", () => {
  const { ledger } = initialState(plan);
  const cool: PlanState = {
    kind: "safe",
    ledger: { ...ledger, rules: 2, stage: "rise" },
    step: { step: "cool", sinceMs: 0, untilMs: 1000 },
  };
  const { state, effects } = advance(plan, cool, { event: "tick", atMs: 1000 });
  expect(state).toMatchObject({ kind: "safe", step: { step: "clear", target: { stage: "rise", index: 0 } } });
  expect(effects).toEqual([]);
});
