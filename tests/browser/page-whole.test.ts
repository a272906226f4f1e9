import { describe, expect, test } from "vitest";
import { examplePreview, exampleSnapshot } from "../wire/example-snapshot.ts";
import { exampleOutcome, runningSnapshot, toldVerdict, watchedRun } from "./example-run.ts";
import { exampleSweep, liveReading, sweepDone } from "./example-sweep.ts";
import { button, card, on, openPages, rig, seen, turnTo } from "./open-pages.ts";
import { expectAccessible } from "./page-axe.ts";

openPages();

async function clean(state: string): Promise<void> {
  for (const colorScheme of ["light", "dark"] as const) {
    await rig.page.emulateMedia({ colorScheme });
    await expectAccessible(`${state}, ${colorScheme}`);
  }
}

describe("the page as a whole", () => {
  test("asks nobody but its daemon, and breaks none of its content policy, from opening to verdict", async () => {
    rig.facade.reply = async (command) =>
      command.type === "preview" ? { result: "preview", preview: examplePreview() } : { result: "done" };
    await rig.visit();
    await turnTo("Power");
    await button("Check the permit").click();
    await seen("What will be energised");
    rig.facade.say({ type: "run-state", run: watchedRun() });
    await rig.saying(
      () => rig.facade.say(on()),
      () => seen("End in order"),
    );
    rig.facade.say({ type: "verdict", verdict: toldVerdict() });
    await seen("Standby only");
    expect(rig.complaints).toEqual([]);
    const origin = `http://127.0.0.1:${rig.wire.port}/`;
    expect(rig.requests.filter((url) => !url.startsWith(origin))).toEqual([]);
    expect(rig.requests.length).toBeGreaterThan(4);
  });

  test("shows what a stranger wrote as text, never as markup", async () => {
    const hostile = '<img src=x onerror="document.title=1"><script>document.title=2</script>\u001b[31m';
    const quiet = exampleSnapshot();
    rig.facade.present = {
      ...quiet,
      board: { name: hostile, isDefault: false, notes: [], cold: [], tree: [], photos: [] },
      bench: {
        ...quiet.bench,
        instruments: quiet.bench.instruments.map((each) => ({ ...each, identity: hostile, serialNumber: hostile })),
      },
      jobs: [{ ...quiet.jobs[0]!, title: hostile }],
      log: [{ at: "2026-11-25T10:00:00Z", level: "error", text: hostile }],
    };
    await rig.visit();
    await seen('<img src=x onerror="document.title=1">');
    expect(await rig.page.locator("img, bench-page script").count()).toBe(0);
    expect(await rig.page.title()).toBe("firstamp");
  });

  test("fits 320 px wide without sideways scrolling, the cut in sight", async () => {
    await rig.page.setViewportSize({ width: 320, height: 640 });
    rig.facade.present = runningSnapshot();
    await rig.visit();
    expect(await rig.page.evaluate<number>("document.documentElement.scrollWidth")).toBeLessThanOrEqual(320);
    const box = await button(/^CUT/).boundingBox();
    expect(box !== null && box.y + box.height <= 640).toBe(true);
    for (const step of ["Board", "Cold", "Power", "Probe", "Work", "Compare"]) {
      await turnTo(step);
      expect(await rig.page.evaluate<number>("document.documentElement.scrollWidth"), step).toBeLessThanOrEqual(320);
    }
  });

  test("has no violation of WCAG 2.2 AA that axe-core can see, light and dark, from opening to diagnosis", async () => {
    rig.facade.reply = async (command) =>
      command.type === "preview" ? { result: "preview", preview: examplePreview() } : { result: "done" };
    await rig.visit();
    await seen("no reading yet");
    await clean("board");
    await turnTo("Power");
    await button("Check the permit").click();
    await rig.page
      .getByRole("checkbox", { name: /go on without it/ })
      .first()
      .check();
    await clean("confirming");
    rig.facade.present = {
      ...runningSnapshot(),
      sweep: exampleSweep(),
      question: {
        question: 4,
        asks: "raise-limit",
        feed: "aux",
        fromAmps: 3,
        toAmps: 5,
        because: "It fell back twice.",
      },
    };
    await rig.page.reload();
    await seen("Raise the limit of aux");
    await turnTo("Probe");
    rig.facade.say({ type: "sweep-line", sweep: "sweep-1", line: liveReading("1v8", 1.803) });
    await clean("a powered sweep with a question");
    rig.facade.say({ type: "sweep-line", sweep: "sweep-1", line: sweepDone() });
    await seen("Measure the enable pin of the 3v3 converter.");
    await clean("diagnosis");
  });

  test("nor while it runs, in the record, with an alarm, and with the daemon lost", async () => {
    rig.facade.present = runningSnapshot();
    await rig.visit();
    await turnTo("Power");
    await rig.saying(
      () => rig.facade.say(on()),
      async () => {
        await card("aux").and(rig.page.locator('[data-live="yes"]')).waitFor();
        await clean("running");
      },
    );
    for (const step of ["Cold", "Work"]) {
      await turnTo(step);
      await clean(step);
    }
    await turnTo("Compare");
    await rig.page.getByRole("button", { name: "Compare", exact: true }).click();
    await seen("more than the meters' error");
    await clean("comparison");
    await turnTo("Board");
    await rig.page.locator("record-view summary").first().click();
    await rig.page.locator("stored-run canvas").first().waitFor();
    await rig.page.getByText("Note or photograph").click();
    await clean("record");
    await turnTo("Power");
    rig.facade.say({ type: "alarm", alarm: { message: 'Supply "psu" did not confirm off.', output: "unknown" } });
    const trip = {
      rule: "silent" as const,
      feed: "aux",
      stage: "watch" as const,
      atMs: 1,
      board: false,
      because: "No reply within 300 ms.",
    };
    rig.facade.say({
      type: "outcome",
      run: "run-1",
      outcome: exampleOutcome({ ended: "failed", endedBy: "bench", output: "unknown", trip }),
    });
    rig.facade.say({ type: "verdict", verdict: toldVerdict() });
    await seen("Stopped by the bench, not by the board");
    await clean("alarm and verdict");
    await rig.wire.close();
    await seen("The daemon does not answer.");
    await clean("lost");
    await rig.serve();
  });
});
