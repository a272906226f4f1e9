import { describe, expect, test } from "vitest";
import { DiagnosisReadings } from "../../shared/record/diagnosis.ts";
import { hashOf } from "../../web/page/address.ts";
import { exampleSnapshot } from "../wire/example-snapshot.ts";
import { exampleSweep, sweepDone } from "./example-sweep.ts";
import { button, openPages, rig, seen } from "./open-pages.ts";
import { expectAccessible } from "./page-axe.ts";
import { SCENE_JOB, SCENES } from "./page-scenes.ts";

openPages();

const LEGS = ["rx0p", "rx0n", "rx1p", "rx1n"];

async function openProbe(name: "probe" | "probe-next"): Promise<void> {
  const scene = SCENES.find((each) => each.name === name);
  if (scene === undefined) throw new Error("there is no such scene");
  rig.facade.present = scene.present();
  await rig.visit();
  await rig.page.goto(`${rig.wire.url.split("#")[0]}${hashOf(SCENE_JOB, "probe")}`);
  await rig.page.reload();
  await rig.page.locator('.phase[data-phase="live"]').waitFor();
}

describe("at the probes", () => {
  test("a point is marked on the photograph by a click, and its mark is taken away again", async () => {
    await openProbe("probe-next");
    const image = rig.page.locator("board-picture img");
    await image.waitFor();
    await rig.page.getByLabel("Point to mark").selectOption("core");
    const box = await image.boundingBox();
    if (box === null) throw new Error("the photograph has no place");
    const position = { x: box.width / 4, y: box.height / 2 };
    await rig.page.locator("board-picture .frame").click({ position });
    await expect.poll(() => rig.marked).toHaveLength(1);
    expect(rig.marked[0]).toMatchObject({
      photo: 0,
      point: "core",
      at: { x: expect.closeTo(0.25, 2), y: expect.closeTo(0.5, 2) },
    });
  });

  test("an answer is given by one click or in its field, and filed as what it is", async () => {
    const done = sweepDone();
    if (done.event !== "done") throw new Error("the example does not end");
    const [first] = done.diagnosis?.next ?? [];
    if (first === undefined) throw new Error("the example asks nothing");
    const asks = {
      ...first,
      ask: "Compare the lanes with each other.",
      measure: "lanes",
      record: { in: "checks", point: "lanes", answers: ["alike", "one-differs"] },
    };
    const sweep = exampleSweep();
    const diagnosis = done.diagnosis === null ? null : { ...done.diagnosis, next: [asks] };
    rig.facade.present = {
      ...exampleSnapshot(),
      sweep: { ...sweep, lines: [...sweep.lines, { ...done, diagnosis, readings: DiagnosisReadings.parse({}) }] },
    };
    await rig.visit();
    await rig.page.goto(`${rig.wire.url.split("#")[0]}${hashOf(SCENE_JOB, "probe")}`);
    await rig.page.reload();
    await button("one differs").click();
    await expect.poll(() => rig.desk.filed).toContainEqual({ kind: "answer", to: "lanes", answer: "one-differs" });
    await seen("Filed: one-differs");
  });

  test("a group is chosen and asked for, and the point that differs is marked in words, with what good boards read", async () => {
    const { sweep, lines, ...of } = exampleSweep();
    const rows = LEGS.map((point, index) => ({
      point,
      value: index === 3 ? 0.455 : 0.62,
      good: 0.618,
      off: index === 3 ? -0.264 : 0.001,
      rate: index === 3 ? 0.0002 : 0.9,
      differs: index === 3,
    }));
    const alike = {
      group: "lanes-rx",
      quantity: "diode" as const,
      word: "one-differs" as const,
      median: 0.62,
      goodBoards: 2,
      points: rows,
      because: [
        "1 of 4 points of lanes-rx stand out, the middle is 620 mV: rx1n reads 455 mV (26.4 % under a good board's).",
      ],
    };
    const ended = sweepDone();
    if (ended.event !== "done") throw new Error("the example does not end");
    const quiet = exampleSnapshot();
    rig.facade.present = {
      ...quiet,
      board: { ...quiet.board, groups: { "lanes-rx": LEGS } },
      sweep: { ...of, sweep, cold: true, lines: [...lines, { ...ended, diagnosis: null, alike }] },
    };
    await rig.visit();
    await rig.page.goto(`${rig.wire.url.split("#")[0]}${hashOf(SCENE_JOB, "probe")}`);
    await rig.page.reload();
    await button("Take control").first().click();
    await rig.page.getByLabel("Measured in").selectOption("ohms");
    await button("Sweep this group").click();
    await expect
      .poll(() => rig.facade.asked.map((each) => each.command).find((each) => each.type === "start-sweep"))
      .toMatchObject({ powered: null, how: { group: "lanes-rx", diode: false } });
    const table = rig.page.getByRole("region", { name: "Group lanes-rx" });
    expect(await table.getByRole("row", { name: /^rx1n/ }).innerText()).toMatch(
      /455 mV\s+618 mV\s+−26.4 %\s+✕ differs/,
    );
    expect(await table.getByRole("row", { name: /^rx0p/ }).innerText()).toContain("✓ as the others");
    await seen("on 2 good boards of this kind");
    await expectAccessible("a group that was judged");
  });

  test("a file let go beside the fields is filed with its port, never opened in place of the page; what it shows is said", async () => {
    await openProbe("probe-next");
    rig.desk.shows = { filed: true, found: "not listed by the host: it has no link (1 device)", notes: [] };
    const host = rig.page.getByRole("region", { name: "At the test host" });
    await host.getByLabel(/^Port the board is in/).fill("00:01.0");
    await host.getByLabel("A known good card was in this port").check();
    const address = rig.page.url();
    const dropped = await rig.page.evaluateHandle(
      '(() => { const all = new DataTransfer(); all.items.add(new File(["{}"], "look.json")); return all; })()',
    );
    await rig.page.dispatchEvent("body", "drop", { dataTransfer: dropped });
    await seen("not listed by the host: it has no link (1 device)");
    expect(rig.desk.filed).toContainEqual({ name: "look.json", port: "0000:00:01.0", control: "yes", bytes: 2 });
    expect(rig.page.url()).toBe(address);
    await host.getByLabel(/^Port the board is in/).fill("slot 3");
    await rig.page.dispatchEvent("body", "drop", { dataTransfer: dropped });
    await seen('"slot 3" is no port');
    expect(rig.desk.filed).toHaveLength(1);
  });

  test("tests at the host are filed from their form, and what cannot be one is said", async () => {
    await openProbe("probe-next");
    const form = rig.page.getByRole("region", { name: "Tests at the host" });
    await form.getByLabel("Good starts").fill("6");
    await form.getByLabel("of so many").fill("5");
    await button("File the test").click();
    await seen("There cannot be more good starts than starts.");
    await form.getByLabel("Good starts").fill("4");
    await button("File the test").click();
    const test = { name: "host-boots", result: "fail", passed: 4, of: 5, text: null, by: null, doneAt: null };
    await expect.poll(() => rig.desk.filed).toContainEqual({ kind: "test", test });
    await form.getByLabel("What was tested").selectOption("memory");
    await form.getByLabel("Result").selectOption("fail");
    await form.getByLabel("Addresses that failed").fill("0x7f3a0000, 0x7f3a4000");
    await button("File the test").click();
    await expect
      .poll(() => rig.desk.filed)
      .toContainEqual({
        kind: "test",
        test: {
          name: "memory",
          result: "fail",
          addresses: ["0x7f3a0000", "0x7f3a4000"],
          text: null,
          by: null,
          doneAt: null,
        },
      });
  });
});
