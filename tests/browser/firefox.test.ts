import { existsSync } from "node:fs";
import { delimiter, join } from "node:path";
import puppeteer, { type Browser, type ElementHandle, type Page } from "puppeteer-core";
import { afterAll, afterEach, beforeAll, expect, test, vi } from "vitest";
import { isOn, type PoweredBench, poweredBench, timesOn } from "../command/powered-bench.ts";
import { endPrograms } from "../command/run-program.ts";
import { serveProgram } from "../command/served-bench.ts";

vi.setConfig({ testTimeout: 90_000, hookTimeout: 60_000 });

/** Firefox as the system has it: driven by WebDriver BiDi, since it is no browser of the driver's own making. */
function firefoxPath(): string {
  const folders = (process.env["PATH"] ?? "").split(delimiter);
  const found = ["firefox-esr", "firefox"]
    .flatMap((name) => folders.map((folder) => join(folder, name)))
    .find(existsSync);
  if (found === undefined) throw new Error("there is no Firefox on the path; npm test installs it where it can");
  return process.env["FIREFOX"] ?? found;
}

let browser: Browser;
let bench: PoweredBench | null = null;
beforeAll(async () => {
  browser = await puppeteer.launch({ browser: "firefox", executablePath: firefoxPath(), headless: true });
});
afterEach(async () => {
  await endPrograms();
  await bench?.close();
});
afterAll(() => browser.close());

/** What is shown with these words, looked for through the shadow of every part: a button by all of its text, else an element by its own. */
const FIND = `(selector, wanted) => {
  const own = (each) => [...each.childNodes].filter((node) => node.nodeType === 3).map((node) => node.data).join("");
  const within = (root) => {
    for (const each of root.querySelectorAll("*")) {
      const text = selector === "*" ? own(each) : each.textContent;
      if (each.matches(selector) && text.includes(wanted) && each.checkVisibility()) return each;
      const deeper = each.shadowRoot === null ? null : within(each.shadowRoot);
      if (deeper !== null) return deeper;
    }
    return null;
  };
  return within(document);
}`;

/** Waits until an element is where it was 100 ms before: a person too waits until a page is drawn. */
async function standsStill(element: ElementHandle): Promise<void> {
  for (let before = ""; ; ) {
    const now = JSON.stringify(await element.boundingBox());
    if (now === before) return;
    before = now;
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
}

/** An action whose error says which it was. */
const named = <T>(what: string, action: Promise<T>): Promise<T> =>
  action.catch((cause: unknown) => {
    throw new Error(`${what}: ${String(cause)}`, { cause });
  });

/** The hands and eyes of a person on a page; the test's own time limit ends a wait in vain. */
function handsOn(page: Page) {
  const find = async (selector: string, wanted: string): Promise<ElementHandle> => {
    let found: ElementHandle | null = null;
    const look = `(${FIND})(${JSON.stringify(selector)}, ${JSON.stringify(wanted)})`;
    await expect
      .poll(
        async () => {
          found = (await page.evaluateHandle(look)).asElement() as ElementHandle | null;
          return found !== null;
        },
        { timeout: 40_000, interval: 100, message: wanted },
      )
      .toBe(true);
    return found as unknown as ElementHandle;
  };
  return {
    press: async (text: string) => (await find("button", text)).click(),
    turnTo: async (place: string) => {
      const tab = await find('[role="tab"]', place);
      await standsStill(tab);
      await tab.click();
      await expect
        .poll(() => tab.evaluate((each) => each.getAttribute("aria-selected")), { timeout: 20_000, message: place })
        .toBe("true");
    },
    fill: (view: string, field: string, text: string) =>
      named(`filling ${field} of ${view}`, page.locator(`>>> ${view} >>> ${field}`).fill(text)),
    tick: (view: string, field: string) =>
      named(`ticking ${field} of ${view}`, page.locator(`>>> ${view} >>> ${field}`).click()),
    seen: (text: string) => find("*", text),
  };
}

// A machine too busy for this run in real time gets another go: its own watchdogs cut what it cannot watch.
test("in Firefox a job goes from control by cold readings and permit to a power-up that is held, judged, and cut by the key", {
  retry: 1,
}, async () => {
  bench = await poweredBench({ scenario: "single-feed", typesColdOhms: false });
  const { path } = bench.folder;
  const served = await serveProgram(["--bench", `${path}/bench.json`, "--board", `${path}/board.json`], `${path}/data`);
  const page = await named("a new window", browser.newPage());
  const wrong: string[] = [];
  page.on("pageerror", (error) => wrong.push(String(error)));
  // Tall enough for nothing to lie under what stays at the lower edge: a click goes where it is aimed at.
  await page.setViewport({ width: 1280, height: 2400 });
  // Not waited for: the page takes its code out of its address, and the end of a load that this falls into is at times not told.
  page.goto(served.url).catch(() => undefined);
  const { press, turnTo, fill, tick, seen } = handsOn(page);

  await press("Take control");
  await seen("In control");
  await fill("intake-view", 'input[name="title"]', "Wren W1, dead");
  await press("Open the job");
  await seen("Wren W1, dead");
  await turnTo("Cold");
  await fill("cold-view", 'input[name="at:in12"]', "9k8");
  await press("File these readings");
  await seen("9.8 kΩ");

  await turnTo("Power");
  await fill("start-form", 'select[name="cooler"]', "cooler");
  await fill("start-form", 'input[name="watch"]', "6");
  await tick("start-form", 'input[name="keepOn"]');
  await press("Check the permit");
  await seen("What will be energised");
  for (const box of await page.$$(">>> permit-list >>> input")) await box.click();
  await fill("start-form", 'input[maxlength="500"]', "a simulated board on a simulated bench");
  await tick("start-form", ".cautions input");
  expect(timesOn(bench.simulation)).toBe(0);
  await press("Energise");
  await seen("Normal draw");
  expect(isOn(bench.simulation)).toBe(true);
  await page.keyboard.press("Escape");
  await seen("Nothing is on");
  expect(isOn(bench.simulation)).toBe(false);
  expect(wrong).toEqual([]);
  await page.close();
});
