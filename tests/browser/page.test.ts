import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import type { Browser, Locator } from "playwright-core";
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, test } from "vitest";
import {
  exampleFrame,
  examplePermit,
  examplePreview,
  exampleReading,
  exampleSnapshot,
} from "../wire/example-snapshot.ts";
import { exampleOutcome, exampleVerdict, runningSnapshot, watchedRun } from "./example-run.ts";
import { exampleSweep, liveReading, sweepDone } from "./example-sweep.ts";
import { buildPage, openBrowser, PageRig } from "./page-rig.ts";

let browser: Browser;
let built: Awaited<ReturnType<typeof buildPage>>;
let rig: PageRig;
beforeAll(async () => {
  [browser, built] = await Promise.all([openBrowser(), buildPage()]);
}, 60_000);
afterAll(async () => {
  await browser.close();
  await built.remove();
});
beforeEach(async () => {
  rig = await PageRig.open(browser, built.pageDir);
});
afterEach(() => rig.close());

const FEEDS = ["slot3v3", "slot12", "aux"];
const off = () => ({
  ...exampleFrame(1, {}),
  feeds: FEEDS.map((feed) => ({ feed, output: "off" as const, ageMs: 10, readings: [exampleReading(1, 0.002, 0)] })),
});
const on = () => exampleFrame(8_650, { slot3v3: [3.301, 0.018], slot12: [12.01, 0.352], aux: [12.02, 1.21] });
const card = (feed: string): Locator => rig.page.getByRole("region", { name: `Feed ${feed}` });
const cuts = (): number => rig.facade.asked.filter((each) => each.command.type === "cut").length;
const button = (name: string | RegExp): Locator => rig.page.getByRole("button", { name });
const turnTo = (name: string): Promise<void> => rig.page.getByRole("tab", { name: new RegExp(name) }).click();
const seen = (text: string | RegExp): Promise<void> =>
  rig.page.getByText(text).filter({ visible: true }).first().waitFor();

describe("live figures", () => {
  test("show volts, amps, watts, regulation and output of every feed", async () => {
    await rig.visit();
    const limiting = {
      ...on(),
      feeds: on().feeds.map((feed) =>
        feed.feed === "aux" ? { ...feed, readings: [exampleReading(8_650, 4.1, 3, "cc")] } : feed,
      ),
    };
    await rig.saying(
      () => rig.facade.say(limiting),
      async () => {
        await expect.poll(() => card("aux").innerText()).toMatch(/aux\s+ON\s+4\.100\s*V\s+3\.000\s*A\s+12\.30 W\s+CC/);
        await expect.poll(() => card("slot12").innerText()).toMatch(/ON\s+12\.01\s*V\s+0\.352\s*A\s+4\.23 W\s+CV/);
      },
    );
  });

  test("are marked stale in words as soon as they are not live, with their age, which counts", async () => {
    await rig.visit();
    const live = card("aux").and(rig.page.locator('[data-live="yes"]'));
    await rig.saying(
      () => rig.facade.say(on()),
      () => live.waitFor(),
    );
    const stale = card("aux").locator(".stale");
    await stale.waitFor();
    expect(await card("aux").getAttribute("data-live")).toBe("no");
    const first = await stale.innerText();
    expect(first).toMatch(/^stale (\d+ ms|\d+\.\d s) \(\d\d:\d\d:\d\d\)$/);
    await expect.poll(() => stale.innerText()).not.toBe(first);
    await rig.saying(
      () => rig.facade.say(on()),
      () => live.waitFor(),
    );
    expect(await stale.count()).toBe(0);
  });

  test("of a reading that is no number are words", async () => {
    await rig.visit();
    const over = {
      ...on(),
      feeds: [
        {
          feed: "aux",
          output: "on" as const,
          ageMs: 5,
          readings: [{ ...exampleReading(1, 0, 0), volts: { kind: "overload" as const }, watts: null }],
        },
      ],
    };
    await rig.saying(
      () => rig.facade.say(over),
      async () => {
        await expect.poll(() => card("aux").locator('[data-figure="volts"]').innerText()).toContain("over");
        expect(await card("aux").locator('[data-figure="watts"]').innerText()).toBe("– W");
      },
    );
  });
});

