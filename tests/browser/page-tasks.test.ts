import { describe, expect, test } from "vitest";
import { examplePreview, exampleSnapshot } from "../wire/example-snapshot.ts";
import { button, off, openPages, rig, seen, turnTo } from "./open-pages.ts";
import { SCENE_JOB } from "./page-scenes.ts";

openPages();

describe("another kind of run", () => {
  test("is asked for with what it needs, shown in words before it is confirmed, and started as it was shown", async () => {
    const permit = { ...examplePreview().permit, items: [], granted: true, refusedBecause: [] };
    const does = ["The board stays on and is watched for 45 min, with every trip active."];
    rig.facade.reply = async (command) =>
      command.type === "preview"
        ? { result: "preview", preview: { ...examplePreview(permit), does } }
        : { result: "started", run: "run-1" };
    await rig.visit();
    await turnTo("Power");
    await button("Take control").last().click();
    await rig.page.getByLabel("What is done").selectOption("soak");
    await rig.page.getByLabel("Held for, minutes").fill("45");
    await button("Check the permit").click();
    await seen("The board stays on and is watched for 45 min");
    expect((await rig.facade.asks("preview")).request.task).toEqual({ task: "soak", minutes: 45 });
    expect(await button(/then sweep the rails/).count()).toBe(0);
    await rig.page.getByLabel("I have read these, and they are met").check();
    await button(/^Energise and soak/).click();
    expect((await rig.facade.asks("start-run")).request.task).toEqual({ task: "soak", minutes: 45 });
  });

  test("a margin run is asked which rail is under the probe, and says plainly where the board has none", async () => {
    rig.facade.reply = async (command) =>
      command.type === "preview" ? { result: "preview", preview: examplePreview() } : { result: "done" };
    await rig.visit();
    await turnTo("Power");
    await rig.page.getByLabel("What is done").selectOption("margin");
    await rig.page.getByLabel("Rail under the meter's probe").selectOption("1v8");
    await button("Check the permit").click();
    expect((await rig.facade.asks("preview")).request.task).toEqual({ task: "margin", rail: "1v8" });
    const board = { name: "bare", isDefault: false, notes: [], cold: [], tree: [], photos: [] };
    rig.facade.say({ type: "board", board });
    await rig.page.getByLabel("What is done").selectOption("margin");
    await seen("The board file names no rails");
    expect(await rig.page.getByLabel("Rail under the meter's probe").count()).toBe(0);
  });

  test("that is refused says so in sight, where the strips of the feeds and the dock cover nothing of it", async () => {
    const because =
      "Cannot make a plan: the longest on-time is 1800 s with this cooler; 4080 s was requested; nothing was energised";
    rig.facade.reply = async () => ({ result: "refused", code: "bad-input", because });
    await rig.visit();
    await turnTo("Power");
    await button("Take control").last().click();
    await rig.page.getByLabel("What is done").selectOption("soak");
    await rig.page.getByLabel("Held for, minutes").fill("68");
    await button("Check the permit").click();
    await seen(because);
    const inSight = async (): Promise<boolean> => {
      const box = async (selector: string) => {
        const found = await rig.page.locator(selector).first().boundingBox();
        return { top: found?.y ?? 0, bottom: (found?.y ?? 0) + (found?.height ?? 0) };
      };
      const [problem, feeds, dock] = [await box("start-form .problem"), await box(".feeds"), await box("cut-dock")];
      return problem.bottom > problem.top && problem.top >= feeds.bottom - 1 && problem.bottom <= dock.top + 1;
    };
    await expect.poll(inSight).toBe(true);
    await button("Check the permit").scrollIntoViewIfNeeded();
    await rig.page.setViewportSize({ width: 390, height: 844 });
    await button("Check the permit").click();
    await expect.poll(inSight).toBe(true);
  });

  test("with a figure that is none is told which, and nothing is asked of the bench", async () => {
    await rig.visit();
    await turnTo("Power");
    await button("Take control").last().click();
    await rig.page.getByLabel("What is done").selectOption("inject");
    await rig.page.getByLabel(/^Cap, volts/).fill("12");
    await button("Check the permit").click();
    await seen('Cap is "12"; it should be 0.05 to 3.');
    expect(rig.facade.asked.filter((each) => each.command.type === "preview")).toEqual([]);
  });
});

describe("a series of starts", () => {
  test("that is off between two says that it comes on again by itself, and can be ended; nothing else can be started", async () => {
    const cycles = { job: SCENE_JOB, cycles: [], restSeconds: 90, result: null };
    rig.facade.present = { ...exampleSnapshot(), cycles };
    await rig.visit();
    await turnTo("Power");
    await rig.saying(
      () => rig.facade.say(off()),
      () =>
        rig.page
          .locator("cut-dock .stage")
          .getByText(/: 1 min \d\d s$/)
          .waitFor(),
    );
    expect(await rig.page.locator("cut-dock .power").innerText()).toBe("SOON");
    expect(await rig.page.title()).toContain("SOON");
    expect(await button("Check the permit").count()).toBe(0);
    await button("End in order").click();
    await rig.facade.asks("stop");
    rig.facade.say({
      type: "cycles",
      cycles: { ...cycles, restSeconds: null, result: "0 of 0 starts clean. stopped by the page." },
    });
    await rig.saying(
      () => rig.facade.say(off()),
      () => seen("Nothing is on"),
    );
  });
});
