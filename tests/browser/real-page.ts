import type { Browser, Locator, Page } from "playwright-core";
import { afterAll, afterEach, beforeAll } from "vitest";
import { type PoweredBench, poweredBench } from "../command/powered-bench.ts";
import { endPrograms } from "../command/run-program.ts";
import { type Served, serveProgram } from "../command/served-bench.ts";
import { openBrowser } from "./page-rig.ts";

let browser: Browser;
/** The page of the test that runs. */
export let page: Page;
const benches: PoweredBench[] = [];

/** To be called at the head of a file: a browser for the file, and an end to every program and bench of a test. */
export function realPages(): void {
  beforeAll(async () => {
    browser = await openBrowser();
  });
  afterEach(async () => {
    await page.close();
    await endPrograms();
    for (const each of benches.splice(0)) await each.close();
  });
  afterAll(() => browser.close());
}

/** A simulated bench that is closed with the test. */
export async function simulated(scenario: string): Promise<PoweredBench> {
  const bench = await poweredBench({ scenario, typesColdOhms: false });
  benches.push(bench);
  return bench;
}

/** The program's daemon on that bench, with a record of its own or another's. */
export const serve = ({ folder }: PoweredBench, data: string = `${folder.path}/data`): Promise<Served> =>
  serveProgram(["--bench", `${folder.path}/bench.json`, "--board", `${folder.path}/board.json`], data);

/** Opens the address that the daemon printed, as a person does; behind it what the page's own address has behind its mark. */
export async function openAt(url: string): Promise<void> {
  page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
  page.setDefaultTimeout(30_000);
  await page.goto(url);
  await page.locator('.phase[data-phase="live"]').waitFor();
}

export const button = (name: string | RegExp): Locator => page.getByRole("button", { name });
export const seen = (text: string | RegExp): Promise<void> =>
  page.getByText(text).filter({ visible: true }).first().waitFor();
export const turnTo = (name: string): Promise<void> => page.getByRole("tab", { name: new RegExp(`^${name}`) }).click();

/** The switchings of all outputs, by the simulator's own account. */
export const outputs = (bench: PoweredBench): string[] =>
  Object.values(bench.simulation.truth().feeds).flatMap((feed) => feed.switchings.map((each) => each.output));

/** From the facts to the point where only the energising itself is left. */
export async function confirmPermit(): Promise<void> {
  const control = button("Take control");
  if ((await control.count()) > 0) await control.last().click();
  await seen("In control");
  await button("Check the permit").click();
  await seen("What will be energised");
  const open = await page.getByRole("checkbox", { name: /go on without it/ }).all();
  for (const box of open) await box.check();
  if (open.length > 0)
    await page.getByLabel(/Reason for going on without/).fill("a simulated board on a simulated bench");
  await page.getByLabel("I have read these, and they are met").check();
}
