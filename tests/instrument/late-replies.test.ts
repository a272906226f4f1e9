import { describe, expect, it } from "vitest";
import { BenchError } from "../../shared/bench-error.ts";
import { ptyPeer, socketPeer } from "./scripted-peer.ts";
import { sessionWith } from "./session-of.ts";

/** A small generator of numbers in [0, 1), so that a failing run can be run again. */
function seeded(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
}

const TIMEOUT_MS = 25;
const WANTED = 600;

describe.each([
  ["tcp", socketPeer],
  ["pty", ptyPeer],
] as const)("with 6 %% of the replies late and 2 %% lost, on %s", (_transport, openPeer) => {
  it.each([1, 2])(
    `none of ${WANTED} published values belongs to another question (seed %i)`,
    async (seed) => {
      const random = seeded(seed);
      const peer = await openPeer((line) => {
        const text = line.slice(6);
        const luck = random();
        if (luck < 0.06) return { text, lateMs: TIMEOUT_MS + 3 + 57 * random() };
        return luck < 0.08 ? undefined : text;
      });
      const session = await sessionWith(peer, { wire: { replyMs: 300 } });
      let published = 0;
      let wrong = 0;
      let failed = 0;
      for (let number = 0; published < WANTED; number++) {
        try {
          const { text } = await session.query(`VALUE ${number}`, { timeoutMs: TIMEOUT_MS });
          published += 1;
          if (text !== String(number)) wrong += 1;
        } catch (cause) {
          expect(cause).toBeInstanceOf(BenchError);
          failed += 1;
        }
      }
      await session.close();
      await peer.close();
      // With 8 % struck, 48 failures are expected; far fewer would mean that nothing was injected.
      expect(failed).toBeGreaterThan(20);
      expect(wrong).toBe(0);
    },
    30_000,
  );
});
