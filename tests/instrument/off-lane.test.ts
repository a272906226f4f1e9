import { expect, test } from "vitest";
import type { Clock } from "../../shared/clock.ts";
import { OffLane, type OffLaneOptions } from "../../src/instrument/off-lane.ts";

/** A clock of a process that was held up: whatever is due by then rings, the latest first. */
class HeldUpClock implements Clock {
  readonly #due: { atMs: number; run: () => void }[] = [];
  #nowMs = 0;

  nowMs(): number {
    return this.#nowMs;
  }

  after(ms: number, run: () => void): () => void {
    this.#due.push({ atMs: this.#nowMs + ms, run });
    return () => {};
  }

  async holdUp(ms: number): Promise<void> {
    this.#nowMs += ms;
    for (const { run } of this.#due.splice(0).sort((a, b) => b.atMs - a.atMs)) {
      run();
      // Promises go on between two timers, as they do in Node.
      await new Promise((resolve) => setImmediate(resolve));
    }
  }
}

test("an on that waits for a cut comes behind the cut's repeated off, also where a later timer rings before the repeat's", async () => {
  const clock = new HeldUpClock();
  const written: string[] = [];
  const write = (text: string) => {
    written.push(text);
    return { written: true, hadOutstanding: false };
  };
  const lane = new OffLane({
    clock,
    session: {
      writeNow: write,
      writeAlso: write,
      canWriteFresh: false,
      wire: { terminator: "\n", gapMs: 0, replyMs: 50 },
    },
    speech: { linesFor: (line: string) => [line], joins: false },
    driver: { operations: { outputOff: "OUTP OFF,{channel}" } },
    remote: undefined,
  } as unknown as OffLaneOptions);
  lane.cut([1]);
  const on = lane.over().then(() => void written.push("OUTP ON,1"));
  await clock.holdUp(1000);
  await on;
  expect(written).toEqual(["OUTP OFF,1", "OUTP OFF,1", "OUTP ON,1"]);
});
