import { expect, test, vi } from "vitest";
import type { PoweredBench } from "../command/powered-bench.ts";
import {
  button,
  confirmPermit,
  openAt,
  outputs,
  page,
  realPages,
  seen,
  serve,
  simulated,
  turnTo,
} from "./real-page.ts";

vi.setConfig({ testTimeout: 90_000 });
realPages();

/** The program's daemon on a simulated bench, and its page opened as a person opens it. */
async function openPage(scenario: string): Promise<PoweredBench> {
  const bench = await simulated(scenario);
  await openAt((await serve(bench)).url);
  return bench;
}

test("a job goes from intake to report on the page alone: permit, a shorted board cut in its touch, note, photograph, repair", async () => {
  const bench = await openPage("dead-short");
  await page.getByLabel("Title").fill("Kestrel K2, dead");
  await page.getByLabel("Symptom").fill("no picture");
  await button("Open the job").click();
  await seen("Symptom: no picture");

  await turnTo("Cold");
  await page.getByLabel("Ohms at core", { exact: true }).fill("0.35");
  await button("File these readings").click();
  await seen("0.35 Ω");
  await button("Go on to the permit").click();
  await confirmPermit();
  await button(/^Energise/).click();

  const verdict = page.getByRole("region", { name: "Verdict" });
  await verdict.getByRole("heading", { name: "Dead short" }).waitFor();
  expect(await verdict.innerText()).toContain("Output confirmed off.");
  expect([outputs(bench)[0], outputs(bench).at(-1)]).toEqual(["on", "off"]);

  await page.getByText("Note or photograph").click();
  await page.getByLabel("Note", { exact: true }).fill("Q12 is burnt");
  // The smallest PNG head (PNG specification, 5.2 and 11.2.2).
  const photograph = Buffer.from("89504e470d0a1a0a0000000d49484452", "hex");
  await page
    .getByLabel("Photograph or file")
    .setInputFiles({ name: "q12.png", mimeType: "image/png", buffer: photograph });
  await button("File with the job").click();
  await seen("Filed.");
  await turnTo("Work");
  await page.getByLabel("Repair, in your words").fill("Q12 replaced");
  await button("File the repair").click();
  await seen("Take the cold readings again");

  await turnTo("Board");
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

// A machine too busy for this run in real time gets another go: its own watchdogs cut what it cannot watch.
test("a powered sweep is walked from the page: named, touched, taken, skipped by a key, stopped, diagnosed, and off", {
  retry: 1,
}, async () => {
  const bench = await openPage("single-feed");
  await turnTo("Power");
  await page.locator("start-form").getByLabel("Cooler").selectOption("cooler");
  await confirmPermit();
  await button("The same, then sweep the rails while it is on").click();

  const named = page.locator("probe-view [data-rail]");
  const taken = page.locator("probe-view rail-list li");
  await named.waitFor({ timeout: 30_000 });
  const rail = await named.getAttribute("data-rail");
  bench.simulation.probe(rail);
  await expect.poll(() => taken.count(), { timeout: 20_000 }).toBe(1);
  bench.simulation.probe(null);
  await page.locator(`probe-view [data-rail]:not([data-rail="${rail}"])`).waitFor({ timeout: 20_000 });
  expect(await taken.first().innerText()).toMatch(/pass[\s\S]*V ± /);
  await page.keyboard.press("ArrowRight");
  await taken.filter({ hasText: "not measured" }).waitFor();
  await button("Stop the sweep").click();
  await page.getByRole("region", { name: "Measure next" }).waitFor({ timeout: 30_000 });
  expect(outputs(bench).at(-1)).toBe("off");
  await turnTo("Board");
  await page.getByRole("region", { name: "Log of the job" }).getByText("sweep ended").waitFor();
});
