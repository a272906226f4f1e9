import { fileURLToPath } from "node:url";
import type { Browser, Locator } from "playwright-core";
import { afterAll, afterEach, beforeAll, beforeEach } from "vitest";
import { exampleFrame, exampleReading } from "../wire/example-snapshot.ts";
import { openBrowser, PageRig } from "./page-rig.ts";

/** As it is built for people; `npm test` sees to it that it is of today. */
const PAGE_DIR = fileURLToPath(new URL("../../dist/web", import.meta.url));

let browser: Browser;
/** The page of the test that runs. */
export let rig: PageRig;

/** To be called at the head of a file: a browser for the file, a page of its own for each test. */
export function openPages(options: { phone?: boolean } = {}): void {
  beforeAll(async () => {
    browser = await openBrowser();
  }, 60_000);
  afterAll(() => browser.close());
  beforeEach(async () => {
    rig = await PageRig.open(browser, PAGE_DIR, options);
  });
  afterEach(() => rig.close());
}

const FEEDS = ["slot3v3", "slot12", "aux"];
export const off = () => ({
  ...exampleFrame(1, {}),
  feeds: FEEDS.map((feed) => ({ feed, output: "off" as const, ageMs: 10, readings: [exampleReading(1, 0.002, 0)] })),
});
export const on = () => exampleFrame(8_650, { slot3v3: [3.301, 0.018], slot12: [12.01, 0.352], aux: [12.02, 1.21] });
export const card = (feed: string): Locator => rig.page.getByRole("region", { name: `Feed ${feed}` });
export const cuts = (): number => rig.facade.asked.filter((each) => each.command.type === "cut").length;
export const button = (name: string | RegExp): Locator => rig.page.getByRole("button", { name });
export const turnTo = (name: string): Promise<void> =>
  rig.page.getByRole("tab", { name: new RegExp(`^${name}`) }).click();
export const seen = (text: string | RegExp): Promise<void> =>
  rig.page.getByText(text).filter({ visible: true }).first().waitFor();
