import type { ChildProcess } from "node:child_process";
import { mkdtemp, rm } from "node:fs/promises";
import os from "node:os";
import path from "node:path";
import { expect, test } from "vitest";
import { WIRE_PROTOCOL } from "../../shared/wire.ts";
import { keepTable, quantile } from "./fault-report.ts";
import { begin, here, message } from "./forked.ts";

/** In full 2,000; the short form only shows that every bad reading is answered by an off, and in what order of time. */
const TRIPS = Number(process.env["FIRSTAMP_TRIPS"] ?? 40);
/** Benches that are tripped side by side: most of a run is waiting for its plan. */
const LANES = TRIPS > 1000 ? 10 : 3;
const PAGES = 50;
/** The wire takes 32 pages; two wires show the same bench. */
const WIRES = 2;
/** Of the echo's own time, on a machine that does much else: two process starts would be more. */
const GENEROUS = 25;

interface Trip {
  who: "program" | "echo";
  tookMs: number | null;
}

test(
  `${TRIPS} bad readings with ${PAGES} pages open and commits running: each is answered by an off`,
  async () => {
    const directory = await mkdtemp(path.join(os.tmpdir(), "firstamp-trips-"));
    const instruments = begin("./trip-instruments.mjs", { lanes: LANES });
    const running: ChildProcess[] = [instruments];
    try {
      const { benches, board, echo } = await message<{ benches: unknown[]; board: unknown; echo: string }>(instruments);
      const took: Record<Trip["who"], (number | null)[]> = { program: [], echo: [] };
      const enough = new Promise<void>((resolve) => {
        instruments.on("message", (raw) => {
          const { who, tookMs } = raw as Trip;
          took[who].push(tookMs);
          if (took.program.length >= TRIPS) resolve();
        });
      });
      running.push(begin("./trip-echo.mjs", { address: echo }));
      const pageDir = here("../../dist/web");
      const daemon = begin("./trip-daemon.mjs", { directory, benches, board, pageDir, wires: WIRES });
      running.push(daemon);
      const { urls } = await message<{ urls: string[] }>(daemon);
      const pages = begin("./trip-pages.mjs", { urls, pages: PAGES, protocol: WIRE_PROTOCOL });
      running.push(pages);
      await message(pages);
      const from = performance.now();
      await Promise.race([enough, message(daemon)]);
      const seconds = (performance.now() - from) / 1000;
      daemon.send("end");
      pages.send("end");
      const [{ trips, scheduling }, { frames }] = await Promise.all([
        message<{ trips: Record<string, number>; scheduling: string }>(daemon),
        message<{ frames: number }>(pages),
      ]);
      const figures = (["program", "echo"] as const).map((who) => {
        const times = took[who].map((each) => each ?? Number.POSITIVE_INFINITY);
        const [p50Ms, p99Ms, p999Ms] = [0.5, 0.99, 0.999].map((share) => quantile(times, share));
        return { who, count: times.length, p50Ms, p99Ms, p999Ms, worstMs: Math.max(...times) };
      });
      const [program, bare] = figures;
      keepTable("trips", {
        figures,
        framesPerPage: frames / PAGES / seconds,
        pages: PAGES,
        benches: LANES,
        scheduling,
        load: os.loadavg()[0],
      });
      process.stdout.write(
        `${JSON.stringify({ figures, trips, scheduling, framesPerPage: frames / PAGES / seconds })}\n`,
      );
      expect(took.program).not.toContain(null);
      expect(trips["overload-reading"]).toBeGreaterThanOrEqual(0.9 * TRIPS);
      expect(program?.p50Ms).toBeLessThanOrEqual(GENEROUS * Math.max(1, bare?.p50Ms ?? 0));
      expect(frames / PAGES / seconds).toBeGreaterThan(5);
    } finally {
      for (const child of running) child.kill("SIGTERM");
      await rm(directory, { recursive: true, force: true });
    }
  },
  60_000 + 500 * TRIPS,
);
