import { describe, expect, test } from "vitest";
import type { FiledColdReadings } from "../../shared/cold-evidence.ts";
import type { BoardFile } from "../../shared/files/board-file.ts";
import type { ColdReadings } from "../../shared/permit.ts";
import { coldItems } from "../../src/plan/permit/permit-cold.ts";
import { kestrelBoard, kestrelCold, kestrelPlan } from "./example-plan.ts";

const plan = kestrelPlan({ cold: kestrelCold });
interface Given {
  cold?: ColdReadings;
  filed?: FiledColdReadings;
  board?: BoardFile | null;
}
const itemOf = (id: string, { cold = {}, filed = {}, board = kestrelBoard }: Given) =>
  coldItems(plan, board, { coldOhms: cold, coldFiled: filed }).find((each) => each.id === id);
const filed = (ohms: number | "open", expired: string | null = null): FiledColdReadings[string] => ({
  ohms,
  by: "meter",
  ageMs: 60_000,
  expired,
});

describe("the cold gate", () => {
  test("takes readings the job has, with their age, and those typed in before them", () => {
    expect(itemOf("cold:aux", { filed: { aux: filed(12_400) } })).toMatchObject({ state: "holds", ageMs: 60_000 });
    expect(itemOf("pair:aux:core", { filed: { "core:aux": filed(3100) } })).toMatchObject({ state: "holds" });
    const typed = itemOf("cold:aux", { cold: { aux: 40 }, filed: { aux: filed(12_400) } });
    expect(typed).toMatchObject({ state: "measured-bad", ageMs: null });
  });

  test("wants an expired reading anew, and never calls a bad one good for being old", () => {
    expect(itemOf("cold:aux", { filed: { aux: filed(12_400, "a repair was done after it") } })).toMatchObject({
      state: "not-done",
      evidence: expect.stringContaining("a repair was done after it: measure again"),
    });
    expect(itemOf("cold:aux", { filed: { aux: filed(40, "a repair was done after it") } })).toMatchObject({
      state: "measured-bad",
    });
  });

  test.each([
    // A shorted high side: the feed reads as the rail behind it (common practice, no source). Leads differ by 0.3 Ω.
    ["core", { aux: 0.6, core: 0.41 }],
    ["mem", { aux: 38, mem: 40 }],
  ] as const)("12 V that reads as %s itself is a shorted high side", (rail, cold) => {
    const board: BoardFile = { ...kestrelBoard, feeds: { ...kestrelBoard.feeds } };
    const withRails = { ...board, rails: { ...board.rails, mem: { volts: 1.35, needs: ["core"] } } };
    expect(itemOf("cold:aux", { cold, board: withRails })).toMatchObject({
      state: "measured-bad",
      evidence: expect.stringContaining(`the same as ${rail} (`),
    });
  });

  test("a pair that reads as the rail itself is never powered, in either order", () => {
    expect(itemOf("pair:aux:core", { cold: { "core:aux": 0.5, core: 0.41 } })).toMatchObject({
      state: "measured-bad",
      evidence: expect.stringContaining("a shorted high side"),
    });
  });

  test("an open reading holds; it is no number", () => {
    expect(itemOf("cold:aux", { cold: { aux: "open" } })).toMatchObject({
      state: "holds",
      evidence: expect.stringMatching(/^open/),
    });
  });

  test("a rail the board file wants read is asked for, and no other", () => {
    const [name, rail] = Object.entries(kestrelBoard.rails)[0] ?? [];
    if (name === undefined || rail === undefined) throw new Error("the board has no rail");
    const board = { ...kestrelBoard, rails: { ...kestrelBoard.rails, [name]: { ...rail, coldMandatory: true } } };
    expect(itemOf(`rail:${name}`, { board })).toMatchObject({ state: "not-done" });
    expect(coldItems(plan, board, { coldOhms: {} }).filter((each) => each.id.startsWith("rail:"))).toHaveLength(1);
    expect(itemOf(`rail:${name}`, {})).toBeUndefined();
  });
});
