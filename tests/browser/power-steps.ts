import type { PoweredBench } from "../command/powered-bench.ts";
import { button, confirmPermit, page, seen, turnTo } from "./real-page.ts";

/** Types what a technician's meter reads with everything off, and files it. */
export async function coldReadings({ simulation }: PoweredBench): Promise<void> {
  await turnTo("Cold");
  for (const [point, ohms] of Object.entries(simulation.coldOhms)) {
    const field = page.getByLabel(`Ohms at ${point}`, { exact: true });
    if ((await field.count()) > 0) await field.fill(String(ohms));
  }
  await button("File these readings").click();
  await seen("Filed.");
}

/** Ticks what is stated of the board, says what is around it, and has the permit asked and confirmed. */
export async function facts(host: string): Promise<void> {
  await turnTo("Power");
  for (const box of await page.locator("start-form fieldset").first().getByRole("checkbox").all()) await box.check();
  const around = { host, fans: "off", cooler: "cooler" };
  for (const [name, value] of Object.entries(around))
    await page.locator(`start-form select[name="${name}"]`).selectOption(value);
  await page.locator('start-form input[name="watch"]').fill("5");
  await confirmPermit();
}
