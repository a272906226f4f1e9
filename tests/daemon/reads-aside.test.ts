import { fileURLToPath } from "node:url";
import { expect, test } from "vitest";
import { readsAside } from "../../src/daemon/reads/reads-aside.ts";
import { fileRun, withStore } from "../job/sample-job.ts";

/** A thread runs a built file; the build is made before the tests run. */
const WORKER = fileURLToPath(new URL("../../dist/src/daemon/reads/reads-worker.js", import.meta.url));

const ROWS = 20_000;

const threads = (): number => process.getActiveResourcesInfo().filter((name) => name === "MessagePort").length;

test("reads come from threads that end with what asks them; what is read from a stream is read to its end", () =>
  withStore(async (store) => {
    const before = threads();
    const job = await store.newJob({ title: "as filed" });
    // More than what lies ready between two threads.
    const header = await fileRun(store, job, { amps: Array.from({ length: ROWS }, (_, i) => i / ROWS) });
    const aside = readsAside(store, WORKER);
    expect((await aside.reads.sheet(job)).title).toBe("as filed");
    const parts = (await aside.reads.csv(job, header.run)) as AsyncIterable<string>;
    await expect(aside.reads.compare(job, job)).rejects.toMatchObject({ code: "bad-input" });
    aside.end();
    let csv = "";
    for await (const part of parts) csv += part;
    expect(csv.trim().split("\n").length).toBeGreaterThan(ROWS);
    // One that nobody reads, and one that is read in part, hold no thread.
    const again = readsAside(store, WORKER);
    for (const part of [0, 1]) {
      const unread = ((await again.reads.csv(job, header.run)) as AsyncIterable<string>)[Symbol.asyncIterator]();
      if (part === 1) await unread.next();
      await unread.return?.();
    }
    again.end();
    await expect.poll(threads).toBe(before);
  }));
