import { describe, expect, test } from "vitest";
import { hashOf } from "../../web/page/address.ts";
import { PLACES } from "../../web/record/places.ts";
import { examplePermit, examplePreview, exampleSnapshot } from "../wire/example-snapshot.ts";
import { exampleOutcome, runningSnapshot, toldVerdict, watchedRun } from "./example-run.ts";
import { button, card, cuts, off, on, openPages, rig, seen, turnTo } from "./open-pages.ts";

openPages();

const [A, B] = ["0193f5a2-7c11-7a44-9d1e-5a6b7c8d9e10", "0193f5a2-7c11-7a44-9d1e-5a6b7c8d9e0f"];
const granted = () => examplePreview({ granted: true, items: examplePermit().items.slice(0, 1), refusedBecause: [] });
const twoJobs = () => ({
  ...exampleSnapshot(),
  jobs: [
    { id: A, title: "board of the first", startedAt: "2026-11-25T09:12:00Z", class: null },
    { id: B, title: "board of the second", startedAt: "2026-11-25T09:13:00Z", class: null },
  ],
});

async function visitJobs(present = twoJobs()): Promise<void> {
  rig.facade.present = present;
  rig.desk.titles.set(A, "board of the first").set(B, "board of the second");
  await rig.visit();
}

const openJob = async (title: string): Promise<void> => {
  await turnTo("Board");
  await rig.page.getByRole("region", { name: "Jobs" }).getByRole("button", { name: title }).click();
};
const headSays = (title: string) => rig.page.locator("page-head .job").getByText(title).waitFor();

describe("two jobs in turn", () => {
  test("share no fact: permit, statements, waivers and typed ohms of the first are gone with it", async () => {
    rig.facade.reply = async (command) =>
      command.type === "preview" ? { result: "preview", preview: granted() } : { result: "done" };
    await visitJobs();
    await openJob("board of the first");
    await headSays("board of the first");
    await button("Take control").first().click();
    await seen("In control");
    await turnTo("Cold");
    await rig.page.getByLabel("Ohms at aux", { exact: true }).fill("12.4k");
    await turnTo("Power");
    await rig.page.getByLabel("Polarity checked with a meter at the card end").check();
    await rig.page.locator('select[name="host"]').selectOption("none");
    await button("Check the permit").click();
    await rig.page.getByLabel("I have read these, and they are met").check();
    expect(await button(/^Energise/).isEnabled()).toBe(true);
    const stated = (await rig.facade.asks("preview")).request.stated;
    expect(stated?.polarityChecked?.job).toBe(A);

    await openJob("board of the second");
    await headSays("board of the second");
    await turnTo("Power");
    expect(await button(/^Energise/).count()).toBe(0);
    expect(await rig.page.getByLabel("Polarity checked with a meter at the card end").isChecked()).toBe(false);
    expect(await rig.page.locator('select[name="host"]').inputValue()).toBe("unknown");
    await turnTo("Cold");
    expect(await rig.page.getByLabel("Ohms at aux", { exact: true }).inputValue()).toBe("");
    await turnTo("Power");
    await button("Check the permit").click();
    await expect.poll(() => rig.facade.asked.filter((each) => each.command.type === "preview").length).toBe(2);
    const asked = rig.facade.asked.map((each) => each.command).findLast((each) => each.type === "preview");
    expect(asked).toMatchObject({
      request: { job: B, coldOhms: {}, conditions: { polarityChecked: null, host: "unknown" } },
    });
  });

  test("show no run, verdict or advice of the other; a run that is on is said to be the other's", async () => {
    await visitJobs({ ...twoJobs(), ...runningSnapshot(), jobs: twoJobs().jobs, verdict: toldVerdict() });
    await headSays("board of the first");
    await openJob("board of the second");
    await seen("Something is on. Open board of the second anyway?");
    await button("No: stay here").click();
    await headSays("board of the first");
    await openJob("board of the second");
    await button("Open board of the second").click();
    await headSays("board of the second");
    await turnTo("Power");
    await seen("What is on now belongs to board of the first, not to the open job.");
    expect(await rig.page.locator("power-view stage-lead").count()).toBe(0);
    await seen("(board of the first)");
  });

  test("and each place stay through a reload, and what is filed then goes into the job that is open", async () => {
    await visitJobs();
    await openJob("board of the second");
    await headSays("board of the second");
    for (const { place } of PLACES) {
      // As the tabs are written: "Board", "Cold", …
      await turnTo(place.charAt(0).toUpperCase() + place.slice(1));
      expect(new URL(rig.page.url()).hash).toBe(hashOf(B, place));
      await rig.page.reload();
      await headSays("board of the second");
      await rig.page.locator(`places-bar [data-place="${place}"][aria-selected="true"]`).waitFor();
    }
    await turnTo("Cold");
    await rig.page.getByLabel("Ohms at core", { exact: true }).fill("0.41");
    await button("File these readings in board of the second").click();
    await expect.poll(() => rig.desk.into).toEqual([B]);
  });
});

