import { expect, test } from "vitest";
import { ReadingTargets } from "../../src/bench/reading-targets.ts";
import type { Supply } from "../../src/instrument/supply.ts";
import { advance } from "../../src/plan/machine/advance.ts";
import { initialState } from "../../src/plan/machine/machine-state.ts";
import { rigPlan } from "./wire-rig.ts";

const supply = (name: string): Supply => ({ name, energised: false }) as unknown as Supply;

test("outputs of the bench that no plan names are read too: seldom beside planned ones, each round where they are alone", () => {
  const [psu, other] = [supply("psu"), supply("other")];
  const plan = rigPlan(["a"]);
  const begun = advance(plan, initialState(plan), { event: "begin", atMs: 0, rules: 3 }).state;
  const sources = new Map([
    ["a", { supply: psu, channel: 1 }],
    ["b", { supply: psu, channel: 2 }],
    ["c", { supply: other, channel: 1 }],
  ]);
  const targets = new ReadingTargets(plan, sources, initialState(plan));
  targets.follow(begun);
  expect(targets.of(psu)).toMatchObject([
    { feed: "a", channel: 1, everyNth: 1 },
    { feed: "b", channel: 2, everyNth: 8 },
  ]);
  expect(targets.of(other)).toEqual([{ feed: "c", channel: 1, everyNth: 1 }]);
});
