import { expect, test } from "vitest";
import { openLink } from "../../src/link/open-link.ts";
import { servePty } from "../../src/simulator/serve-pty.ts";
import { openSocatPty } from "../../src/simulator/socat-pty.ts";
import { realClock } from "../../src/system/real-clock.ts";

/** The terminal's flags are set in the background after it was opened: some rounds come before, most after. */
const ROUNDS = 12;

test("a link for blocks hands on each byte once, 0xFF too, also once its flags are set", async () => {
  const pair = await openSocatPty();
  const all = Buffer.from(Array.from({ length: 60_000 }, (_, i) => (7 * i + (i >> 8)) & 255));
  // Piece by piece for a while: the flags of the terminal are set in the background after it was opened.
  const served = servePty(
    (wire) => ({
      onBytes: () => {
        for (let at = 0; at < all.length; at += 1000) wire.write(all.subarray(at, at + 1000));
      },
      onGone: () => {},
    }),
    pair,
  );
  const link = await openLink({ address: served.address, clock: realClock, isRaw: true });
  try {
    const pieces: Uint8Array[] = [];
    let [length, asked] = [0, 1];
    const done = new Promise<void>((resolve) => {
      link.divert((bytes) => {
        pieces.push(Uint8Array.from(bytes ?? []));
        length += bytes?.length ?? 0;
        if (length < asked * all.length) return;
        if (asked++ < ROUNDS) link.write("again\n");
        else resolve();
      });
    });
    link.write("send\n");
    await done;
    expect(Buffer.concat(pieces).equals(Buffer.concat(Array(ROUNDS).fill(all)))).toBe(true);
  } finally {
    await link.close();
    await served.close();
    await pair.close();
  }
});
