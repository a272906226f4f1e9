import { spawn } from "node:child_process";
import { closeSync, constants, openSync } from "node:fs";
import { expect, test } from "vitest";
import type { LinkClosed } from "../../src/link/link.ts";
import { openLink } from "../../src/link/open-link.ts";
import { realClock } from "../../src/system/real-clock.ts";
import { type FarEnd, ptyFarEnd, socketFarEnd } from "../link/far-end.ts";
import { openPtyPair } from "../link/pty-pair.ts";
import { until } from "../link/until.ts";
import { keepTable, quantile } from "./fault-report.ts";

const HANG_UPS = Number(process.env["FIRSTAMP_HANG_UPS"] ?? 10);
const CLOSED_WRITES = Number(process.env["FIRSTAMP_CLOSED_WRITES"] ?? 60);
/** Of the fault catalogue (ours). */
const IDLE_LIMIT_MS = 50;
const STREAMING_LIMIT_MS = 500;
const MOST_IDLE_SHARE = 0.05;
const IDLE_LOOK_MS = 500;

async function hangUp(isStreaming: boolean): Promise<number> {
  const line = await openPtyPair();
  const link = await openLink({ address: `ASRL${line.a}::INSTR`, clock: realClock });
  const closed: LinkClosed[] = [];
  link.onClose((each) => closed.push(each));
  link.onLine(() => {});
  const far = openSync(line.b, constants.O_WRONLY | constants.O_NOCTTY);
  const flood = isStreaming ? spawn("yes", ["+1.2345E+01"], { stdio: ["ignore", far, "ignore"] }) : undefined;
  const floodEnded = new Promise<void>((resolve) => (flood === undefined ? resolve() : flood.once("exit", resolve)));
  closeSync(far);
  if (isStreaming) await until(() => link.counters.bytesRead > 20_000);
  line.hangUp();
  const fromMs = realClock.nowMs();
  await until(() => closed.length > 0);
  const tookMs = realClock.nowMs() - fromMs;
  await link.close();
  await line.close();
  await floodEnded;
  return tookMs;
}

test(
  `${HANG_UPS} hang-ups of a serial line, idle and while bytes stream: each is noticed in time, and nothing spins afterwards`,
  async () => {
    const took: Record<"idle" | "streaming", number[]> = { idle: [], streaming: [] };
    for (let each = 0; each < HANG_UPS; each++) {
      took.idle.push(await hangUp(false));
      took.streaming.push(await hangUp(true));
    }
    const before = process.cpuUsage();
    const fromMs = performance.now();
    await new Promise((resolve) => setTimeout(resolve, IDLE_LOOK_MS));
    const used = process.cpuUsage(before);
    const busyShare = (used.user + used.system) / 1000 / (performance.now() - fromMs);
    keepTable("hang-ups", {
      count: HANG_UPS,
      idleMs: { p50: quantile(took.idle, 0.5), worst: Math.max(...took.idle) },
      streamingMs: { p50: quantile(took.streaming, 0.5), worst: Math.max(...took.streaming) },
      busyShare,
    });
    expect(quantile(took.idle, 0.5)).toBeLessThanOrEqual(IDLE_LIMIT_MS);
    expect(Math.max(...took.streaming)).toBeLessThanOrEqual(STREAMING_LIMIT_MS);
    expect(busyShare).toBeLessThan(MOST_IDLE_SHARE);
  },
  60_000 + 2000 * HANG_UPS,
);

/** Opens, closes, writes while closed, opens again and asks: all that the far end may hear is the question, so many times. */
async function writesWhileClosed(far: FarEnd, count: number): Promise<number> {
  let refused = 0;
  for (let each = 0; each < count; each++) {
    const gone = await openLink({ address: far.address, clock: realClock });
    await gone.close();
    try {
      gone.write("OUTP1 ON\n");
    } catch (cause) {
      expect(cause).toMatchObject({ code: "link-closed" });
      refused += 1;
    }
    const link = await openLink({ address: far.address, clock: realClock });
    link.write("*IDN?\n");
    await until(() => far.heard().length >= "*IDN?\n".length * (each + 1));
    await link.close();
  }
  return refused;
}

test.each([
  ["a socket", socketFarEnd],
  ["a pty", ptyFarEnd],
] as const)(
  `${CLOSED_WRITES} times an output-on written while the link is closed never arrives, on %s`,
  async (place, open) => {
    const far: FarEnd = await open();
    try {
      const refused = await writesWhileClosed(far, CLOSED_WRITES);
      keepTable(`closed writes on ${place}`, {
        count: CLOSED_WRITES,
        refused,
        arrived: far.heard().includes("ON") ? 1 : 0,
      });
      expect(refused).toBe(CLOSED_WRITES);
      expect(far.heard()).toBe("*IDN?\n".repeat(CLOSED_WRITES));
    } finally {
      await far.close();
    }
  },
  60_000 + 300 * CLOSED_WRITES,
);
