import { randomUUID } from "node:crypto";
import { describe, expect, test } from "vitest";
import { exampleSnapshot } from "../wire/example-snapshot.ts";
import { runningSnapshot } from "./example-run.ts";
import { button, off, on, openPages, rig, seen, turnTo } from "./open-pages.ts";

openPages();

describe("the jobs", () => {
  test("are looked for by words and by where they stand, and one that is found is opened", async () => {
    const id = randomUUID();
    rig.desk.titles.set(id, "smells burnt at Q12");
    rig.desk.found = [
      {
        id,
        title: "smells burnt at Q12",
        startedAt: "2026-11-25T09:10:00.000Z",
        class: null,
        stage: "waiting-for-parts",
      },
    ];
    await rig.visit();
    await turnTo("Board");
    await rig.page.getByLabel(/^Words of the job/).fill("burnt");
    await seen("waits for parts");
    await rig.page.getByLabel("Which jobs").selectOption("waits for parts");
    await expect.poll(() => rig.desk.lookedFor.at(-1)).toEqual({ words: "burnt", stage: "waiting-for-parts" });
    await button(/smells burnt at Q12/).click();
    await expect.poll(() => rig.page.title()).toContain("smells burnt at Q12");
  });
});

describe("the window's title and mark", () => {
  test("say what is true of the outputs", async () => {
    rig.facade.present = exampleSnapshot();
    await rig.visit();
    const mark = (): Promise<string> => rig.page.evaluate(`document.querySelector('link[rel="icon"]').href`);
    await rig.saying(
      () => rig.facade.say(off()),
      () => expect.poll(() => rig.page.title()).not.toMatch(/ON|KNOWN/),
    );
    rig.facade.present = runningSnapshot();
    await rig.page.reload();
    await rig.saying(
      () => rig.facade.say(on()),
      () => expect.poll(() => rig.page.title()).toMatch(/^● ON/),
    );
    expect(await mark()).toContain("mark-on");
    await rig.wire.close();
    await expect.poll(() => rig.page.title(), { timeout: 15_000 }).toMatch(/NOT KNOWN/);
    expect(await mark()).toContain("mark-doubt");
    await rig.serve();
  });
});

describe("the tones", () => {
  test("have their loudness kept, and a list in which each says what it means", async () => {
    await rig.visit();
    await rig.page.getByText("Settings").click();
    await rig.page.getByLabel(/^How loud/).fill("30");
    await rig.page.getByText("Hear them").click();
    expect(await rig.page.getByRole("button", { name: /^Hear: / }).count()).toBe(11);
    await rig.page.reload();
    await rig.page.getByText("Settings").click();
    await seen("How loud: 30 %");
  });
});
