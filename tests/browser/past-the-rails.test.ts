import { readFile } from "node:fs/promises";
import type { Locator } from "playwright-core";
import { expect, test, vi } from "vitest";
import type { PoweredBench } from "../command/powered-bench.ts";
import { runProgram } from "../command/run-program.ts";
import { CARD, PORT, portConfig, SysfsTree } from "../host/sysfs-tree.ts";
import { dropped } from "./drop-file.ts";
import { coldReadings, facts } from "./power-steps.ts";
import { button, openAt, outputs, page, realPages, seen, serve, simulated, turnTo } from "./real-page.ts";

vi.setConfig({ testTimeout: 240_000 });
realPages();

const PORT_ADDRESS = "0000:00:01.0";
const CARD_ADDRESS = "0000:01:00.0";
const region = (name: string) => page.getByRole("region", { name });

/** Looked at by eyes where PICTURES names a folder; nothing is tested by it. */
async function picture(name: string): Promise<void> {
  const folder = process.env["PICTURES"];
  if (folder !== undefined) await page.screenshot({ path: `${folder}/${name}.png`, fullPage: true });
}

/** A part of the page, however far it has to be scrolled to. */
async function partPicture(name: string, part: Locator): Promise<void> {
  const folder = process.env["PICTURES"];
  if (folder === undefined) return;
  await part.first().scrollIntoViewIfNeeded();
  await page.screenshot({ path: `${folder}/${name}.png` });
}

/** A hand that goes where the page says until the sweep is over; on a point at which nothing is felt it presses Enter. */
async function followSweep({ simulation }: PoweredBench): Promise<string[]> {
  const named = page.locator("probe-view [data-rail]");
  const over = page.getByRole("heading", { name: /^Last sweep/ });
  const visited: string[] = [];
  for (;;) {
    await named.or(over).first().waitFor({ timeout: 60_000 });
    const rail = (await named.count()) === 0 ? null : await named.first().getAttribute("data-rail");
    if (rail === null) return visited;
    visited.push(rail);
    simulation.probe(rail);
    const isThere = page.locator(`probe-view [data-rail="${rail}"]`);
    const feelsNothing = page.getByText("No contact seen.");
    await expect
      .poll(async () => (await isThere.count()) === 0 || (await feelsNothing.count()) > 0, { timeout: 30_000 })
      .toBe(true);
    if ((await isThere.count()) > 0) await page.keyboard.press("Enter");
    await isThere.waitFor({ state: "detached" });
    simulation.probe(null);
  }
}