describe("the connection", () => {
  test("that is lost says so, takes outputs as not known, and comes back by itself", async () => {
    await rig.visit();
    await rig.saying(
      () => rig.facade.say(on()),
      () => card("aux").getByText("ON", { exact: true }).waitFor(),
    );
    await rig.wire.close();
    await seen("The daemon does not answer.");
    expect(await card("aux").innerText()).toContain("not known");
    expect(await card("aux").getAttribute("data-live")).toBe("no");
    expect(await button("Energise").count()).toBe(0);
    rig.facade.present = {
      ...exampleSnapshot(),
      board: { name: "Kestrel K2 again", isDefault: false, notes: [], cold: [] },
    };
    await rig.serve();
    await seen("Kestrel K2 again");
    await rig.page.locator('.phase[data-phase="live"]').waitFor();
    expect(await rig.page.getByText("The daemon does not answer.").count()).toBe(0);
  });

  test("to a daemon of another protocol shows a banner and no controls", async () => {
    await rig.page.routeWebSocket(/\/live$/, (socket) => {
      socket.send(JSON.stringify({ type: "hello", protocol: 99, nowMs: 0 }));
    });
    await rig.page.goto(rig.wire.url);
    await seen("different versions");
    expect(await rig.page.locator("start-form:visible").count()).toBe(0);
    expect(await button("Take control").count()).toBe(0);
  });

  test("opened by an address that was used says where to get another; its own cookie opens it again", async () => {
    await rig.visit();
    await rig.page.reload();
    await rig.page.locator('.phase[data-phase="live"]').waitFor();
    expect(rig.page.url()).not.toContain("#");
    await rig.page.context().clearCookies();
    await rig.page.goto("about:blank");
    await rig.page.goto(rig.wire.url);
    await seen("used already or is too old");
  });

  test("of a viewer offers the cut and no control", async () => {
    await rig.visit(rig.wire.newUrl("viewer"));
    await seen("this page watches");
    await button(/^CUT/).click();
    await seen("Cut taken by the bench");
    expect(rig.facade.asked.map((each) => [each.command.type, each.by.role])).toContainEqual(["cut", "viewer"]);
  });
});

describe("an alarm", () => {
  test("stays in words when its sound was silenced, and is not silent for another", async () => {
    await rig.visit();
    const alarm = (supply: string) => ({
      message: `Supply "${supply}" did not confirm off.`,
      output: "unknown" as const,
    });
    rig.facade.say({ type: "alarm", alarm: alarm("psu") });
    await button("I have heard it: silence").click();
    await seen("alarm heard; it is not off yet");
    expect(await rig.page.getByRole("alert").innerText()).toContain('Supply "psu" did not confirm off.');
    rig.facade.say({ type: "alarm", alarm: alarm("second") });
    await button("I have heard it: silence").waitFor();
    rig.facade.say({ type: "alarm", alarm: null });
    await expect.poll(() => rig.page.getByRole("alert").count()).toBe(0);
  });
});

