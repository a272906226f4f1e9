import { describe, expect, test } from "vitest";
import { exampleOutcome, runningSnapshot, toldVerdict } from "./example-run.ts";
import { exampleSweep, liveReading, placeProbe, sweepDone, sweptRail } from "./example-sweep.ts";
import { button, card, openPages, rig, seen, turnTo } from "./open-pages.ts";

openPages();

describe("a run", () => {
  test("shows where it is, what it waits for, and its limits with each feed", async () => {
    rig.facade.present = runningSnapshot();
    await rig.visit();
    await seen("aux: five periods of the slowest pattern");
    expect(await card("aux").locator(".limit").innerText()).toBe("3 A limit, at 12 V");
    expect(await rig.page.locator('stage-lead li[aria-current="step"]').innerText()).toMatch(/Watch\s+now: 3 feeds/);
    expect(await rig.page.locator('stage-lead li[data-state="clean"]').count()).toBe(4);
    await button("End in order").click();
    expect((await rig.facade.asks("stop")).type).toBe("stop");
  });

  test("draws its limits against the trace: the chart's pixels hold the colour of each", async () => {
    rig.facade.present = runningSnapshot();
    await rig.visit();
    await rig.page.locator("run-trace canvas").first().waitFor();
    const count = (rgb: string) =>
      `(() => { const canvas = document.querySelector("bench-page").shadowRoot.querySelector("power-view").shadowRoot.querySelector("run-trace").shadowRoot.querySelector("time-plot").shadowRoot.querySelector("#amps canvas");
        const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height); const [r, g, b] = [${rgb}]; let found = 0;
        for (let at = 0; at < data.length; at += 4) if (Math.abs(data[at] - r) + Math.abs(data[at + 1] - g) + Math.abs(data[at + 2] - b) < 12 && data[at + 3] > 200) found++;
        return found; })()`;
    // #a01318, the limit's colour, and #0d5c57, the trace's, in page.css.
    await expect.poll(() => rig.page.evaluate<number>(count("160, 19, 24"))).toBeGreaterThan(200);
    await expect.poll(() => rig.page.evaluate<number>(count("13, 92, 87"))).toBeGreaterThan(500);
  });

  test("asks its question, and only the page in control can answer", async () => {
    rig.facade.present = {
      ...runningSnapshot(),
      question: {
        question: 4,
        asks: "raise-limit",
        feed: "aux",
        fromAmps: 3,
        toAmps: 5,
        because: "It fell back twice.",
      },
    };
    await rig.visit();
    await seen("Raise the limit of aux from 3 A to 5 A?");
    expect(await button("Raise aux to 5 A").isDisabled()).toBe(true);
    await button("Take control").first().click();
    await seen("In control");
    await button("No: leave it off").click();
    expect(await rig.facade.asks("answer")).toMatchObject({ question: 4, yes: false });
  });

  test("ends with its verdict, the evidence, the rivals and what to do next", async () => {
    rig.facade.present = runningSnapshot();
    await rig.visit();
    rig.facade.say({ type: "outcome", run: "run-1", outcome: exampleOutcome() });
    rig.facade.say({ type: "verdict", verdict: toldVerdict() });
    const verdict = rig.page.getByRole("region", { name: "Verdict" });
    await verdict.waitFor();
    const text = await verdict.innerText();
    for (const part of [
      "Standby only",
      "Output confirmed off.",
      "The draw settled at 46 mA",
      "Retrying",
      "5 %",
      "Run of 25 Nov 2026",
    ])
      expect(text).toContain(part);
    await verdict.getByText(/^Figures/).click();
    expect(await verdict.innerText()).toMatch(
      /steady current, all feeds together\s+46\.0 mA ± 2\.0 mA[\s\S]+input capacitance\s+1\.17 mF ± 0\.10 mF[\s\S]+Not known from this run: resistance/,
    );
  });

  test("that was cut says why, where, and what is true of the output", async () => {
    rig.facade.present = runningSnapshot();
    await rig.visit();
    const trip = {
      rule: "limiting" as const,
      feed: "aux",
      stage: "rise" as const,
      atMs: 950,
      board: true,
      because: "It limited for 412 ms of one second; 300 ms were allowed.",
    };
    rig.facade.say({ type: "trip", run: "run-1", trip });
    rig.facade.say({
      type: "outcome",
      run: "run-1",
      outcome: exampleOutcome({
        ended: "board-stopped",
        trip,
        output: "unknown",
        limitToTry: { feed: "aux", amps: 5 },
      }),
    });
    await seen(/Cut in rise on aux/);
    await seen("It limited for 412 ms");
    await seen("The output could not be confirmed off. Limit to try next: 5 A on aux.");
  });
});