// A machine too busy for this run in real time gets another go: its own watchdogs cut what it cannot watch.
test("a board with all rails good and a dead reset buffer, on the page alone: from intake to the host's word after the repair", {
  retry: 1,
}, async () => {
  const bench = await simulated("reset-buffer");
  const tree = new SysfsTree();
  tree.add(PORT_ADDRESS, PORT, "pcieport");
  tree.bytes(PORT_ADDRESS, "config", portConfig({ present: true, active: false }));
  const look = async (): Promise<string> => (await runProgram(["host-look", "--sysfs", tree.root])).out;
  try {
    const served = await serve(bench);
    await openAt(served.url);
    await page.getByLabel("Title").fill("Kestrel K2, not seen by any host");
    await page.getByLabel("Symptom").fill("fans turn, no picture");
    await button("Open the job").click();
    await seen("Symptom: fans turn, no picture");
    await coldReadings(bench);

    await facts("none");
    await button(/^Energise/).click();
    await region("Verdict").getByRole("heading", { name: "Core up, not running" }).waitFor({ timeout: 60_000 });
    expect(outputs(bench).at(-1)).toBe("off");

    // The host's own word: dropped on the page wherever one is, with the port it is behind.
    await turnTo("Probe");
    const host = region("At the test host");
    await host.getByLabel(/^Port the board is in/).fill("00:01.0");
    await dropped("before.json", await look());
    await host.getByText("not listed by the host: it has no link").first().waitFor();
    await region("Measure next").waitFor();
    await picture("host-word");

    // Legs that should read alike do: the lanes are not it, and nothing is energised for that.
    const before = outputs(bench).length;
    await page.getByLabel("Group").selectOption("lanes-rx");
    await button("Sweep this group").click();
    await followSweep(bench);
    await page.getByRole("heading", { name: "lanes-rx: all read alike" }).waitFor();
    expect(await region("Group lanes-rx").getByRole("row").count()).toBe(9);
    expect(outputs(bench)).toHaveLength(before);
    await partPicture("group", page.locator("alike-card"));

    await facts("pulled-up");
    await page.getByLabel(/^In that sweep, also the current of/).check();
    await button("The same, then sweep the rails while it is on").click();
    const visited = await followSweep(bench);
    expect(visited).toEqual(expect.arrayContaining(["5v", "core", "mem", "reset", "r2"]));
    // The sweep is over a moment before the run that held the board on for it.
    await seen("Nothing is on");
    expect(outputs(bench).at(-1)).toBe("off");
    await picture("swept");
    await partPicture("amps", page.locator("alike-card"));
    const amps = region("Current of each rail").getByRole("row", { name: /^core/ });
    expect(await amps.innerText()).toMatch(/A ± .* A/);
    // All rails are good; the buffer is named, and what to do next is said.
    const first = region("Likely faults").locator("li").first();
    const percent = async (): Promise<number> => Number(/^reset\D*(\d+) %/.exec(await first.innerText())?.[1] ?? 0);
    // Weighed anew once the sweep is filed.
    await expect.poll(percent, { timeout: 30_000 }).toBeGreaterThan(60);

    await turnTo("Work");
    await page.getByLabel("Repair, in your words").fill("Reset buffer U9 replaced");
    await page.getByLabel("Part 1", { exact: true }).fill("buffer");
    await page.getByLabel("Place of part 1").fill("U9");
    await button("File the repair").click();
    await seen("Take the cold readings again");
    const hash = new URL(page.url()).hash;
    await page.close();
    served.program.child.kill("SIGTERM");
    await served.program.ended;

    // The repaired board on the bench; the record is the same.
    const good = await simulated("normal");
    const again = await serve(good, `${bench.folder.path}/data`);
    await openAt(again.url);
    // Opening a job is asked first while an output may be on, as nobody knows at the daemon's start.
    await seen("Nothing is on");
    await page.evaluate(`location.hash = ${JSON.stringify(hash)}`);
    await page.locator("page-head").getByText("Kestrel K2, not seen by any host").waitFor();
    await coldReadings(good);
    await facts("none");
    await button(/^Energise/).click();
    await region("Verdict").getByRole("heading", { name: "Normal draw" }).waitFor({ timeout: 60_000 });
    expect(outputs(good).at(-1)).toBe("off");

    tree.add(CARD_ADDRESS, CARD, "demo");
    tree.set(CARD_ADDRESS, "resource", "0x00000000fa000000 0x00000000faffffff 0x0000000000040200");
    tree.bytes(PORT_ADDRESS, "config", portConfig({ present: true, active: true }));
    await dropped("after.json", await look());
    // The page turns to the host's word, and the port is known from before.
    await region("At the test host")
      .getByText(/^listed by the host/)
      .first()
      .waitFor();
    const tests = region("Tests at the host");
    await tests.getByLabel("Good starts").fill("5");
    await tests.getByLabel("of so many").fill("5");
    await tests.getByLabel("Done by").fill("B. Bench");
    await button("File the test").click();
    await tests.getByText("host-boots: pass, 5 of 5, by B. Bench").waitFor();
    await tests.getByLabel("What was tested").selectOption("load");
    await tests.getByLabel("How long, minutes").fill("40");
    await tests.getByLabel("Hottest spot, °C").fill("78");
    await tests.getByLabel("Where that was").fill("core");
    await button("File the test").click();
    await tests.getByText("load: pass, 40 min, hottest 78 °C at core").waitFor();
    await partPicture("host-after", page.locator("host-view"));

    await turnTo("Board");
    await button("It passed").click();
    await button("Yes: it passed").click();
    await button("Make the report").click();
    const saving = page.waitForEvent("download");
    await page.getByRole("link", { name: /^Save report-/ }).click();
    const report = (await readFile(await (await saving).path(), "utf8")).replace(/<[^>]+>/g, " ").replace(/\s+/g, " ");
    expect(report).toContain("At the host: not listed by the host: it has no link.");
    expect(report).toMatch(/host-boots: pass, 5 of 5.*listed by the host/);
    expect(report).toContain("Reset buffer U9 replaced");
    await picture("report-made");
  } finally {
    tree.remove();
  }
});