describe("the cut", () => {
  test("is on Escape from anywhere, without control, also out of a text field", async () => {
    await rig.visit();
    await turnTo("Cold");
    await rig.page.getByLabel("Ohms at aux:core").click();
    await rig.page.keyboard.press("Escape");
    await seen("Cut taken by the bench");
    expect(cuts()).toBeGreaterThan(0);
  });

  test("is on the space bar while anything is on, whatever has the focus; otherwise the space bar is a space", async () => {
    await rig.visit();
    await rig.saying(
      () => rig.facade.say(off()),
      () => seen("Nothing is on"),
    );
    await turnTo("Permit");
    const box = rig.page.getByLabel("All returns joined");
    await box.focus();
    await rig.page.keyboard.press("Space");
    expect([await box.isChecked(), cuts()]).toEqual([true, 0]);
    await rig.saying(
      () => rig.facade.say(on()),
      async () => {
        await seen("An output is on, or not known to be off");
        await rig.page.keyboard.press("Space");
        await seen("Cut taken by the bench");
      },
    );
    expect(await box.isChecked()).toBe(true);
  });

  test("held down is sent once by each way", async () => {
    await rig.visit();
    for (let each = 0; each < 20; each++) await rig.page.keyboard.down("Escape");
    await rig.page.keyboard.up("Escape");
    await seen("Cut taken by the bench");
    await expect.poll(cuts).toBe(2);
  });

  test("goes by plain HTTP where the socket takes nothing", async () => {
    await rig.page.routeWebSocket(/\/live$/, (socket) => {
      const server = socket.connectToServer();
      socket.onMessage((message) => {
        if (!String(message).includes('"cut"')) server.send(message);
      });
    });
    await rig.visit();
    await rig.page.keyboard.press("Escape");
    await seen("Cut taken by the bench");
    expect(cuts()).toBe(1);
  });

  test("that reaches nobody says to use the supply's own switch", async () => {
    await rig.visit();
    await rig.wire.close();
    await rig.page.keyboard.press("Escape");
    await seen("The cut did not get through. Switch the supply off by its own switch, now.");
    await rig.serve();
  });

  test("can be moved to the key of a foot switch", async () => {
    await rig.visit();
    await rig.saying(
      () => rig.facade.say(off()),
      async () => {
        await button("Foot key: Space").click();
        await rig.page.keyboard.press("F8");
        await button("Foot key: F8").waitFor();
      },
    );
    expect(cuts()).toBe(0);
    await rig.saying(
      () => rig.facade.say(on()),
      async () => {
        await seen("An output is on, or not known to be off");
        await rig.page.keyboard.press("F8");
        await seen("Cut taken by the bench");
      },
    );
  });

  test("stays in the same place from idle to alarm", async () => {
    await rig.visit();
    const places: string[] = [];
    const note = async () => places.push(JSON.stringify(await button(/^CUT/).boundingBox()));
    await rig.saying(
      () => rig.facade.say(off()),
      () => seen("Nothing is on"),
    );
    await note();
    rig.facade.say({ type: "run-state", run: watchedRun() });
    await seen("End in order");
    await note();
    rig.facade.say({ type: "alarm", alarm: { message: 'Supply "psu" did not confirm off.', output: "unknown" } });
    await seen("did not confirm off");
    await note();
    expect(new Set(places).size).toBe(1);
  });
});