describe("the limit that is shown", () => {
  test("is the one in force after a raise, as it was read back, and none while the output is off", async () => {
    rig.facade.present = runningSnapshot();
    await rig.visit();
    const limit = () => card("aux").locator(".limit").innerText();
    expect(await limit()).toBe("3 A limit, at 12 V");
    const run = watchedRun();
    const spans = run.settings.map((each) =>
      each.feed === "aux" && each.untilMs === null ? { ...each, untilMs: 8_000 } : each,
    );
    rig.facade.say({ type: "run-state", run: { ...run, settings: spans } });
    await expect.poll(limit).toBe("no limit in force");
    const raised = { feed: "aux", volts: 12, limitAmps: 5, overVolts: 13.2, fromMs: 18_000, untilMs: null };
    rig.facade.say({ type: "run-state", run: { ...run, settings: [...spans, raised] } });
    await expect.poll(limit).toBe("5 A limit, at 12 V");
  });
});

describe("a title of 200 characters", () => {
  test("moves neither the cut nor the figures out of the window, wide or narrow", async () => {
    rig.desk.titles.set(A, "x".repeat(200));
    rig.facade.present = {
      ...runningSnapshot(),
      jobs: [{ id: A, title: "y".repeat(200), startedAt: "2026-11-25T09:12:00Z", class: null }],
    };
    await rig.visit();
    await rig.page.locator("page-head .job b").waitFor();
    for (const [width, height] of [
      [1280, 800],
      [390, 844],
      [640, 400],
    ] as const) {
      await rig.page.setViewportSize({ width, height });
      for (const part of [button(/^CUT/), rig.page.locator("feed-strip").last()]) {
        const box = await part.boundingBox();
        expect(
          box !== null && box.x >= 0 && box.x + box.width <= width && box.y >= 0 && box.y + box.height <= height,
          `${width}`,
        ).toBe(true);
      }
    }
  });
});

describe("a question", () => {
  test("stands in sight on a phone and at 200 %, with the safe answer first and larger", async () => {
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
    await button("Take control").first().click();
    await seen("Raise the limit of aux from 3 A to 5 A?");
    for (const [width, height] of [
      [390, 844],
      [640, 400],
    ] as const) {
      await rig.page.setViewportSize({ width, height });
      const [no, yes] = [
        await button("No: leave it off").boundingBox(),
        await button("Raise aux to 5 A").boundingBox(),
      ];
      if (no === null || yes === null) throw new Error("an answer is not on the page");
      expect(no.y + no.height).toBeLessThanOrEqual(height);
      expect(no.y < yes.y || no.x < yes.x).toBe(true);
      expect(no.width * no.height).toBeGreaterThan(yes.width * yes.height);
    }
  });
});

describe("a daemon that is lost", () => {
  test("freezes clock and stages at its last word, and the advice is to switch off by hand", async () => {
    rig.facade.present = runningSnapshot();
    await rig.visit();
    await seen("aux: five periods of the slowest pattern");
    await rig.wire.close();
    await seen("Hands off. Switch the supply off by its own switch.");
    const dock = rig.page.locator("cut-dock .now");
    const first = await dock.innerText();
    expect(first).toMatch(/No contact with the daemon since \d\d:\d\d:\d\d\. Hands off\.\s+last word: Watch aux/);
    await expect.poll(() => card("aux").locator(".stale").innerText()).toContain("stale");
    expect(await dock.innerText()).toBe(first);
    expect(await rig.page.locator("stage-lead li[aria-current]").count()).toBe(0);
    expect(await rig.page.locator("cut-dock .power").innerText()).toBe("?");
    expect(await button("End in order").count()).toBe(0);
    await rig.serve();
  });
});

