import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { existsSync } from "node:fs";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { expect, test } from "vitest";
import type { StoredEvent } from "../../shared/record/job.ts";
import { databasePath } from "../../src/job/database/database-path.ts";
import { sqliteFileProblems } from "../../src/job/database/sqlite-file.ts";
import { dropBallast, keepBallast } from "../../src/job/store/disk-space.ts";
import { openJobStore } from "../../src/job/store/open-job-store.ts";
import { withFolder } from "./sample-job.ts";

const LOOP = new URL("./commit-loop.mjs", import.meta.url).pathname;
/** In full 200. */
const KILLS = Number(process.env["FIRSTAMP_COMMIT_KILLS"] ?? 20);

const numbers = (events: readonly StoredEvent[]): number[] =>
  events.flatMap(({ event }) => (event.kind === "note" ? [Number.parseInt(event.text, 10)] : []));

async function look<T>(dir: string, job: string, see: (events: StoredEvent[]) => T): Promise<T> {
  const store = await openJobStore(dir, { readOnly: true });
  try {
    return see(await store.events(job));
  } finally {
    await store.close();
  }
}

/** What a loop said until it ended; it is killed with SIGKILL as soon as it said `killAt` numbers. */
async function said(child: ChildProcess, killAt: number): Promise<{ acked: number[]; stopped: string | null }> {
  const acked: number[] = [];
  let stopped: string | null = null;
  const lines = createInterface({ input: child.stdout as NodeJS.ReadableStream });
  lines.on("line", (line) => {
    if (line.startsWith("stopped")) stopped = line;
    else acked.push(Number(line));
    if (acked.length === killAt) child.kill("SIGKILL");
  });
  await once(lines, "close");
  if (child.exitCode === null && child.signalCode === null) await once(child, "exit");
  return { acked, stopped };
}

test(
  `after ${KILLS} kills in a loop of commits no filed event is lost and a repeated one is there once`,
  { timeout: 600_000 },
  () =>
    withFolder(async (dir) => {
      const store = await openJobStore(dir, { ballastBytes: 0 });
      const job = await store.newJob();
      await store.close();
      let next = 0;
      let filedUnsaid = 0;
      for (let kill = 0; kill < KILLS; kill++) {
        const child = spawn(process.execPath, [LOOP, dir, job, String(next)], { stdio: ["ignore", "pipe", "inherit"] });
        const { acked } = await said(child, 1 + ((kill * 7) % 13));
        expect(child.signalCode).toBe("SIGKILL");
        const filed = await look(dir, job, numbers);
        expect(filed.slice(next, next + acked.length)).toEqual(acked);
        expect(filed).toEqual(filed.map((_, index) => index));
        filedUnsaid += filed.length - (next + acked.length);
        // The next loop repeats what may have been filed without having been said.
        next += acked.length;
      }
      expect(sqliteFileProblems(databasePath(dir))).toEqual([]);
      expect(next).toBeGreaterThanOrEqual(KILLS);
      expect(filedUnsaid).toBeGreaterThanOrEqual(0);
    }),
);

test(
  "a file that may not grow (ulimit -f) ends in disk-full; what was said to be filed is there and the file is sound",
  { timeout: 60_000 },
  () =>
    withFolder(async (dir) => {
      const store = await openJobStore(dir, { ballastBytes: 0 });
      const job = await store.newJob();
      await store.close();
      const limited = `ulimit -f 3072; exec "$0" "$@"`;
      const child = spawn("bash", ["-c", limited, process.execPath, LOOP, dir, job, "0", "8000"], {
        stdio: ["ignore", "pipe", "inherit"],
      });
      const { acked, stopped } = await said(child, Number.POSITIVE_INFINITY);
      expect(stopped).toBe("stopped disk-full");
      expect(acked.length).toBeGreaterThan(20);
      expect((await look(dir, job, numbers)).slice(0, acked.length)).toEqual(acked);
      expect(sqliteFileProblems(databasePath(dir))).toEqual([]);
      const after = await openJobStore(dir, { ballastBytes: 0 });
      await after.appendEvent(job, { kind: "note", text: "there is room again" });
      await after.close();
    }),
);

test("a full database gives up the ballast, says so once, then says disk-full; reading goes on and nothing filed is lost", () =>
  withFolder(async (dir) => {
    const troubles: string[] = [];
    const store = await openJobStore(dir, {
      ballastBytes: 1024,
      maxPages: 160,
      onTrouble: (sentence) => troubles.push(sentence),
    });
    expect(existsSync(join(dir, "ballast"))).toBe(true);
    const job = await store.newJob();
    let filed = 0;
    const fill = async () => {
      for (; filed < 1000; filed++)
        await store.appendEvent(job, { kind: "note", text: `${filed} ${"x".repeat(5000)}` });
    };
    await expect(fill()).rejects.toMatchObject({ code: "disk-full" });
    await expect(store.newJob({ title: "y".repeat(200), board: "z".repeat(200) })).resolves.toBeTypeOf("string");
    await expect(fill()).rejects.toMatchObject({ code: "disk-full" });
    expect(existsSync(join(dir, "ballast"))).toBe(false);
    expect(troubles).toHaveLength(1);
    expect(numbers(await store.events(job))).toEqual(Array.from({ length: filed }, (_, index) => index));
    await store.close();
    expect(sqliteFileProblems(databasePath(dir))).toEqual([]);
    const roomier = await openJobStore(dir, { ballastBytes: 0 });
    await roomier.appendEvent(job, { kind: "note", text: "more" });
    await roomier.close();
  }));

test("a job that finds the disk full is not half there", () =>
  withFolder(async (dir) => {
    const store = await openJobStore(dir, { ballastBytes: 0, maxPages: 120 });
    const made: string[] = [];
    const fill = async () => {
      for (let count = 0; count < 10_000; count++)
        made.push(await store.newJob({ title: "t".repeat(200), board: "b".repeat(200) }));
    };
    await expect(fill()).rejects.toMatchObject({ code: "disk-full" });
    expect((await store.list()).map((each) => each.job).sort()).toEqual(made);
    for (const job of made) expect(await store.events(job)).toHaveLength(1);
    await store.close();
  }));

test("the ballast is really written, kept across starts, and dropped once", () =>
  withFolder(async (dir) => {
    keepBallast(dir, 3 * 1024 * 1024 + 5);
    const { statSync } = await import("node:fs");
    const { size, blocks } = statSync(join(dir, "ballast"));
    expect(size).toBe(3 * 1024 * 1024 + 5);
    expect(blocks * 512).toBeGreaterThanOrEqual(3 * 1024 * 1024);
    expect(dropBallast(dir)).toBe(true);
    expect(dropBallast(dir)).toBe(false);
  }));
