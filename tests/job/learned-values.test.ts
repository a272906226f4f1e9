import { expect, test } from "vitest";
import type { JobEvent } from "../../shared/record/job.ts";
import { learnedLines } from "../../src/command/text/learned-text.ts";
import { learnedValues } from "../../src/job/known/learned-values.ts";
import type { JobStore } from "../../src/job/store/job-store.ts";
import { withStore } from "./sample-job.ts";

const cold = (ohms: Record<string, number | "open">): JobEvent => ({
  kind: "cold-readings",
  ohms,
  by: "meter",
  boardCelsius: null,
});
const result = (word: "passed" | "returned"): JobEvent => ({ kind: "result", result: word, text: null });
const repair: JobEvent = { kind: "repair", text: "replaced Q12", parts: [] };

async function file(store: JobStore, events: JobEvent[], board = "Kestrel K2"): Promise<void> {
  const job = await store.newJob({ board });
  for (const event of events) await store.appendEvent(job, event);
}

test("boards of the kind that passed teach their readings since the last repair, each board once", () =>
  withStore(async (store) => {
    await file(store, [cold({ core: 0.02 }), repair, cold({ core: 0.4, aux: 12_000 }), result("passed")]);
    await file(store, [cold({ core: 9 }), cold({ core: 0.44 }), result("passed")]);
    await file(store, [cold({ core: 0.5 }), result("passed")]);
    // None of these counts: not passed, taken back, another kind.
    await file(store, [cold({ core: 0.01 })]);
    await file(store, [cold({ core: 0.03 }), result("passed"), result("returned")]);
    await file(store, [cold({ core: 7 }), result("passed")], "Wren W1");
    const learned = await learnedValues(store, "Kestrel K2");
    expect(learned.find((each) => each.point === "core")).toEqual({
      point: "core",
      quantity: "ohms",
      boards: 3,
      mean: expect.closeTo(0.446667, 6),
      median: 0.44,
      least: 0.4,
      most: 0.5,
      // √(((0.4 − m)² + (0.44 − m)² + (0.5 − m)²)/2), m = 0.446667.
      stdDev: expect.closeTo(0.0503322, 6),
    });
    expect(learned.find((each) => each.point === "aux")).toMatchObject({ boards: 1, median: 12_000, stdDev: null });
    expect(learnedLines("Kestrel K2", learned).join("\n")).toContain("core: 0.44 Ω (3 boards, 0.4 Ω to 0.5 Ω)");
  }));

test("the same board twice, known by its serial number, counts once, by its last job", () =>
  withStore(async (store) => {
    const intake: JobEvent = { kind: "intake", serialNumber: "K2-0007" };
    await file(store, [intake, cold({ core: 0.4 }), result("passed")]);
    await file(store, [intake, cold({ core: 0.48 }), result("passed")]);
    expect(await learnedValues(store, "Kestrel K2")).toMatchObject([{ point: "core", boards: 1, median: 0.48 }]);
  }));

test("the newest of a kind are asked for by its name, however many of other kinds passed since", () =>
  withStore(async (store) => {
    await file(store, [cold({ core: 0.4 }), result("passed")]);
    for (let each = 0; each < 5; each++) await file(store, [result("passed")], "Wren W1");
    const unnamed = await store.newJob();
    await store.appendEvent(unnamed, result("passed"));
    expect(await store.everPassed("Kestrel K2", 3)).toHaveLength(1);
    expect(await store.everPassed("Wren W1", 3)).toHaveLength(3);
    const opened = (await store.events(unnamed))[0]?.id ?? "";
    const event = { kind: "opened", title: null, board: "Kestrel K2" } as const;
    await store.appendEvent(unnamed, { kind: "correction", of: opened, because: "it was one", event });
    expect((await store.everPassed("Kestrel K2", 3))[0]).toBe(unnamed);
  }));

test("an open teaches nothing, nor does a board nobody passed", () =>
  withStore(async (store) => {
    await file(store, [cold({ aux: "open" }), result("passed")]);
    await file(store, [cold({ aux: 1000 })]);
    expect(await learnedValues(store, "Kestrel K2")).toEqual([]);
    expect(learnedLines("Kestrel K2", [])).toEqual([]);
  }));
