import { spawn } from "node:child_process";
import { existsSync } from "node:fs";
import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { BenchError } from "../../shared/bench-error.ts";
import type { FeedReading } from "../../shared/reading.ts";
import { captureFile, settleCapture, settledBytes, tailFile } from "../../src/capture/capture-files.ts";
import { chunkBytes } from "../../src/capture/chunk-format.ts";
import { type CaptureWriter, openCaptureWriter } from "../../src/capture/chunk-store.ts";
import { readCapture } from "../../src/capture/read-capture.ts";

let folder = "";
const leftOpen: CaptureWriter[] = [];
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "chunks-"));
});
afterAll(async () => {
  // Node 26 ends a process whose file handles are collected before they are closed.
  for (const writer of leftOpen) await writer.close();
  await rm(folder, { recursive: true });
});

const reading = (i: number): FeedReading => ({
  feed: i % 2 === 0 ? "aux" : "slot12",
  queriedAtMs: i * 10 + 0.125,
  atMs: i * 10 + 3.3,
  volts: i % 17 === 5 ? { kind: "overload" } : { kind: "value", volts: 12 + i / 1000 },
  amps: i % 19 === 7 ? { kind: "no-reading" } : { kind: "value", amps: 0.1 * i },
  mode: i % 3 === 0 ? "cv" : "unknown",
  together: i % 5 !== 0,
});
const readings = (n: number): FeedReading[] => Array.from({ length: n }, (_, i) => reading(i));

/** Writes `n` readings in chunks of 100, and answers the file. */
async function written(id: string, n: number, close = true): Promise<string> {
  const writer = await openCaptureWriter(folder, id);
  for (let i = 0; i < n; i++) {
    writer.append(reading(i), i * 10 + 4);
    if (i % 100 === 99) await writer.flushed();
  }
  await writer.flushed();
  if (close) await writer.close();
  else leftOpen.push(writer);
  return captureFile(folder, id);
}

/** A file as they were before readings were packed: `n` readings in chunks of 100. */
async function unpacked(id: string, n: number, close = true): Promise<string> {
  const all = readings(n).map((each, i) => ({ reading: each, eventAtMs: i * 10 + 4 }));
  const parts = Array.from({ length: Math.ceil(n / 100) }, (_, seq) =>
    chunkBytes(id, seq, all.slice(seq * 100, seq * 100 + 100), false),
  );
  if (close) parts.push(chunkBytes(id, parts.length, [], true));
  await writeFile(captureFile(folder, id), Buffer.concat(parts));
  return captureFile(folder, id);
}

describe("a capture on disk", () => {
  it("comes back as it was, with when each reading was taken in, and closed", async () => {
    await written("whole", 1234);
    const stored = await readCapture(folder, "whole");
    expect(stored.closed).toBe("closed");
    expect(stored.gaps).toEqual([]);
    expect(stored.readings).toEqual(readings(1234));
    expect(stored.eventAtMs).toEqual(readings(1234).map((_, i) => i * 10 + 4));
  });
  it("is open and whole while it is being written", async () => {
    await written("running", 300, false);
    const stored = await readCapture(folder, "running");
    expect(stored.closed).toBe("open");
    expect(stored.readings).toHaveLength(300);
  });
  it("writes by itself after 250 ms, and after 500 readings at once", async () => {
    let due: { ms: number; run: () => void } | null = null;
    const writer = await openCaptureWriter(folder, "timed", {
      after: (ms, run) => {
        due = { ms, run };
        return () => {
          due = null;
        };
      },
    });
    writer.append(reading(0));
    const timer = due as { ms: number; run: () => void } | null;
    expect(timer?.ms).toBe(250);
    timer?.run();
    await writer.flushed();
    expect((await readCapture(folder, "timed")).readings).toHaveLength(1);
    for (let i = 1; i <= 500; i++) writer.append(reading(i));
    expect(due).toBeNull();
    await writer.close();
    expect((await readCapture(folder, "timed")).readings).toHaveLength(501);
  });
  it("has chunks of at most 64 KiB while they wait to be packed", async () => {
    const writer = await openCaptureWriter(folder, "wide");
    for (let i = 0; i < 4000; i++) writer.append({ ...reading(i), feed: "a-feed-with-a-name-as-long-as-can" });
    await writer.flushed();
    const text = await readFile(tailFile(folder, "wide"), "utf8");
    await writer.close();
    const sizes = [...text.matchAll(/^chunk .*"bytes":(\d+)/gm)].map((each) => Number(each[1]));
    expect(sizes.length).toBeGreaterThan(7);
    expect(Math.max(...sizes)).toBeLessThanOrEqual(65_536);
  });
  it("is one file once it is closed, and reads the same from a file of before readings were packed", async () => {
    await written("packed", 9000);
    expect(existsSync(tailFile(folder, "packed"))).toBe(false);
    await unpacked("plain", 9000);
    const [packed, plain] = [await readCapture(folder, "packed"), await readCapture(folder, "plain")];
    expect(packed).toEqual(plain);
    expect(packed.readings).toEqual(readings(9000));
  });
  it("of one id is never opened twice", async () => {
    await written("once", 1);
    await expect(openCaptureWriter(folder, "once")).rejects.toMatchObject({ code: "data-not-writable" });
  });
});