describe("a sweep", () => {
  const begin = async (): Promise<void> => {
    rig.facade.present = { ...runningSnapshot(), sweep: exampleSweep() };
    await rig.visit();
    await button("Take control").first().click();
    await seen("In control");
    // The place comes with a file of its own, which no figure waits for: a key pressed before it is there says nothing.
    await rig.page.locator("probe-view rail-list ul").waitFor();
  };

  test("names the rail and its point, shows a reading only while it is live, and lists what was taken with its uncertainty", async () => {
    await begin();
    await seen("the capacitor C812 beside the memory");
    await seen("Place the probe");
    await seen("should read 1.71 V to 1.89 V");
    await rig.saying(
      () => rig.facade.say({ type: "sweep-line", sweep: "sweep-1", line: liveReading("1v8", 1.803) }),
      () => seen("1.803 V"),
    );
    await seen("No live reading");
    const rails = rig.page.locator("probe-view rail-list ul");
    expect(await rails.innerText()).toMatch(/3v3 fail[\s\S]*0\.420 V ± 4 mV[\s\S]*5v pass[\s\S]*5\.020 V ± 4 mV/);
  });

  test("shows no number while the probe is in the air, and holds a value that was taken until the next rail is named", async () => {
    await begin();
    const lifted = { ...liveReading("1v8", 0), motion: "lifted" as const };
    await rig.saying(
      () => rig.facade.say({ type: "sweep-line", sweep: "sweep-1", line: lifted }),
      () => seen("Place the probe"),
    );
    const now = rig.page.getByRole("region", { name: "The rail to probe now" });
    expect(await now.innerText()).not.toContain("0.000 V");
    rig.facade.say({ type: "sweep-line", sweep: "sweep-1", line: { event: "rail", ...sweptRail("1v8", 1.803) } });
    rig.facade.say({
      type: "sweep-line",
      sweep: "sweep-1",
      line: { event: "next", rail: "core", point: "L12", left: 8 },
    });
    await expect.poll(() => now.innerText()).toMatch(/1v8\s+✓ 1\.803 V\s*pass: lift the probe/);
    rig.facade.say({ type: "sweep-line", sweep: "sweep-1", line: placeProbe("core", "L12") });
    await expect.poll(() => now.innerText()).toMatch(/^core/);
  });

  test("is steered by keys that name the rail they are meant for; Escape cuts from its field, and a typed value is a value", async () => {
    await begin();
    await rig.page.keyboard.press("Enter");
    expect(await rig.facade.asks("say-sweep")).toMatchObject({ rail: "1v8", says: { word: "take" } });
    await rig.page.getByLabel("Read off another meter, V").fill("1.81");
    await rig.page.keyboard.press("Enter");
    await expect
      .poll(() =>
        rig.facade.asked
          .map((each) => each.command)
          .filter((each) => each.type === "say-sweep")
          .at(-1),
      )
      .toMatchObject({ rail: "1v8", says: { value: 1.81 } });
    await rig.page.keyboard.press("Escape");
    await seen("Cut sent, not yet proved.");
  });

  test("that is over shows its diagnosis, with the next measurement and why", async () => {
    await begin();
    rig.facade.say({ type: "sweep-line", sweep: "sweep-1", line: sweepDone() });
    const next = rig.page.getByRole("region", { name: "Measure next" });
    await next.waitFor();
    expect(await next.innerText()).toContain("It tells a converter that is not told to start from one that cannot.");
    await seen(/3v3 not enabled: 81 %/);
  });

  test("cold begins from its step and energises nothing", async () => {
    await rig.visit();
    await turnTo("Probe");
    await rig.page.locator("probe-view").getByRole("button", { name: "Take control" }).click();
    await button("Cold sweep: ohms, nothing energised").click();
    expect(await rig.facade.asks("start-sweep")).toMatchObject({ powered: null });
  });
});
