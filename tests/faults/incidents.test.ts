import { mkdir, mkdtemp, readdir, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import type { Incident } from "../../shared/guardian.ts";
import { openDataFolder } from "../../src/daemon/process/data-folder.ts";
import { uuidV7 } from "../../src/job/store/uuid-v7.ts";

let directory = "";
beforeEach(async () => {
  directory = await mkdtemp(path.join(tmpdir(), "firstamp-incident-"));
  await mkdir(path.join(directory, "run"), { recursive: true });
});
afterEach(() => rm(directory, { recursive: true, force: true }));

const incidentOf = (record: string): Incident => ({
  version: 1,
  record,
  why: "the bench process was gone",
  at: "2026-11-25T10:00:00.000Z",
  tookMs: 61.4,
  supplies: [{ name: "psu", output: "off", detail: "off was written twice" }],
});
const leave = (name: string, content: string): Promise<void> => writeFile(path.join(directory, "run", name), content);
const left = async (): Promise<string[]> => (await readdir(path.join(directory, "run"))).toSorted();

test("an incident is filed once with the job of its run, also where the first start died half-way", async () => {
  const [run, capture] = [uuidV7(), uuidV7()];
  const first = await openDataFolder(directory);
  const job = await first.store.newJob({ board: "Kestrel K2" });
  await first.store.addCapture(job, { id: capture, run });
  await first.close();
  for (let each = 0; each < 2; each++) {
    await leave(`incident-${capture}-1.json`, JSON.stringify(incidentOf(capture)));
    const data = await openDataFolder(directory);
    const incidents = (await data.store.events(job)).filter(({ event }) => event.kind === "incident");
    expect(incidents.map(({ event }) => event)).toMatchObject([{ run, output: "off", instrument: "psu" }]);
    expect(await left()).toEqual([]);
    await data.close();
  }
});

test("an incident of a run that is not in this record is said and set aside, and the start goes on", async () => {
  const record = uuidV7();
  await leave(`incident-${record}-1.json`, JSON.stringify(incidentOf(record)));
  const said: string[] = [];
  const data = await openDataFolder(directory, { onTrouble: (sentence) => said.push(sentence) });
  expect(await left()).toEqual([`set-aside-incident-${record}-1.json`]);
  expect(said.join()).toContain("a run that is not in this record");
  await data.close();
});

test("an incident that cannot be read stays where it is, and the start goes on", async () => {
  await leave("incident-half-1.json", '{ "version": 1, "rec');
  const data = await openDataFolder(directory);
  expect(await left()).toEqual(["incident-half-1.json"]);
  await data.close();
});