describe("a damaged capture", () => {
  it("with a flipped byte has a gap in the place of that chunk", async () => {
    const file = await unpacked("flipped", 300);
    const bytes = await readFile(file);
    const second = bytes.indexOf("\nchunk ", 10);
    const payload = bytes.indexOf("\n", second + 1) + 50;
    bytes[payload] = (bytes[payload] ?? 0) ^ 1;
    await writeFile(file, bytes);
    const stored = await readCapture(folder, "flipped");
    expect(stored.closed).toBe("recovered");
    expect(stored.readings).toEqual([...readings(300).slice(0, 100), ...readings(300).slice(200)]);
    expect(stored.gaps).toEqual([{ afterMs: 993.3, beforeMs: 2003.3, because: "the checksum of chunk 1 is wrong" }]);
  });
  it("cut off at any byte loses only the chunk it was cut in, and says so", async () => {
    const file = await unpacked("cut", 250);
    const bytes = await readFile(file);
    const ends = [...bytes.toString("latin1").matchAll(/^chunk /gm)].map((each) => each.index);
    for (let length = 1; length < bytes.length; length += 37) {
      await writeFile(file, bytes.subarray(0, length));
      const stored = await readCapture(folder, "cut");
      const whole = ends.filter((_, index) => (ends[index + 1] ?? bytes.length) <= length).length;
      expect(stored.readings).toEqual(readings(250).slice(0, Math.min(250, whole * 100)));
      const torn = !ends.includes(length);
      expect(stored.closed).toBe(torn ? "recovered" : "open");
      expect(stored.gaps).toHaveLength(torn ? 1 : 0);
    }
  });
  it("without one of its chunks is not joined", async () => {
    const file = await unpacked("missing", 300);
    const text = await readFile(file, "latin1");
    const starts = [...text.matchAll(/^chunk /gm)].map((each) => each.index);
    await writeFile(file, text.slice(0, starts[1]) + text.slice(starts[2]), "latin1");
    const stored = await readCapture(folder, "missing");
    expect(stored.closed).toBe("recovered");
    expect(stored.gaps[0]?.because).toBe("chunk 2 comes where chunk 1 should be");
  });
  it("with a chunk of another capture in it does not take it for its own", async () => {
    const [mine, other] = [await unpacked("mine", 100, false), await unpacked("other", 100)];
    await writeFile(mine, await readFile(other), { flag: "a" });
    const stored = await readCapture(folder, "mine");
    expect(stored.readings).toHaveLength(100);
    expect(stored.gaps[0]?.because).toContain("belongs to capture other");
  });
  it("that is not there is refused", async () => {
    await expect(readCapture(folder, "none")).rejects.toBeInstanceOf(BenchError);
  });
});