describe("an instrument that went away", () => {
  test("has a lamp of its own and a banner that names it, while the daemon is well", async () => {
    await rig.visit();
    const quiet = exampleSnapshot();
    const [psu] = quiet.bench.instruments;
    if (psu === undefined) throw new Error("the example bench has a supply");
    const meter = { ...psu, name: "dmm", kind: "meter" as const, connected: false, silent: true };
    rig.facade.say({ type: "bench", bench: { ...quiet.bench, instruments: [psu, meter] } });
    await seen("✕ dmm does not answer");
    await seen("dmm does not answer.");
    await rig.page.locator('.lamp[data-lamp="well"]').getByText("psu").waitFor();
    rig.facade.say({
      type: "bench",
      bench: { ...quiet.bench, instruments: [psu, { ...meter, connected: true, silent: false }] },
    });
    await expect.poll(() => rig.page.getByText("dmm does not answer").count()).toBe(0);
  });
});

describe("what came of a cut", () => {
  test("is gone once every output is known to be off", async () => {
    await rig.visit();
    await rig.saying(
      () => rig.facade.say(on()),
      async () => {
        await seen("An output is on");
        await rig.page.keyboard.press("Escape");
        await seen("Cut sent, not yet proved.");
      },
    );
    await rig.saying(
      () => rig.facade.say(off()),
      () => seen("Nothing is on"),
    );
    expect(await rig.page.getByText("Cut sent, not yet proved.").count()).toBe(0);
    expect(cuts()).toBe(2);
  });
});

describe("a run that the computer stopped", () => {
  test("gives no class, no rivals and no limit to try", async () => {
    rig.facade.present = runningSnapshot();
    await rig.visit();
    const trip = {
      rule: "stale" as const,
      feed: "aux",
      stage: "watch" as const,
      atMs: 1,
      board: false,
      because: "aux was last read 506 ms ago",
    };
    rig.facade.say({ type: "verdict", verdict: toldVerdict() });
    rig.facade.say({
      type: "outcome",
      run: "run-1",
      outcome: exampleOutcome({ ended: "failed", endedBy: "bench", trip, limitToTry: { feed: "aux", amps: 5 } }),
    });
    const verdict = rig.page.getByRole("region", { name: "Verdict" });
    await verdict.getByText("Stopped by the bench, not by the board").waitFor();
    const text = await verdict.innerText();
    expect(text).toContain("506 ms");
    for (const never of ["Standby only", "Limit to try", "%"]) expect(text).not.toContain(never);
  });
});

describe("two windows", () => {
  test("ask each other for control, and it is handed over without a cut", async () => {
    await rig.visit();
    await button("Take control").first().click();
    await seen("In control");
    const other = await rig.page.context().newPage();
    await other.goto(rig.wire.newUrl());
    await other.getByRole("button", { name: "Ask for control" }).click();
    await seen(/page \d+ asks for control\. Hand it over\?/);
    await button("Hand it over").click();
    await other.getByText("In control", { exact: true }).waitFor();
    await seen(/^page \d+ is in control$/);
    expect(rig.facade.gone).toEqual([]);
    await other.close();
  });
});

describe("the live strips", () => {
  test("do not move while figures come, whatever their sign, and are drawn without the rest of the page", async () => {
    await rig.visit();
    await turnTo("Power");
    let count = 0;
    const noisy = () => {
      count += 1;
      const sign = count % 2 === 0 ? -1 : 1;
      rig.facade.say({
        ...off(),
        feeds: off().feeds.map((feed) => ({
          ...feed,
          readings: feed.readings.map((each) => ({
            ...each,
            atMs: count,
            volts: { kind: "value" as const, volts: 0.002 * sign },
            amps: { kind: "value" as const, amps: 0.004 * sign },
          })),
        })),
      });
    };
    const timer = setInterval(noisy, 50);
    try {
      // The turn to this place is over once its strips are live.
      await rig.page.locator('feed-strip:not([compact]) [data-live="yes"]').last().waitFor();
      await rig.page.evaluate(
        `window.shifts = 0; new PerformanceObserver((list) => { for (const each of list.getEntries()) if (!each.hadRecentInput) window.shifts += each.value; }).observe({ type: "layout-shift", buffered: false });
         window.renders = 0; const page = document.querySelector("bench-page"); const render = page.render.bind(page); page.render = () => { window.renders += 1; return render(); };`,
      );
      count = 0;
      await expect.poll(() => count, { timeout: 60_000, interval: 500 }).toBeGreaterThan(600);
    } finally {
      clearInterval(timer);
    }
    expect(await rig.page.evaluate<number>("window.shifts")).toBe(0);
    // Ages are looked at every 15 s; the figures are not the page's to draw.
    expect(await rig.page.evaluate<number>("window.renders")).toBeLessThan(15);
  });
});
