import { rename, writeFile } from "node:fs/promises";
import { expect, test, vi } from "vitest";
import { runProgram } from "../command/run-program.ts";
import { CARD, PORT, portConfig, SysfsTree } from "../host/sysfs-tree.ts";
import { coldReadings, facts } from "./power-steps.ts";
import { button, openAt, outputs, page, realPages, seen, serve, simulated, turnTo } from "./real-page.ts";

vi.setConfig({ testTimeout: 240_000 });
realPages();

/** The document of a host that lists a card behind its port, or nothing there. */
async function lookOf(listed: boolean): Promise<string> {
  const tree = new SysfsTree();
  tree.add("0000:00:01.0", PORT, "pcieport");
  tree.bytes("0000:00:01.0", "config", portConfig({ present: true, active: listed }));
  if (listed) {
    tree.add("0000:01:00.0", CARD, "demo");
    tree.set("0000:01:00.0", "resource", "0x00000000fa000000 0x00000000faffffff 0x0000000000040200");
  }
  const { out } = await runProgram(["host-look", "--sysfs", tree.root]);
  tree.remove();
  return out;
}

// A machine too busy for this run in real time gets another go: its own watchdogs cut what it cannot watch.
test("each start of a series has the host's word, which is filed; one that the host does not list is not clean", {
  retry: 1,
}, async () => {
  const bench = await simulated("normal");
  const [there, gone] = [await lookOf(true), await lookOf(false)];
  const file = `${bench.folder.path}/look.json`;
  let look = there;
  const write = async (): Promise<void> => {
    await writeFile(`${file}.tmp`, look);
    await rename(`${file}.tmp`, file);
  };
  let isOver = false;
  const writing = (async () => {
    for (; !isOver; await new Promise((resolve) => setTimeout(resolve, 300))) await write();
  })();
  try {
    const served = await serve(bench);
    await openAt(served.url);
    await page.getByLabel("Title").fill("Kestrel K2, starts");
    await button("Open the job").click();
    await page.locator("page-head").getByText("Kestrel K2, starts").waitFor();
    await coldReadings(bench);
    await turnTo("Power");
    await page.getByLabel("What is done").selectOption("cycle");
    await page.getByLabel("Cold starts").fill("0");
    await page.getByLabel("Warm starts").fill("2");
    await page.getByLabel("Off before a warm one, seconds").fill("1");
    await page.getByLabel(/^File that the test host writes/).fill("look.json");
    await page.getByLabel("Port the board is in", { exact: true }).fill("00:01.0");
    const folder = process.env["PICTURES"];
    if (folder !== undefined) await page.locator("start-form").screenshot({ path: `${folder}/cycles-form.png` });

    // Beside which folder it would be is not known here: asked for whole before anything comes on.
    const control = button("Take control");
    if ((await control.count()) > 0) await control.last().click();
    await seen("In control");
    await button("Check the permit").click();
    await seen(/give the whole path of the file on this machine/);
    expect(outputs(bench)).not.toContain("on");
    await page.getByLabel(/^File that the test host writes/).fill(file);
    await facts("attached");
    await button(/^Energise/).click();
    const starts = page.getByRole("region", { name: "Series of starts" });
    const said = async (): Promise<string> => ((await starts.count()) === 0 ? "" : await starts.innerText());
    await expect.poll(said, { timeout: 60_000 }).toMatch(/1 made, 1 clean/);
    look = gone;
    await expect
      .poll(said, { timeout: 60_000 })
      .toMatch(/1 of 2 starts clean.*the host: 1 × listed by the host, 1 × not listed/);
    await starts
      .getByText(/start 2, warm.*not listed by the host, no link/)
      .filter({ visible: true })
      .first()
      .waitFor();
    if (folder !== undefined) await page.screenshot({ path: `${folder}/cycles.png` });
    expect(outputs(bench).filter((each) => each === "on").length).toBeGreaterThan(1);
    expect(outputs(bench).at(-1)).toBe("off");

    const job = /job\/([0-9a-f-]{36})/.exec(page.url())?.[1] ?? "";
    const { log } = JSON.parse((await served.ask(`/api/jobs/${job}`)).text) as {
      log: { event: { kind: string; cycles?: { host?: string; clean: boolean }[]; verdict?: { word: string } } }[];
    };
    const filed = log.findLast(({ event }) => event.kind === "cycles")?.event.cycles;
    expect(filed).toMatchObject([
      { host: "enumerated", clean: true },
      { host: "no-link", clean: false },
    ]);
    expect(log.flatMap(({ event }) => (event.kind === "host-look" ? [event.verdict?.word] : []))).toEqual([
      "enumerated",
      "no-link",
    ]);
  } finally {
    isOver = true;
    await writing;
  }
});
