import type { Browser, Locator, Page } from "playwright-core";
import { afterAll, beforeAll, expect, test, vi } from "vitest";
import { type PoweredBench, poweredBench } from "../command/powered-bench.ts";
import { endPrograms } from "../command/run-program.ts";
import { type Served, serveProgram } from "../command/served-bench.ts";
import { openBrowser } from "./page-rig.ts";

vi.setConfig({ testTimeout: 90_000 });

let browser: Browser;
let bench: PoweredBench;
let served: Served;
let page: Page;
beforeAll(async () => {
  [browser, bench] = await Promise.all([openBrowser(), poweredBench({ scenario: "dead-short", typesColdOhms: false })]);
  const { path } = bench.folder;
  served = await serveProgram(["--bench", `${path}/bench.json`, "--board", `${path}/board.json`], `${path}/data`);
  page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
});
afterAll(async () => {
  await browser.close();
  await endPrograms();
  await bench.close();
});

const button = (name: string | RegExp): Locator => page.getByRole("button", { name });
const seen = (text: string | RegExp): Promise<void> => page.getByText(text).filter({ visible: true }).first().waitFor();
const turnTo = (name: string): Promise<void> => page.getByRole("tab", { name: new RegExp(name) }).click();

test("a job goes from intake to report on the page alone: permit, a shorted board cut in its touch, note, photograph, repair", async () => {
  await page.goto(served.url);
  await page.getByLabel("Title").fill("Kestrel K2, dead");
  await page.getByLabel("Symptom").fill("no picture");
  await button("Open the job").click();
  await seen("Symptom: no picture");

  await turnTo("Cold");
  await page.getByLabel("Ohms at core", { exact: true }).fill("0.35");
  await button("File these readings").click();
  await seen("350 mΩ");
  await button("On to the permit").click();
  await button("Take control").last().click();
  await seen("In control");
  await button("Check the permit").click();
  await seen("What will be energised");
  for (const box of await page.getByRole("checkbox", { name: /go on without it/ }).all()) await box.check();
  await page.getByLabel(/Why it is right to go on without/).fill("a simulated board on a simulated bench");
  await page.getByLabel("I have read these, and they are met").check();
  await button(/^Energise/).click();

  const verdict = page.getByRole("region", { name: "Verdict" });
  await verdict.getByRole("heading", { name: "Dead short" }).waitFor();
  expect(await verdict.innerText()).toContain("Output confirmed off.");
  const switchedOn = Object.values(bench.simulation.truth().feeds).flatMap((feed) => feed.switchings);
  expect([switchedOn[0]?.output, switchedOn.at(-1)?.output]).toEqual(["on", "off"]);

  await page.getByText("Note or photograph").click();
  await page.getByLabel("Note", { exact: true }).fill("Q12 is burnt");
  // The smallest PNG head (PNG specification, 5.2 and 11.2.2).
  const photograph = Buffer.from("89504e470d0a1a0a0000000d49484452", "hex");
  await page
    .getByLabel("Photograph or file")
    .setInputFiles({ name: "q12.png", mimeType: "image/png", buffer: photograph });
  await button("File with the job").click();
  await seen("Filed.");
  await turnTo("Repair");
  await page.getByLabel("Repair, in your words").fill("Q12 replaced");
  await button("File the repair").click();
  await seen("Take the cold readings again");

  await turnTo("Report");
  await page.locator("record-view summary").first().click();
  await page.locator("stored-run canvas").first().waitFor();
  const log = page.getByRole("region", { name: "Log of the job" });
  for (const filed of ["Q12 is burnt", "q12.png", "Q12 replaced"])
    await log.getByText(filed, { exact: false }).first().waitFor();
  await button("Make the report").click();
  const saving = page.waitForEvent("download");
  await page.getByRole("link", { name: /^Save report-/ }).click();
  expect((await saving).suggestedFilename()).toMatch(/^report-[0-9a-f]{8}\.html$/);
});
