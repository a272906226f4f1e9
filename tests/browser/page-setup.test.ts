import { readFile, stat, writeFile } from "node:fs/promises";
import type { Browser, Locator, Page } from "playwright-core";
import { afterAll, afterEach, beforeAll, expect, test, vi } from "vitest";
import { BenchFile } from "../../shared/files/bench-file.ts";
import { type Simulation, startSimulation } from "../../src/simulator/start-simulation.ts";
import { realClock } from "../../src/system/real-clock.ts";
import { timesOn } from "../command/powered-bench.ts";
import { endPrograms, type TestFolder, testFolder } from "../command/run-program.ts";
import { type Served, serveProgram } from "../command/served-bench.ts";
import { openBrowser } from "./page-rig.ts";

vi.setConfig({ testTimeout: 90_000 });

let browser: Browser;
let page: Page;
let served: Served;
let folder: TestFolder;
let simulation: Simulation | undefined;
beforeAll(async () => {
  browser = await openBrowser();
});
afterEach(async () => {
  for (const context of browser.contexts()) await context.close();
  await endPrograms();
  await simulation?.close();
  simulation = undefined;
  await folder.remove();
});
afterAll(() => browser.close());

/** A daemon without a bench file, and its page as a newcomer opens it. */
async function openNew(): Promise<void> {
  folder = await testFolder();
  served = await serveProgram([], `${folder.path}/data`);
  page = await (await browser.newContext({ viewport: { width: 1280, height: 900 } })).newPage();
  await page.goto(served.url);
  await seen("No bench is set up yet");
}

const button = (name: string | RegExp, on: Page = page): Locator => on.getByRole("button", { name });
const seen = (text: string | RegExp, on: Page = page): Promise<void> =>
  on.getByText(text).filter({ visible: true }).first().waitFor();
const fileAt = (name = "bench.json"): string => `${folder.path}/${name}`;

/** Real sockets with a simulated supply and meter behind them; the page is told their addresses. */
async function look(): Promise<void> {
  simulation = await startSimulation({
    scenario: "single-feed",
    transport: "tcp",
    dialect: "numbered",
    clock: realClock,
  });
  for (const { address } of Object.values(simulation.benchFile.instruments)) {
    await page.getByLabel("Address of an instrument on the network").fill(address);
    await button("Add the address").click();
  }
  await button(/^Open \d+ addresses and ask who is there/).click();
  await expect.poll(() => page.locator("[data-found]").count(), { timeout: 30_000 }).toBe(2);
  await page.getByLabel("Feed", { exact: true }).waitFor();
}

async function write(file = fileAt()): Promise<void> {
  await page.getByLabel("Feed", { exact: true }).fill("in12");
  await page.getByRole("textbox", { name: "Where" }).fill(file);
  await button("Write the bench file").click();
}

test("a newcomer finds instruments, writes the bench file, checks it, uses it, and nothing was switched on", async () => {
  await openNew();
  // Before anything is opened it is said what will be, and what that can do.
  await seen("Opening a port resets some instruments: no board should be on.");
  await look();
  await seen(/answers: Bench,/);
  await seen(/driver numbered-supply: Several outputs, named by a number in the header/);
  await write();
  await seen(`Written: ${fileAt()}`);
  const written = BenchFile.parse(JSON.parse(await readFile(fileAt(), "utf8")));
  const supply = Object.values(simulation?.benchFile.instruments ?? {}).find((each) => each.kind === "supply");
  expect(written).toMatchObject({
    // The serial number that the simulator's supply answers with.
    instruments: { psu: { address: supply?.address, driver: "numbered-supply", serialNumber: "SN1" } },
    feeds: { in12: { supply: "psu", channel: 1 } },
    meter: "dmm",
  });
  expect((await stat(fileAt())).mode & 0o777).toBe(0o600);

  const check = button("Check the bench");
  expect(await check.isDisabled()).toBe(true);
  await page.getByLabel("The leads hang free, with no board on them").check();
  await check.click();
  await seen("Everything is as it should be.");
  await seen(/in12 \(psu, channel 1\): the output is off, 0 V and 100 mA were set and read back/);
  await button("Use this bench from now on").click();
  await page.getByRole("region", { name: "Feed in12" }).waitFor();
  await seen("Nothing is on");
  expect(await page.locator(".badge").count()).toBe(0);
  expect(timesOn(simulation as Simulation)).toBe(0);
});