describe("a capture whose writer died", () => {
  const lost = async (id: string) => ({ ...(await readCapture(folder, id)), closed: null });
  it("while it packed loses nothing, wherever the packed chunk ends, and is made one file later", async () => {
    const writer = await openCaptureWriter(folder, "packing");
    for (let i = 0; i < 4000; i++) {
      writer.append(reading(i), i * 10 + 4);
      if (i % 100 === 99) await writer.flushed();
    }
    await writer.flushed();
    const tail = await readFile(tailFile(folder, "packing"));
    await writer.close();
    const whole = await readFile(captureFile(folder, "packing"));
    const packed = whole.subarray(0, whole.lastIndexOf("chunk "));
    for (let length = 0; length <= packed.length; length += 4999) {
      for (const end of [length, packed.length]) {
        await writeFile(captureFile(folder, "packing"), packed.subarray(0, end));
        await writeFile(tailFile(folder, "packing"), tail);
        const before = await lost("packing");
        expect(before.readings).toHaveLength(4000);
        expect(before.gaps).toEqual([]);
        const bytes = await settledBytes(folder, "packing");
        await settleCapture(folder, "packing");
        expect(existsSync(tailFile(folder, "packing"))).toBe(false);
        expect(await readFile(captureFile(folder, "packing"))).toEqual(bytes);
        expect(await lost("packing")).toEqual(before);
      }
    }
  });
  it("keeps a tail that is damaged as it is: the gap is still told", async () => {
    const writer = await openCaptureWriter(folder, "torn");
    leftOpen.push(writer);
    for (let i = 0; i < 300; i++) {
      writer.append(reading(i), i * 10 + 4);
      if (i % 100 === 99) await writer.flushed();
    }
    await writer.flushed();
    const tail = await readFile(tailFile(folder, "torn"));
    tail[tail.indexOf("\nchunk ", 10) + 400] = 0;
    await writeFile(tailFile(folder, "torn"), tail);
    const before = await readCapture(folder, "torn");
    expect(before.gaps).toEqual([{ afterMs: 993.3, beforeMs: 2003.3, because: "the checksum of chunk 1 is wrong" }]);
    await settleCapture(folder, "torn");
    expect(await readCapture(folder, "torn")).toEqual(before);
  });
});

describe("a writer whose process is killed", () => {
  it("leaves all but the last second, whole", async () => {
    const store = new URL("../../dist/src/capture/chunk-store.js", import.meta.url).href;
    const script = `
      import { openCaptureWriter } from ${JSON.stringify(store)};
      const writer = await openCaptureWriter(${JSON.stringify(folder)}, "killed");
      let i = 0;
      setInterval(() => {
        const value = { kind: "value", volts: 12 };
        writer.append({ feed: "aux", queriedAtMs: i, atMs: i, volts: value, amps: { kind: "value", amps: i }, mode: "cv", together: true });
        process.stdout.write(i++ + "\\n");
      }, 5);`;
    await writeFile(join(folder, "writer.mjs"), script);
    const child = spawn(process.execPath, [join(folder, "writer.mjs")], { stdio: ["ignore", "pipe", "inherit"] });
    let last = 0;
    const begun = performance.now();
    const perReading = await new Promise<number>((resolve, reject) => {
      child.on("error", reject);
      child.stdout.on("data", (text: Buffer) => {
        last = Number(text.toString().trim().split("\n").pop());
        if (last >= 300) resolve((performance.now() - begun) / last);
      });
      child.on("exit", () => reject(new Error("the writer ended by itself")));
    });
    child.removeAllListeners("exit");
    const gone = new Promise((resolve) => child.on("exit", resolve));
    child.kill("SIGKILL");
    await gone;
    const stored = await readCapture(folder, "killed");
    expect(stored.readings.length).toBeGreaterThan(0);
    expect((last - stored.readings.length) * perReading).toBeLessThan(1000);
    expect(stored.readings.map((each) => each.atMs)).toEqual(stored.readings.map((_, i) => i));
  });
});
