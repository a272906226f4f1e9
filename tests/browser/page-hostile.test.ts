import { describe, expect, test } from "vitest";
import { examplePreview, exampleSnapshot } from "../wire/example-snapshot.ts";
import { button, openPages, rig, seen, turnTo } from "./open-pages.ts";
import { SCENE_JOB } from "./page-scenes.ts";

openPages();

describe("a page that is used in odd ways", () => {
  test("dates what is stated by the daemon's clock, whatever the clock of its own machine says", async () => {
    rig.facade.reply = async (command) =>
      command.type === "preview" ? { result: "preview", preview: examplePreview() } : { result: "done" };
    // A day behind, as a machine that shows the page over a tunnel may be.
    await rig.page.addInitScript(`{ const now = Date.now; const Real = Date;
      globalThis.Date = class extends Real { constructor(...of) { if (of.length === 0) super(now() - 86400000); else super(...of); } static now() { return now() - 86400000; } }; }`);
    await rig.visit();
    await turnTo("Power");
    await rig.page.locator("start-form fieldset").first().getByRole("checkbox").first().check();
    await button("Check the permit").click();
    const { request } = await rig.facade.asks("preview");
    const [said] = Object.values(request.stated ?? {});
    expect(Math.abs(Date.now() - Date.parse(said?.at ?? ""))).toBeLessThan(60_000);
  });

  test("is told that a folder is none of a job's files; the files beside it are stored", async () => {
    rig.facade.present = exampleSnapshot();
    await rig.visit();
    await rig.page.goto(`${rig.page.url().split("#")[0]}#/job/${SCENE_JOB}/probe`);
    await rig.page.reload();
    await rig.page.locator("host-view").waitFor();
    const files = await rig.page.evaluateHandle(`(() => {
      DataTransferItem.prototype.webkitGetAsEntry = function () { const { name } = this.getAsFile(); return { isDirectory: name === "photos", name }; };
      const all = new DataTransfer();
      all.items.add(new File([""], "photos")); all.items.add(new File(["some words"], "note.txt"));
      return all; })()`);
    await rig.page.dispatchEvent("body", "drop", { dataTransfer: files });
    await seen('"photos" is a folder');
    expect(rig.desk.filed).toMatchObject([{ name: "note.txt" }]);
  });
});
