import { describe, expect, test } from "vitest";
import { judgeLeadNull } from "../../src/verdict/lead-null.ts";

describe("a lead null", () => {
  test("is the mean of steady readings; leads have 0.2 to 0.5 Ω (a meter maker's note)", () => {
    const judged = judgeLeadNull([0.31, 0.32, 0.3, 0.31, 0.31]);
    expect(judged).toMatchObject({ kind: "good", ohms: 0.31, remark: null });
  });

  test("over 1 Ω is kept with the advice to replace the leads (a meter maker's advice)", () => {
    expect(judgeLeadNull([1.2, 1.2, 1.2, 1.2, 1.2])).toMatchObject({
      kind: "good",
      ohms: 1.2,
      remark: expect.stringContaining("replace"),
    });
  });

  test.each([
    ["over 2 Ω", [2.1, 2.1, 2.1, 2.1, 2.1], "hold the tips together"],
    ["not steady", [0.2, 0.5, 0.2, 0.5, 0.2], "unsteady"],
    ["an open among them", [0.3, 0.3, null, 0.3, 0.3], "not in contact"],
    ["too few", [0.3, 0.3], "2 readings"],
    ["less than nothing", [-0.3, -0.3, -0.3, -0.3, -0.3], "is negative"],
    ["none", [], "0 readings"],
  ])("is refused where it is absurd: %s", (_, readings, because) => {
    expect(judgeLeadNull(readings)).toEqual({ kind: "refused", because: expect.stringContaining(because) });
  });

  test("a reading a little under zero is kept as zero", () => {
    expect(judgeLeadNull([-0.01, -0.01, -0.01, -0.01, -0.01])).toMatchObject({ kind: "good", ohms: 0 });
  });
});
