import { createServer } from "node:net";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import type { Link, LinkClosed } from "../../src/link/link.ts";
import { openLink } from "../../src/link/open-link.ts";
import { realClock } from "../../src/system/real-clock.ts";
import { HandClock } from "../hand-clock.ts";
import { socketFarEnd } from "./far-end.ts";
import { until } from "./until.ts";

let far: Awaited<ReturnType<typeof socketFarEnd>>;
beforeEach(async () => {
  far = await socketFarEnd();
});
afterEach(() => far.close());

interface Seen {
  link: Link;
  lines: string[];
  junk: string[];
  closed: LinkClosed[];
}

async function open(address = far.address): Promise<Seen> {
  const link = await openLink({ address, clock: realClock });
  const seen: Seen = { link, lines: [], junk: [], closed: [] };
  link.onLine(({ text }) => seen.lines.push(text));
  link.onJunk(({ why, text }) => seen.junk.push(`${why}: ${text}`));
  link.onClose((each) => seen.closed.push(each));
  return seen;
}

describe("opening a socket", () => {
  test("that nobody serves says that it refused, and which port is usual", async () => {
    const server = createServer();
    await new Promise<void>((resolve) => server.listen(0, "127.0.0.1", resolve));
    const { port } = server.address() as { port: number };
    await new Promise((resolve) => server.close(resolve));
    await expect(openLink({ address: `TCPIP0::127.0.0.1::${port}::SOCKET`, clock: realClock })).rejects.toMatchObject({
      code: "connection-refused",
      message: expect.stringMatching(/"127\.0\.0\.1" port \d+: the connection was refused;.*5025.*nothing was sent/),
    });
  });

  test("ends at its deadline, and gives the connection back", async () => {
    const clock = new HandClock();
    const opening = openLink({ address: far.address, clock, deadlineMs: 700 });
    clock.advance(700);
    await expect(opening).rejects.toMatchObject({
      code: "no-reply",
      message: expect.stringContaining("within 700 ms"),
    });
  });

  // RFC 2606 keeps .invalid without hosts.
  test("of a host that nobody knows says so", async () => {
    await expect(openLink({ address: "TCPIP0::psu.invalid::5025::SOCKET", clock: realClock })).rejects.toMatchObject({
      code: "no-reply",
      message: expect.stringContaining('"psu.invalid"'),
    });
  });

  test("by an IPv6 address in brackets works", async () => {
    const server = createServer((socket) => socket.end("12.34\n"));
    await new Promise<void>((resolve) => server.listen(0, "::1", resolve));
    const { port } = server.address() as { port: number };
    const seen = await open(`tcpip::[::1]::${port}::socket`);
    expect(seen.link.address).toBe(`TCPIP0::[::1]::${port}::SOCKET`);
    await until(() => seen.closed.length > 0);
    expect(seen.lines).toEqual(["12.34"]);
    await new Promise((resolve) => server.close(resolve));
  });
});

describe("a socket link", () => {
  const answer = "+1.234500E+01\r\n";

  test("an end at any byte of an answer is noticed; half an answer is junk, never a line", async () => {
    for (let at = 0; at <= answer.length; at++) {
      const seen = await open();
      seen.link.write(`${at}?\n`);
      await until(() => far.heard().endsWith(`${at}?\n`));
      (await far.socket()).end(answer.slice(0, at));
      await until(() => seen.closed.length > 0);
      expect(seen.closed).toEqual([{ why: "ended", detail: expect.any(String) }]);
      const whole = at >= answer.indexOf("\r") + 1;
      expect(seen.lines).toEqual(whole ? ["+1.234500E+01"] : []);
      expect(seen.junk).toEqual(whole || at === 0 ? [] : [`half-line: ${answer.slice(0, at)}`]);
      expect(() => seen.link.write("OUTP ON\n")).toThrow(expect.objectContaining({ code: "link-closed" }));
    }
    expect(far.heard()).not.toContain("OUTP ON");
  });

  test("a reset at any byte of an answer is noticed, and makes no line of half an answer", async () => {
    for (let at = 0; at <= answer.length; at++) {
      const seen = await open();
      seen.link.write(`${at}?\n`);
      await until(() => far.heard().endsWith(`${at}?\n`));
      const socket = await far.socket();
      await new Promise<void>((resolve) =>
        at === 0 ? resolve() : void socket.write(answer.slice(0, at), () => resolve()),
      );
      socket.resetAndDestroy();
      await until(() => seen.closed.length > 0);
      // After bytes in the same turn Linux tells Node of an end rather than a reset; and a reset may overtake the bytes.
      expect(at === 0 ? ["reset"] : ["reset", "ended"]).toContain(seen.closed[0]?.why);
      expect(seen.closed).toHaveLength(1);
      const whole = at >= answer.indexOf("\r") + 1;
      expect(whole ? [[], ["+1.234500E+01"]] : [[]]).toContainEqual(seen.lines);
    }
  });

  test("close() does not wait for an instrument that keeps its side open", async () => {
    const seen = await open();
    (await far.socket()).allowHalfOpen = true;
    await seen.link.close();
    expect(seen.closed).toMatchObject([{ why: "asked" }]);
  });

  test("an instrument that takes nothing fails the link, and what waits is bounded", async () => {
    const seen = await open();
    (await far.socket()).pause();
    let refused: unknown;
    let turns = 0;
    while (refused === undefined) {
      try {
        seen.link.write(`${"X".repeat(16_383)}\n`);
      } catch (error) {
        refused = error;
      }
      if (++turns % 64 === 0) await new Promise((resolve) => setImmediate(resolve));
    }
    expect(refused).toMatchObject({ code: "link-closed", message: expect.stringContaining("accepts nothing") });
    await until(() => seen.closed.length > 0);
    expect(seen.closed[0]?.why).toBe("write-failed");
  });
});
