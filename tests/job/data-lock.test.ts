import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { chmodSync, existsSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { isDataInUse, takeDataLock } from "../../src/job/store/data-lock.ts";
import { freeSpaceProblem } from "../../src/job/store/disk-space.ts";
import { openJobStore } from "../../src/job/store/open-job-store.ts";
import { withFolder } from "./sample-job.ts";

const OWNER = new URL("./own-folder.mjs", import.meta.url).pathname;

async function owner(dir: string): Promise<ChildProcess> {
  const child = spawn(process.execPath, [OWNER, dir], { stdio: ["pipe", "pipe", "inherit"] });
  const [said] = (await once(child.stdout as NodeJS.ReadableStream, "data")) as [Buffer];
  expect(said.toString().trim()).toBe("owning");
  return child;
}

test("a second owner is refused with the pid, the command and the time of the first", () =>
  withFolder(async (dir) => {
    const first = takeDataLock(dir, "firstamp serve");
    expect(() => takeDataLock(dir, "firstamp job new")).toThrow(
      new RegExp(`process ${process.pid} \\("firstamp serve", since 20\\d\\d-.*Z\\) has it open`),
    );
    first.release();
    takeDataLock(dir, "firstamp job new").release();
  }));

test("another process is refused while the owner lives, may look meanwhile, and takes over when it is killed", () =>
  withFolder(async (dir) => {
    const child = await owner(dir);
    await expect(openJobStore(dir)).rejects.toMatchObject({ code: "data-in-use" });
    expect(isDataInUse(dir)).toBe(true);
    const looking = await openJobStore(dir, { readOnly: true });
    expect((await looking.list()).map((each) => each.title)).toEqual(["owner's"]);
    await looking.close();

    child.kill("SIGKILL");
    await once(child, "exit");
    expect(JSON.parse(readFileSync(join(dir, "owner.json"), "utf8"))).toMatchObject({ pid: child.pid });
    expect(isDataInUse(dir)).toBe(false);
    const next = await openJobStore(dir, { ballastBytes: 0 });
    expect((await next.list()).map((each) => each.title)).toEqual(["owner's"]);
    await next.close();
  }));

test("an owner whose name cannot be read still keeps others out", () =>
  withFolder(async (dir) => {
    const lock = takeDataLock(dir, "firstamp serve");
    writeFileSync(join(dir, "owner.json"), "{ torn");
    expect(() => takeDataLock(dir, "x")).toThrow(/another process has it open/);
    lock.release();
  }));

test("a folder that cannot be made or written says so and how to choose another", () =>
  withFolder(async (dir) => {
    writeFileSync(join(dir, "file"), "");
    await expect(openJobStore(join(dir, "file", "data"))).rejects.toMatchObject({
      code: "data-not-writable",
      message: expect.stringMatching(/--data or FIRSTAMP_DATA/),
    });
    // No user, root neither, can make files under /proc.
    if (existsSync("/proc/self"))
      await expect(openJobStore("/proc/self/data")).rejects.toMatchObject({ code: "data-not-writable" });
    if (process.getuid?.() !== 0) {
      chmodSync(dir, 0o500);
      await expect(openJobStore(dir)).rejects.toMatchObject({ code: "data-not-writable" });
      chmodSync(dir, 0o700);
    }
  }));

test("under 200 MiB free is a problem in a sentence, 200 MiB is none", () => {
  const mib = 1024 * 1024;
  expect(freeSpaceProblem("/data", () => 200 * mib)).toBeNull();
  expect(freeSpaceProblem("/data", () => 200 * mib - 1)).toBe(
    "Only 199 MiB are free on the disk of the record (/data); a run needs at least 200 MiB",
  );
});
