import type { Page } from "playwright-core";
import { describe, expect, test } from "vitest";
import { exampleOutcome, runningSnapshot, watchedRun } from "./example-run.ts";
import { button, cuts, off, on, openPages, rig, seen } from "./open-pages.ts";
import { expectAccessible } from "./page-axe.ts";

openPages();

/** This page in control of a board that is held on. */
async function inControlOfHeld(): Promise<void> {
  rig.facade.present = runningSnapshot();
  rig.facade.isOn = true;
  await rig.visit();
  rig.facade.say(on());
  await button("Take control").first().click();
  await seen("In control");
}

async function otherWindow(): Promise<Page> {
  const other = await rig.page.context().newPage();
  await other.goto(rig.wire.newUrl());
  await other.locator('.phase[data-phase="live"]').waitFor();
  return other;
}

describe("a board that is held on", () => {
  test("goes over to another window only once that one says that it watches; both say who is in control", async () => {
    await inControlOfHeld();
    const other = await otherWindow();
    await other.getByText(/^page \d+ is in control$/).waitFor();
    await other.getByRole("button", { name: "Ask for control" }).click();
    await seen("What is on stays on, and the other page is then responsible for it.");
    await button("Hand it over").click();
    await seen(/This page stays in control until that page takes the watch/);
    await seen("In control");
    await other.getByText(/hands over what is on\. Do you take the watch\?/).waitFor();
    await other.getByRole("button", { name: "Yes: this page watches it now" }).click();
    await other.getByText("In control", { exact: true }).waitFor();
    await seen(/^page \d+ is in control$/);
    expect(rig.facade.watchers).toHaveLength(1);
    expect([cuts(), rig.facade.gone]).toEqual([0, []]);
    await other.close();
    await expect.poll(() => rig.facade.gone).toHaveLength(1);
    await seen("No page is in control of what is on.");
  });

  test("stays with the window that has it when the other says no", async () => {
    await inControlOfHeld();
    const other = await otherWindow();
    await other.getByRole("button", { name: "Ask for control" }).click();
    await button("Hand it over").click();
    await other.getByRole("button", { name: /^No: leave it with page \d+$/ }).click();
    await seen(/did not take the watch over\. This page stays in control\./);
    await seen("In control");
    await other.close();
  });

  test("is not left alone: giving control up asks to switch off first, and no is the safe answer that changes nothing", async () => {
    await inControlOfHeld();
    await button("Hand back").click();
    await seen("Something is on, and this page watches it. Switch off first?");
    await expectAccessible("giving control up");
    await button("No: keep control").click();
    await seen("In control");
    expect(rig.facade.asked.filter((each) => each.command.type === "stop")).toEqual([]);
  });

  test("is switched off in order where a person says so, and control is given up once everything is off", async () => {
    await inControlOfHeld();
    await button("Hand back").click();
    await button("Switch off in order, then give control up").click();
    await rig.facade.asks("stop");
    await seen("control is given up once everything is off");
    await seen("In control");
    rig.facade.isOn = false;
    const { run } = watchedRun();
    rig.facade.say({ type: "outcome", run, outcome: exampleOutcome({ ended: "as-planned", output: "off" }) });
    rig.facade.say(off());
    await button("Take control").first().waitFor();
    expect(cuts()).toBe(0);
  });

  test("that nobody held may be given up freely", async () => {
    await rig.visit();
    await button("Take control").first().click();
    await seen("In control");
    await button("Hand back").click();
    await button("Take control").first().waitFor();
  });
});
