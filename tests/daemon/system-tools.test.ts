import { chmod, mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { noticeService } from "../../src/daemon/process/service-notice.ts";
import { stayAwake } from "../../src/daemon/process/stay-awake.ts";

let folder = "";
beforeEach(async () => {
  folder = await mkdtemp(path.join(tmpdir(), "firstamp-tools-"));
});
afterEach(() => rm(folder, { recursive: true, force: true }));

/** A system program that notes what it is asked, found before any other of its name. */
async function stands(name: string, script: string): Promise<NodeJS.ProcessEnv> {
  await writeFile(path.join(folder, name), `#!/bin/sh\n${script}\n`);
  await chmod(path.join(folder, name), 0o755);
  return { ...process.env, PATH: `${folder}:${process.env["PATH"]}`, NOTED: path.join(folder, "noted") };
}
const noted = async (): Promise<string[]> =>
  (await readFile(path.join(folder, "noted"), "utf8").catch(() => "")).split("\n").filter((line) => line !== "");
const until = (what: (lines: string[]) => void) =>
  vi.waitFor(async () => what(await noted()), { timeout: 20_000, interval: 20 });

test("a service manager hears that the daemon is ready, that it lives, four times in its patience, and that it ends", async () => {
  const environment = await stands("systemd-notify", 'echo "$@" >> "$NOTED"');
  const ends = noticeService({ ...environment, NOTIFY_SOCKET: "/nowhere", WATCHDOG_USEC: "400000" });
  await until((lines) => {
    expect(lines[0]).toBe("READY=1");
    expect(lines.filter((line) => line === "WATCHDOG=1").length).toBeGreaterThanOrEqual(3);
  });
  ends();
  await until((lines) => expect(lines.at(-1)).toBe("STOPPING=1"));
});

test("where no service manager listens nothing is started", async () => {
  const environment = await stands("systemd-notify", 'echo "$@" >> "$NOTED"');
  const { NOTIFY_SOCKET: _, ...without } = environment;
  noticeService(without)();
  expect(await noted()).toEqual([]);
});

test("the machine is kept awake by a child from the call until the answer is called", async () => {
  const environment = await stands(
    "systemd-inhibit",
    'echo "begun $1" >> "$NOTED"; while [ $# -gt 1 ]; do shift; done; "$1"; echo ended >> "$NOTED"',
  );
  const said: string[] = [];
  const mayRest = stayAwake((why) => said.push(why), environment);
  await until((lines) => expect(lines).toEqual(["begun --what=sleep:idle:handle-lid-switch"]));
  mayRest();
  await until((lines) => expect(lines.at(-1)).toBe("ended"));
  expect(said).toEqual([]);
});

test("where that is refused it is said once, and nothing else comes of it", async () => {
  const environment = await stands("systemd-inhibit", "exit 1");
  const said: string[] = [];
  const mayRest = stayAwake((why) => said.push(why), environment);
  await vi.waitFor(() => expect(said).toEqual(["systemd-inhibit was refused, or found nothing to answer it"]), 20_000);
  mayRest();
});

test("where there is no such program it is said once", async () => {
  const said: string[] = [];
  stayAwake((why) => said.push(why), { PATH: folder })();
  const mayRest = stayAwake((why) => said.push(why), { PATH: folder });
  await vi.waitFor(() => expect(said).toEqual(["systemd-inhibit does not exist"]), 20_000);
  mayRest();
});
