import { closeSync, constants, openSync } from "node:fs";
import { ReadStream } from "node:tty";
import type { ServedPort, ServeWire } from "./wire.ts";

/**
 * Serves an instrument on the far end of a pair of pseudo terminals; `near` is what the bench file names. A terminal has
 * no connections: one wire lives as long as the pair.
 */
export function servePty(serve: ServeWire, pair: { near: string; far: string }): ServedPort {
  // The stream opens the terminal anew for itself; this first descriptor stays ours to close.
  const descriptor = openSync(pair.far, constants.O_RDWR | constants.O_NOCTTY);
  const stream = new ReadStream(descriptor);
  let gone = false;
  const leave = (): void => {
    gone = true;
    stream.destroy();
  };
  stream.on("error", leave);
  const user = serve({
    write: (bytes) => {
      if (!gone) stream.write(bytes);
    },
    // A terminal has no orderly end; the near side sees nothing until the pair goes.
    end: leave,
    reset: leave,
  });
  if (user === "refuse") throw new Error(`the instrument on ${pair.near} refused its only wire`);
  stream.on("data", (bytes: Buffer) => user.onBytes(bytes));
  stream.on("close", () => {
    gone = true;
    closeSync(descriptor);
    user.onGone("closed");
  });
  return {
    address: `ASRL${pair.near}::INSTR`,
    close: async () => {
      if (!gone) {
        const closed = new Promise<void>((resolve) => stream.once("close", () => resolve()));
        leave();
        await closed;
      }
    },
  };
}
