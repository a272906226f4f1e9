import { readFile } from "node:fs/promises";
import { describe, expect, test } from "vitest";
import { hashOf } from "../../web/page/address.ts";
import { runningSnapshot, watchedRun, watchedTrace } from "./example-run.ts";
import { button, openPages, rig } from "./open-pages.ts";
import { SCENE_JOB } from "./page-scenes.ts";

openPages();

const RUN = "0193f5a2-0000-7000-8000-000000000009";
const cursor = () => rig.page.getByRole("slider", { name: /^Cursor of/ });
const read = () => rig.page.locator("time-plot .read");

async function openRun(): Promise<void> {
  rig.facade.present = {
    ...runningSnapshot(),
    run: { ...watchedRun(), run: RUN, goodBoards: { of: ["aux"], lowAmps: 1.1, highAmps: 1.3, boards: 4 } },
    trace: [
      { feed: "aux", readings: watchedTrace() },
      { feed: "slot12", readings: watchedTrace() },
    ],
  };
  await rig.visit();
  await rig.page.goto(`${rig.wire.url.split("#")[0]}${hashOf(SCENE_JOB, "power")}`);
  await rig.page.reload();
  await cursor().waitFor();
}

describe("the trace of a run", () => {
  test("is looked at by keyboard: a cursor that says what is read, a second one for differences, closer and wider", async () => {
    await openRun();
    await cursor().focus();
    await rig.page.keyboard.press("Home");
    expect(await read().textContent()).toContain("0.000 s: aux 0 A");
    await rig.page.keyboard.press("Enter");
    await rig.page.keyboard.press("End");
    // The example draws 1.21 A at 12.02 V at its end, and nothing at its begin.
    expect(await read().textContent()).toMatch(/From 0\.000 s, 8\.600 s later: aux \+1\.2\d? A, \+12 V/);
    await rig.page.keyboard.press("+");
    const shown = async (): Promise<number> =>
      Number(await cursor().getAttribute("aria-valuemax")) - Number(await cursor().getAttribute("aria-valuemin"));
    expect(await shown()).toBeCloseTo(4.3, 3);
    await rig.page.keyboard.press("PageUp");
    expect(Number(await cursor().getAttribute("aria-valuemax"))).toBeCloseTo(6.45, 3);
    await rig.page.keyboard.press("0");
    expect(await shown()).toBeCloseTo(8.6, 3);
  });

  test("is looked at by mouse and by two fingers, of one feed or of all", async () => {
    await openRun();
    const box = await cursor().boundingBox();
    if (box === null) throw new Error("the plot has no place");
    const middle = { x: box.x + box.width / 2, y: box.y + box.height / 4 };
    await rig.page.mouse.click(middle.x, middle.y);
    expect(await read().textContent()).toMatch(/^[345]\.\d{3} s: aux/);
    await rig.page.mouse.wheel(0, -400);
    await rig.page.getByRole("button", { name: "All of it" }).click();
    await rig.page.getByText("all feeds").click();
    await rig.page.locator("time-plot .key").getByText("slot12").waitFor();
    // Two fingers that move apart to twice the distance look twice as closely.
    await rig.page.evaluate(`(() => {
      const part = (root, name) => root.querySelector(name).shadowRoot;
      const charts = part(part(part(part(document, "bench-page"), "power-view"), "run-trace"), "time-plot").querySelector(".charts");
      charts.setPointerCapture = () => undefined;
      const finger = (type, pointerId, clientX) => charts.dispatchEvent(new PointerEvent(type, { pointerId, clientX, clientY: ${middle.y}, pointerType: "touch", button: 0, bubbles: true }));
      finger("pointerdown", 11, ${middle.x - 50});
      finger("pointerdown", 12, ${middle.x + 50});
      finger("pointermove", 12, ${middle.x + 150});
      finger("pointerup", 11, ${middle.x - 50});
      finger("pointerup", 12, ${middle.x + 150});
    })()`);
    const min = Number(await cursor().getAttribute("aria-valuemin"));
    expect(Number(await cursor().getAttribute("aria-valuemax")) - min).toBeCloseTo(4.3, 1);
  });

  test("takes a note of a moment, and is saved as a picture and as a table", async () => {
    await openRun();
    await cursor().focus();
    await rig.page.keyboard.press("Home");
    await button("Note at the cursor").click();
    await rig.page.getByLabel("Note at 0.000 s").fill("fan twitches");
    await button("File it").click();
    await expect
      .poll(() => rig.desk.filed)
      .toContainEqual({ kind: "note", text: "fan twitches", of: { run: RUN, atMs: 0 } });
    const [picture] = await Promise.all([rig.page.waitForEvent("download"), button("Save the picture").click()]);
    // PNG, third edition (W3C), 5.2: the signature.
    expect((await readFile(await picture.path())).subarray(0, 8)).toEqual(
      Buffer.from([137, 80, 78, 71, 13, 10, 26, 10]),
    );
    await rig.page.getByRole("tab", { name: /^Board/ }).click();
    await rig.page.locator("record-view summary").first().click();
    const [table] = await Promise.all([rig.page.waitForEvent("download"), button("Save all readings as CSV").click()]);
    expect(await readFile(await table.path(), "utf8")).toContain("time_s,volts,amps");
  });
});
