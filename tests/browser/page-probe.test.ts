import { describe, expect, test } from "vitest";
import { DiagnosisReadings } from "../../shared/diagnosis.ts";
import { hashOf } from "../../web/page/address.ts";
import { exampleSnapshot } from "../wire/example-snapshot.ts";
import { exampleSweep, sweepDone } from "./example-sweep.ts";
import { button, openPages, rig, seen } from "./open-pages.ts";
import { SCENE_JOB, SCENES } from "./page-scenes.ts";

openPages();

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
});
