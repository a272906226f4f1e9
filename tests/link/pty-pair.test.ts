import { existsSync } from "node:fs";
import { open } from "node:fs/promises";
import { afterEach, expect, test } from "vitest";
import { openPtyPair, type PtyPair } from "./pty-pair.ts";

let pair: PtyPair;
afterEach(() => pair.close());

test("a pty pair carries bytes both ways, also after an end was closed and opened again", async () => {
  pair = await openPtyPair();
  for (const [from, to] of [
    [pair.a, pair.b],
    [pair.b, pair.a],
    [pair.a, pair.b],
  ] as const) {
    const reader = await open(to, "r+");
    const writer = await open(from, "r+");
    await writer.write("0123456789\n");
    const { buffer, bytesRead } = await reader.read(Buffer.alloc(64), 0, 64);
    expect(buffer.toString("latin1", 0, bytesRead)).toBe("0123456789\n");
    await writer.close();
    await reader.close();
  }
});

test("a hang-up ends the line for whoever holds it, and the paths are gone", async () => {
  pair = await openPtyPair();
  const holder = await open(pair.a, "r+");
  const reading = holder.read(Buffer.alloc(64), 0, 64);
  pair.hangUp();
  // Linux ends a pending read of a hung-up tty with nothing or with EIO.
  const outcome = await reading.then(
    ({ bytesRead }) => bytesRead,
    (error: NodeJS.ErrnoException) => error.code,
  );
  expect([0, "EIO"]).toContain(outcome);
  await expect(holder.write("x")).rejects.toMatchObject({ code: "EIO" });
  await holder.close();
  expect(existsSync(pair.a)).toBe(false);
});
