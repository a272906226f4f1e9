import { describe, expect, test } from "vitest";
import { realClock } from "../../src/system/real-clock.ts";

describe("realClock", () => {
  test("never runs early, in the order of the waits", async () => {
    const ran: { ms: number; tookMs: number }[] = [];
    const waits = [7.9, 0.3, 3.5, 0];
    await Promise.all(
      waits.map((ms) => {
        const fromMs = realClock.nowMs();
        return new Promise<void>((resolve) => {
          realClock.after(ms, () => {
            ran.push({ ms, tookMs: realClock.nowMs() - fromMs });
            resolve();
          });
        });
      }),
    );
    for (const { ms, tookMs } of ran) expect(tookMs).toBeGreaterThanOrEqual(ms);
    expect(ran.at(-1)?.ms).toBe(7.9);
  });

  test("a wait that was called off does not run, and one longer than a timer can count does not run at once", async () => {
    const ran: string[] = [];
    realClock.after(0, () => ran.push("off"))();
    const cancel = realClock.after(2 ** 31 + 1000, () => ran.push("long"));
    await new Promise<void>((resolve) => void realClock.after(5, resolve));
    cancel();
    expect(ran).toEqual([]);
  });
});