describe("a start", () => {
  const open = () => examplePreview();
  const prepare = async (preview = open()): Promise<void> => {
    rig.facade.reply = async (command) =>
      command.type === "preview" ? { result: "preview", preview } : { result: "started", run: "run-1" };
    await rig.visit();
    await turnTo("Cold");
    await rig.page.getByLabel("Ohms at aux", { exact: true }).fill("12.4k");
    await button("On to the permit").click();
    await button("Take control").last().click();
    await seen("In control");
    await seen("Cold readings typed in: aux 12.4 kΩ.");
    await rig.page.getByLabel("Host").selectOption("none");
    await rig.page.getByLabel("Polarity checked with a meter at the card end").check();
    await button("Check the permit").click();
    await seen("What will be energised");
  };

  test("asks for permit, reason and cautions, names feed, volts and limit, and sends what was shown", async () => {
    await prepare();
    const energise = button(/^Energise/);
    expect(await energise.innerText()).toBe(
      "Energise slot3v3 3.3 V, limit 0.5 A; slot12 12 V, limit 1 A; aux 12 V, limit 3 A",
    );
    await seen("Keep the supply's own switch in reach");
    await seen("2 of the permit's conditions are open.");
    expect(await energise.isDisabled()).toBe(true);
    for (const box of await rig.page.getByRole("checkbox", { name: /go on without it/ }).all()) await box.check();
    await seen("A waiver needs its reason.");
    await rig.page.getByLabel("Why it is right to go on without them").fill("no core pad in reach; keyed plug");
    await seen("The cautions are not confirmed.");
    expect(await energise.isDisabled()).toBe(true);
    await rig.page.getByLabel("I have read these, and they are met").check();
    await energise.click();
    const start = await rig.facade.asks("start-run");
    expect(start).toMatchObject({
      cautionsRead: true,
      confirmed: [
        { feed: "slot3v3", volts: 3.3, limitAmps: 0.5 },
        { feed: "slot12", volts: 12, limitAmps: 1 },
        { feed: "aux", volts: 12, limitAmps: 3 },
      ],
      request: {
        coldOhms: { aux: 12_400 },
        conditions: { host: "none", fans: "unknown", polarityChecked: true, commonReturn: null },
        waiver: { reason: "no core pad in reach; keyed plug", items: ["cold:aux:core", "polarity"] },
      },
    });
    expect(rig.facade.asked.at(-1)?.by.role).toBe("operator");
  });

  test("is not to be had where a reading says never to power, whatever is ticked", async () => {
    const permit = examplePermit();
    permit.items = [{ ...permit.items[2]!, state: "measured-bad", evidence: "41 Ω" }];
    await prepare(examplePreview(permit));
    await seen("measured bad: never power");
    await rig.page.getByLabel("I have read these, and they are met").check();
    await seen("A reading says never to power this board.");
    expect(await rig.page.getByRole("checkbox", { name: /go on without it/ }).count()).toBe(0);
    expect(await button(/^Energise/).isDisabled()).toBe(true);
  });

  test("that the bench refuses shows the bench's sentence, and the facts are still there", async () => {
    await prepare(examplePreview({ granted: true, items: [], refusedBecause: [] }));
    rig.facade.reply = async () => ({
      result: "refused",
      code: "changed",
      because: "The plan's limit for aux is 2 A, not 3 A; nothing was energised",
    });
    await rig.page.getByLabel("I have read these, and they are met").check();
    await button(/^Energise/).click();
    await seen("nothing was energised");
    await button("Back to the facts").click();
    expect(await rig.page.getByLabel("Polarity checked with a meter at the card end").isChecked()).toBe(true);
    await turnTo("Cold");
    expect(await rig.page.getByLabel("Ohms at aux", { exact: true }).inputValue()).toBe("12.4k");
  });

  test("needs control: without it nothing can be energised", async () => {
    rig.facade.reply = async () => ({
      result: "preview",
      preview: examplePreview({ granted: true, items: [], refusedBecause: [] }),
    });
    await rig.visit();
    await turnTo("Permit");
    await button("Check the permit").click();
    await rig.page.getByLabel("I have read these, and they are met").check();
    await seen("This page is not in control.");
    expect(await button(/^Energise/).isDisabled()).toBe(true);
  });

  test("can be done with the keyboard alone", async () => {
    rig.facade.reply = async (command) =>
      command.type === "preview"
        ? { result: "preview", preview: examplePreview({ granted: true, items: [], refusedBecause: [] }) }
        : { result: "started", run: "run-1" };
    await rig.visit();
    await rig.saying(
      () => rig.facade.say(off()),
      async () => {
        await seen("Nothing is on");
        const tabTo = async (wanted: Locator): Promise<void> => {
          for (let each = 0; each < 60; each++) {
            if (await wanted.evaluate((element) => element.matches(":focus"))) return;
            await rig.page.keyboard.press("Tab");
          }
          throw new Error("the Tab key does not lead there");
        };
        await tabTo(button("Take control").first());
        await rig.page.keyboard.press("Enter");
        await seen("In control");
        await tabTo(rig.page.getByRole("tab", { name: /Intake/ }));
        await rig.page.keyboard.press("ArrowRight");
        await rig.page.keyboard.press("ArrowRight");
        await tabTo(button("Check the permit"));
        await rig.page.keyboard.press("Enter");
        await seen("What will be energised");
        await tabTo(rig.page.getByLabel("I have read these, and they are met"));
        await rig.page.keyboard.press("Space");
        await tabTo(button(/^Energise/));
        await rig.page.keyboard.press("Enter");
        expect((await rig.facade.asks("start-run")).cautionsRead).toBe(true);
      },
    );
    expect(cuts()).toBe(0);
  });

  test("typed with a cold reading that is none is told where", async () => {
    await rig.visit();
    await turnTo("Cold");
    await rig.page.getByLabel("Ohms at core", { exact: true }).fill("twelve");
    await seen('"twelve" at core is no reading');
    await rig.page.getByLabel("Ohms at core", { exact: true }).fill("0.35");
    await rig.page.getByLabel("Other points, one a line").fill("aux = twelve");
    await button("On to the permit").click();
    await button("Check the permit").click();
    await seen('"aux = twelve" is no cold reading');
    expect(rig.facade.asked).toEqual([]);
  });
});

