import { describe, expect, test } from "vitest";
import type { WireSetOnce } from "../../shared/files/set-once.ts";
import { examplePreview } from "../wire/example-snapshot.ts";
import { button, openPages, rig, seen, turnTo } from "./open-pages.ts";
import { expectAccessible } from "./page-axe.ts";
import { SCENE_JOB } from "./page-scenes.ts";

openPages();

const SET: WireSetOnce = {
  bench: "/srv/bench/bench.json",
  board: null,
  host: "none",
  fans: null,
  cooler: "block",
  job: { id: SCENE_JOB, title: "Kestrel K2, no picture" },
  problem: null,
};

/** The page of a daemon that keeps this, and notes what it is told to change. */
async function visitWith(kept: WireSetOnce): Promise<unknown[]> {
  const changes: unknown[] = [];
  rig.facade.setOnce = {
    read: async () => kept,
    change: async (change) => {
      changes.push(change);
      const now = { ...kept, fans: "off" as const };
      rig.facade.say({ type: "set-once", set: now });
      return now;
    },
  };
  await rig.visit();
  return changes;
}

describe("what is set once", () => {
  test("is shown, changed where it stands, and told to the page from then on", async () => {
    const changes = await visitWith(SET);
    await rig.page.getByText("Set once: bench.json, Host: none, Cooler: block, Kestrel K2, no picture").click();
    await seen("/srv/bench/bench.json");
    await expectAccessible("set once");
    await rig.page.locator("set-once").getByLabel("Fans").selectOption("off");
    await seen("Set once: bench.json, Host: none, Fans: off, Cooler: block, Kestrel K2, no picture");
    await button("Forget: Bench file").click();
    await rig.page.getByLabel(/^Bench or board file/).fill("/srv/boards/k2.json");
    await button("Set").click();
    await expect.poll(() => changes).toEqual([{ fans: "off" }, { forget: ["bench"] }, { file: "/srv/boards/k2.json" }]);
  });

  test("is where the form of a power-up begins, also after it was emptied; what is said there goes first", async () => {
    await visitWith(SET);
    rig.facade.reply = async (command) =>
      command.type === "preview" ? { result: "preview", preview: examplePreview() } : { result: "done" };
    await turnTo("Power");
    await seen("The form begins from what is set once.");
    const form = rig.page.locator("start-form");
    expect(await form.getByLabel("Host").inputValue()).toBe("none");
    expect(await form.getByLabel("Fans").inputValue()).toBe("unknown");
    await form.getByLabel("Cooler").selectOption("cooler");
    await button("Check the permit").click();
    const { request } = await rig.facade.asks("preview");
    expect(request.conditions).toMatchObject({ host: "none", fans: "unknown", cooler: "cooler" });
    // Nobody looked at a board for what is set once.
    expect(request.conditions).toMatchObject({ polarityChecked: null, pairsUnplugged: null });
    rig.facade.say({
      type: "board",
      board: { name: "another board", isDefault: false, notes: [], cold: [], tree: [], photos: [] },
    });
    await expect.poll(() => form.getByLabel("Cooler").inputValue()).toBe("block");
  });

  test("has the job that a page opens where its address names none", async () => {
    await visitWith(SET);
    await expect.poll(() => new URL(rig.page.url()).hash).toContain(SCENE_JOB);
  });

  test("that changes elsewhere is in an untouched form at once; what was said there stays, and the page keeps its job", async () => {
    await visitWith({ ...SET, job: null });
    await turnTo("Power");
    const form = rig.page.locator("start-form");
    await form.getByLabel("Cooler").selectOption("bare");
    const job = { id: "0193f5a2-7c11-7a44-9d1e-5a6b7c8d9e98", title: "Another board" };
    rig.facade.say({ type: "set-once", set: { ...SET, host: "attached", cooler: "cooler", job } });
    await expect.poll(() => form.getByLabel("Host").inputValue()).toBe("attached");
    expect(await form.getByLabel("Cooler").inputValue()).toBe("bare");
    expect(rig.page.url()).not.toContain(job.id);
    await turnTo("Board");
    await rig.page.getByText(/^Set once: bench.json/).click();
    await button("Open Another board on this page").click();
    await expect.poll(() => new URL(rig.page.url()).hash).toContain(job.id);
  });

  test("that cannot be read says so and can be forgotten", async () => {
    const changes = await visitWith({
      ...SET,
      bench: null,
      host: null,
      cooler: null,
      job: null,
      problem: "use.json is damaged",
    });
    await rig.page.getByText("Set once: nothing yet").click();
    await seen("use.json is damaged");
    await button("Forget all of it").click();
    await expect.poll(() => changes).toHaveLength(1);
  });
});