test("a rehearsal is badged, is powered by its permit on a record of its own, and is ended from the page", async () => {
  await openNew();
  await page.getByLabel("Title").fill("a board of the shop");
  await button("Open the job").click();
  await seen("The intake was not filled in.");
  await page.getByLabel("What is wrong with the board").selectOption("dead-short");
  await button("Start the rehearsal").click();
  await seen("This is a rehearsal");
  await seen("simulated bench");
  await seen("no job is open");
  expect(await page.getByText("a board of the shop").count()).toBe(0);
  await seen("Nothing is on");

  await page.getByRole("tab", { name: /^Power/ }).click();
  await button("Take control").last().click();
  await seen("In control");
  await button("Check the permit").click();
  await seen("What will be energised");
  for (const box of await page.getByRole("checkbox", { name: /go on without it/ }).all()) await box.check();
  await page.getByLabel(/Reason for going on without/).fill("a rehearsal");
  await page.getByLabel("I have read these, and they are met").check();
  await button(/^Energise/).click();
  await page.getByRole("region", { name: "Verdict" }).waitFor({ timeout: 30_000 });

  await page.getByRole("tab", { name: /^Board/ }).click();
  await seen("Nothing is on");
  await button("End the rehearsal").click();
  await seen("No bench is set up yet");
  await page.getByRole("button", { name: /a board of the shop/ }).waitFor();
  expect(await page.locator(".badge").count()).toBe(0);
  expect(await (await served.ask("/api/jobs")).text).toContain("a board of the shop");
  expect(await (await served.ask("/api/jobs")).text.match(/"id"/g)).toHaveLength(1);
});

test("a bench file that is there stays until its replacing is asked and said; another file stays always", async () => {
  await openNew();
  await look();
  const before = JSON.stringify({ ...simulation?.benchFile, simulated: undefined });
  await writeFile(fileAt(), before);
  await write();
  await seen("A bench file exists there already.");
  await button("No: keep it").click();
  expect(await readFile(fileAt(), "utf8")).toBe(before);
  await write();
  await button("Replace it").click();
  await seen(`Written: ${fileAt()}`);
  expect(JSON.parse(await readFile(fileAt(), "utf8"))).toMatchObject({ instruments: { psu: { serialNumber: "SN1" } } });

  const other = await folder.write("board.json", { version: 1, name: "Kestrel K2", feeds: {} });
  const kept = await readFile(other, "utf8");
  await write(other);
  await seen(/another kind of file is there; nothing was written/);
  expect(await button("Replace it").count()).toBe(0);
  expect(await readFile(other, "utf8")).toBe(kept);
});

test("a second window follows: it sees the bench that the first took into use, and can set up nothing more", async () => {
  await openNew();
  const code = await page.evaluate<{ code: string }>(`fetch("/api/code", {
    method: "POST",
    headers: { "content-type": "application/json", authorization: "Bearer " + sessionStorage.getItem("firstamp-bearer") },
    body: JSON.stringify({ role: "operator" }),
  }).then((reply) => reply.json())`);
  const second = await (await browser.newContext()).newPage();
  await second.goto(`${new URL(served.url).origin}/#k=${code.code}`);
  await seen("No bench is set up yet", second);
  await look();
  await write();
  await button("Use this bench from now on").click();
  await page.getByRole("region", { name: "Feed in12" }).waitFor();
  await second.getByRole("region", { name: "Feed in12" }).waitFor();
  await expect.poll(() => second.getByText("No bench is set up yet").count()).toBe(0);
  const refused = await second.evaluate<{ status: number; error: string }>(`fetch("/api/setup/rehearse", {
    method: "POST",
    headers: { "content-type": "application/json", authorization: "Bearer " + sessionStorage.getItem("firstamp-bearer") },
    body: JSON.stringify({ scenario: "normal" }),
  }).then(async (reply) => ({ status: reply.status, ...(await reply.json()) }))`);
  expect(refused).toMatchObject({ status: 400, error: expect.stringContaining("A bench is in use.") });
});

test("an instrument that vanishes between looking and checking is a finding, and the page can look again", async () => {
  await openNew();
  await look();
  await write();
  await simulation?.close();
  simulation = undefined;
  await page.getByLabel("The leads hang free, with no board on them").check();
  await button("Check the bench").click();
  await seen("Correct what is marked, then check again.");
  expect(await page.locator('[data-finding][data-ok="no"]').count()).toBe(2);
  expect(await page.locator('[data-finding][data-ok="no"]').first().innerText()).toMatch(/psu|dmm/);
  await button(/^Open 2 addresses/).click();
  await seen("No supply was found");
  expect(await button("Write the bench file").count()).toBe(0);
});

test("what an instrument says its name is shown visibly, and never obeyed", async () => {
  await openNew();
  simulation = await startSimulation({
    scenario: "single-feed",
    transport: "tcp",
    dialect: "numbered",
    clock: realClock,
  });
  simulation.misbehave.identity("psu", "<img src=x onerror=alert(1)>,supply,1,2");
  // What clears a terminal's screen (CSI 2 J, ECMA-48 8.3.39): no identity, and quoted.
  simulation.misbehave.identity("dmm", "Bench,\u001b[2Jmeter,1,2");
  for (const { address } of Object.values(simulation.benchFile.instruments)) {
    await page.getByLabel("Address of an instrument on the network").fill(address);
    await button("Add the address").click();
  }
  await button(/^Open \d+ addresses/).click();
  await expect.poll(() => page.locator("[data-found]").count(), { timeout: 30_000 }).toBe(2);
  const [supply = "", meter = ""] = await page.locator("[data-found]").allInnerTexts();
  expect(supply).toContain("answers: <img src=x onerror=alert(1)>,supply,1,2");
  expect(meter).toContain('was "Bench,\\u001b[2Jmeter,1,2"');
  expect(await page.locator("[data-found] img").count()).toBe(0);
});