describe("a run", () => {
  test("shows where it is, what it waits for, and its limits with each feed", async () => {
    rig.facade.present = runningSnapshot();
    await rig.visit();
    await seen("Watch aux: five periods of the slowest pattern");
    await seen("12 V set, 3 A limit, 13.2 V most");
    expect(await rig.page.locator('stage-ribbon li[aria-current="step"]').innerText()).toMatch(/Watch\s+now: 3 feeds/);
    expect(await rig.page.locator('stage-ribbon li[data-state="clean"]').count()).toBe(4);
    await button("End in order").click();
    expect((await rig.facade.asks("stop")).type).toBe("stop");
  });

  test("draws its limits against the trace: the chart's pixels hold the colour of each", async () => {
    rig.facade.present = runningSnapshot();
    await rig.visit();
    await rig.page.locator("run-trace canvas").first().waitFor();
    const count = (rgb: string) =>
      `(() => { const canvas = document.querySelector("bench-page").shadowRoot.querySelector("run-trace").shadowRoot.querySelector("#amps canvas");
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
    rig.facade.say({ type: "verdict", verdict: { run: "run-1", job: null, verdict: exampleVerdict(), next: [] } });
    const verdict = rig.page.getByRole("region", { name: "Verdict" });
    await verdict.waitFor();
    const text = await verdict.innerText();
    for (const part of ["Standby only", "Output confirmed off.", "The draw settled at 46 mA", "retrying", "5 %"])
      expect(text).toContain(part);
    expect(await verdict.innerText()).toMatch(
      /steady current\s+46 mA ± 2 mA[\s\S]+input capacitance\s+1\.17 mF ± 100 µF\s+resistance\s+cannot be known/,
    );
    await seen("Check that every feed the board needs was on.");
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

describe("the page as a whole", () => {
  test("asks nobody but its daemon, and breaks none of its content policy, from opening to verdict", async () => {
    rig.facade.reply = async (command) =>
      command.type === "preview" ? { result: "preview", preview: examplePreview() } : { result: "done" };
    await rig.visit();
    await turnTo("Permit");
    await button("Check the permit").click();
    await seen("What will be energised");
    rig.facade.say({ type: "run-state", run: watchedRun() });
    await rig.saying(
      () => rig.facade.say(on()),
      () => seen("End in order"),
    );
    rig.facade.say({ type: "verdict", verdict: { run: "run-1", job: null, verdict: exampleVerdict(), next: [] } });
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
      board: { name: hostile, isDefault: false, notes: [], cold: [] },
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
    for (const step of ["Cold", "Permit", "Verdict", "Repair", "Again", "Report"]) {
      await turnTo(step);
      expect(await rig.page.evaluate<number>("document.documentElement.scrollWidth"), step).toBeLessThanOrEqual(320);
    }
  });

  test("has no violation of WCAG 2.2 AA that axe-core can see, light and dark, in every state", async () => {
    const axe = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
    const clean = async (state: string): Promise<void> => {
      await rig.page.evaluate(axe);
      for (const colorScheme of ["light", "dark"] as const) {
        await rig.page.emulateMedia({ colorScheme });
        const violations = await rig.page.evaluate<string[]>(
          `axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"] }).then((found) =>
            found.violations.flatMap((each) => each.nodes.map((node) => each.id + " " + node.target.flat().join(" ") + " " + node.failureSummary)))`,
        );
        expect(violations, `${state}, ${colorScheme}`).toEqual([]);
      }
    };
    rig.facade.reply = async (command) =>
      command.type === "preview" ? { result: "preview", preview: examplePreview() } : { result: "done" };
    await rig.visit();
    await seen("no reading yet");
    await clean("intake");
    await turnTo("Permit");
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
    rig.facade.say({ type: "sweep-line", sweep: "sweep-1", line: liveReading("1v8", 1.803) });
    await clean("a powered sweep with a question");
    rig.facade.say({ type: "sweep-line", sweep: "sweep-1", line: sweepDone() });
    await seen("Measure the enable pin of the 3v3 converter.");
    await clean("diagnosis");
    await turnTo("Power-up");
    await rig.saying(
      () => rig.facade.say(on()),
      async () => {
        await card("aux").and(rig.page.locator('[data-live="yes"]')).waitFor();
        await clean("running");
      },
    );
    for (const step of ["Cold", "Repair"]) {
      await turnTo(step);
      await clean(step);
    }
    await turnTo("Again");
    await button("Compare").click();
    await seen("more than the meters' error");
    await clean("comparison");
    await turnTo("Report");
    await rig.page.locator("record-view summary").first().click();
    await rig.page.locator("stored-run canvas").first().waitFor();
    await rig.page.getByText("Note or photograph").click();
    await clean("report");
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
      outcome: exampleOutcome({ ended: "failed", output: "unknown", trip }),
    });
    rig.facade.say({ type: "verdict", verdict: { run: "run-1", job: null, verdict: exampleVerdict(), next: [] } });
    await seen("Standby only");
    await clean("alarm and verdict");
    await rig.wire.close();
    await seen("The daemon does not answer.");
    await clean("lost");
    await rig.serve();
  });
});

describe("a sweep", () => {
  const begin = async (): Promise<void> => {
    rig.facade.present = { ...runningSnapshot(), sweep: exampleSweep() };
    await rig.visit();
    await button("Take control").first().click();
    await seen("In control");
  };

  test("names the rail and its point, shows a reading only while it is live, and lists what was taken with its uncertainty", async () => {
    await begin();
    await seen("the capacitor C812 beside the memory");
    await seen("no live reading");
    await rig.saying(
      () => rig.facade.say({ type: "sweep-line", sweep: "sweep-1", line: liveReading("1v8", 1.803) }),
      () => seen("1.803 V"),
    );
    await seen("no live reading");
    const rails = rig.page.locator("sweep-view rail-list ul");
    expect(await rails.innerText()).toMatch(/3v3 fail[\s\S]*0\.420 V ± 4 mV[\s\S]*5v pass[\s\S]*5\.020 V ± 4 mV/);
  });

  test("is steered by keys that name the rail they are meant for; Space still cuts, and a typed value is a value", async () => {
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
    await rig.page.keyboard.press("Space");
    await seen("Cut taken by the bench");
  });

  test("that is over turns the page to its diagnosis, with the next measurement and why", async () => {
    await begin();
    rig.facade.say({ type: "sweep-line", sweep: "sweep-1", line: sweepDone() });
    const next = rig.page.getByRole("region", { name: "Measure next" });
    await next.waitFor();
    expect(await next.innerText()).toContain("It tells a converter that is not told to start from one that cannot.");
    await seen(/3v3 not enabled: 81 %/);
  });

  test("cold begins from its step and energises nothing", async () => {
    await rig.visit();
    await turnTo("Sweep");
    await rig.page.locator("sweep-view").getByRole("button", { name: "Take control" }).click();
    await button("Cold sweep: ohms, nothing energised").click();
    expect(await rig.facade.asks("start-sweep")).toMatchObject({ powered: null });
  });
});
