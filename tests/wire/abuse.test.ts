import { connect } from "node:net";
import fc from "fast-check";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { WIRE_PROTOCOL, WireUp } from "../../shared/wire.ts";
import { exampleFrame, exampleRequest } from "./example-snapshot.ts";
import { HandClock, PageClient, WireRig } from "./wire-rig.ts";

let clock: HandClock;
let rig: WireRig;
beforeEach(async () => {
  clock = new HandClock();
  rig = await WireRig.open({ clock });
});
afterEach(() => rig.close());

/** Writes bytes as they are and answers with what came until the far end closed. */
const raw = (bytes: string): Promise<string> =>
  new Promise((resolve) => {
    let came = "";
    const socket = connect(rig.wire.port, "127.0.0.1", () => socket.end(bytes));
    socket.on("data", (chunk) => {
      came += chunk.toString("latin1");
    });
    socket.on("error", () => undefined);
    socket.on("close", () => resolve(came));
  });

/** A masked client frame (RFC 6455 §5.2) with a zero mask: `opcode` with or without FIN, then the payload. */
const frame = (opcode: number, fin: boolean, payload: string): Buffer =>
  Buffer.concat([Buffer.from([(fin ? 0x80 : 0) | opcode, 0x80 | payload.length, 0, 0, 0, 0]), Buffer.from(payload)]);

describe("a message", () => {
  test("with a board file of 200 kB is answered on a connection that goes on; one of 300 kB is refused in words", async () => {
    const page = await rig.page(await rig.session());
    const asked = (id: string, characters: number) => {
      page.send({ type: "preview", id, request: { ...exampleRequest(), board: "x".repeat(characters) } });
      return page.answerTo(id);
    };
    expect(await asked("large", 200_000)).toEqual({ result: "done" });
    expect(await asked("larger", 300_000)).toMatchObject({ result: "refused", code: "bad-message" });
    expect(await asked("small", 10)).toEqual({ result: "done" });
  });

  test("of more than 1 MiB ends its connection with code 1009 and is never looked at", async () => {
    for (const bytes of [1024 * 1024 + 1, 4 * 1024 * 1024]) {
      const page = await rig.page();
      page.send(`{"type":"cut","id":"${"x".repeat(bytes)}"}`);
      expect((await page.closed).code, String(bytes)).toBeOneOf([1006, 1009]);
    }
    expect(rig.facade.asked).toEqual([]);
  });

  test("in more than 64 fragments ends its connection", async () => {
    const page = await rig.page();
    const under = (page.socket as unknown as { _socket: import("node:net").Socket })._socket;
    under.write(frame(1, false, "{"));
    for (let each = 0; each < 200; each++) under.write(frame(0, false, " "));
    expect((await page.closed).code).toBeOneOf([1006, 1008]);
    expect(rig.facade.asked).toEqual([]);
  });

  test("that is no JSON, no text, or no message without an id ends its connection", async () => {
    const binary = await rig.page();
    binary.socket.send(Buffer.from('{"type":"cut","id":"1"}'), { binary: true });
    expect((await binary.closed).code).toBe(1003);
    for (const text of [
      "",
      "{",
      "nul",
      "[1",
      "[]",
      "null",
      "3",
      '"cut"',
      '{"type":"off-with-it"}',
      '{"type":["cut"]}',
      '{"type":"renew-lease"}',
    ]) {
      const page = await rig.page();
      page.send(text);
      expect((await page.closed).code, text).toBe(1008);
    }
    expect(rig.facade.asked).toEqual([]);
  });

  test("with unknown keys or values out of range is refused by name and not done", async () => {
    const page = await rig.page();
    const lease = await page.takeLease();
    const good = {
      type: "start-run",
      id: "s",
      lease,
      deadlineMs: clock.nowMs() + 1000,
      cautionsRead: true,
      confirmed: [{ feed: "aux", volts: 12, limitAmps: 3 }],
      request: exampleRequest(),
    };
    const wrong: unknown[] = [
      { ...good, force: true },
      { ...good, request: { ...exampleRequest(), overVolts: 60 } },
      { ...good, request: { ...exampleRequest(), waiver: { reason: "", items: [] } } },
      { ...good, request: { ...exampleRequest(), board: "x".repeat(256 * 1024 + 1) } },
      { ...good, request: { ...exampleRequest(), coldOhms: { aux: -1 } } },
      { ...good, deadlineMs: null },
      { ...good, lease: 1.5 },
    ];
    for (const message of wrong) {
      page.send(message);
      expect(await page.answerTo("s"), JSON.stringify(message).slice(0, 80)).toMatchObject({
        result: "refused",
        code: "bad-message",
      });
    }
    expect(rig.facade.asked).toEqual([]);
    page.send(good);
    expect(await page.answerTo("s")).toEqual({ result: "done" });
  });

  test("made up at random does nothing unless it is one of ours, and leaves the server serving", async () => {
    const known = new Set(["preview", "start-run", "answer", "cut", "stop"]);
    const word = fc.constantFrom(
      "hello",
      "take-lease",
      "release-lease",
      "preview",
      "start-run",
      "answer",
      "stop",
      "id",
      "lease",
      "request",
      "yes",
      "__proto__",
      "constructor",
    );
    const message = fc.oneof(
      fc.json({ maxDepth: 4 }),
      fc
        .dictionary(word, fc.oneof(word, fc.integer(), fc.boolean(), fc.constant(null), fc.string()))
        .map((each) => JSON.stringify(each)),
      fc
        .record({
          type: word,
          id: fc.string({ maxLength: 70 }),
          lease: fc.integer(),
          question: fc.integer(),
          yes: fc.boolean(),
          deadlineMs: fc.double(),
        })
        .map((each) => JSON.stringify(each)),
      fc.string({ maxLength: 400 }),
    );
    await fc.assert(
      fc.asyncProperty(fc.array(message, { minLength: 1, maxLength: 20 }), async (texts) => {
        rig.facade.asked.length = 0;
        const page = await rig.page();
        for (const text of texts) page.send(text);
        page.socket.close();
        await page.closed;
        for (const { command } of rig.facade.asked) {
          expect(known.has(command.type)).toBe(true);
          if (command.type !== "cut") expect(WireUp.safeParse(command).success).toBe(true);
          expect(command.type).not.toBe("start-run");
        }
      }),
      { numRuns: 60 },
    );
    expect((await rig.ask("/")).status).toBe(200);
  });
});

describe("a flood", () => {
  test("of ten thousand messages ends its connection after the first hundred", async () => {
    const page = await rig.page();
    const request = exampleRequest();
    for (let each = 0; each < 10_000 && page.socket.readyState === page.socket.OPEN; each++) {
      page.send({ type: "preview", id: `p-${each}`, request });
    }
    expect((await page.closed).code).toBeOneOf([1006, 1008]);
    expect(rig.facade.asked.length).toBeGreaterThan(90);
    expect(rig.facade.asked.length).toBeLessThanOrEqual(100);
  });

  test("of one page leaves another its cut", async () => {
    const [flooder, page] = [await rig.page(), await rig.page()];
    for (let each = 0; each < 5_000; each++) flooder.send({ type: "renew-lease", lease: 1 });
    page.send({ type: "cut", id: "now" });
    expect(await page.answerTo("now")).toEqual({ result: "done" });
  });

  test("of 2000 headers is refused, on a request and on an upgrade", async () => {
    const headers = Array.from({ length: 2000 }, (_, each) => `x${each}: y`).join("\r\n");
    for (const first of [
      "GET / HTTP/1.1",
      "GET /live HTTP/1.1\r\nConnection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==",
    ]) {
      const reply = await raw(
        `${first}\r\nHost: 127.0.0.1:${rig.wire.port}\r\nOrigin: ${rig.origin}\r\n${headers}\r\n\r\n`,
      );
      expect(reply).toMatch(/^HTTP\/1\.1 4\d\d /);
    }
    const seventy = Array.from({ length: 70 }, (_, each) => `x${each}: y`).join("\r\n");
    expect(
      await raw(`GET / HTTP/1.1\r\nConnection: close\r\nHost: 127.0.0.1:${rig.wire.port}\r\n${seventy}\r\n\r\n`),
    ).toMatch(/^HTTP\/1\.1 431 /);
  });

  test("of body bytes is refused", async () => {
    const reply = await rig
      .ask("/api/session", {
        method: "POST",
        headers: { origin: rig.origin },
        body: { code: "x".repeat(2 * 1024 * 1024) },
      })
      .catch(() => null);
    expect(reply === null || reply.status === 413).toBe(true);
  });
});

describe("a reader that stops reading", () => {
  const fat = () =>
    exampleFrame(
      1,
      Object.fromEntries(Array.from({ length: 150 }, (_, each) => [`feed${each}`, [12, 1] as [number, number]])),
    );

  test("costs bounded memory, and its neighbour misses nothing", async () => {
    const [stuck, page] = [await rig.page(), await rig.page()];
    stuck.socket.pause();
    const before = process.memoryUsage();
    const rounds = 2_400;
    for (let each = 0; each < rounds; each++) {
      rig.facade.say(fat());
      expect((await page.next("frame")).gap).toBe(false);
    }
    const after = process.memoryUsage();
    // The frames said are some 50 MB; what a stuck reader may hold is 1 MiB, and the kernel's buffers.
    expect(rounds * JSON.stringify(fat()).length).toBeGreaterThan(50e6);
    expect(after.external + after.arrayBuffers - before.external - before.arrayBuffers).toBeLessThan(20e6);
    page.send({ type: "cut", id: "now" });
    expect(await page.answerTo("now")).toEqual({ result: "done" });
  });

  test("gets the latest frame when it reads again, marked as coming after a gap", async () => {
    const page = await rig.page();
    page.socket.pause();
    let said = 0;
    for (; said < 1_000; said++) {
      rig.facade.say({ ...fat(), feeds: fat().feeds.map((feed) => ({ ...feed, ageMs: said })) });
      // Gives the kernel its turn to take what it will.
      await new Promise((resolve) => setImmediate(resolve));
    }
    page.socket.resume();
    let last = await page.next("frame");
    while (!last.gap) last = await page.next("frame");
    expect(last.feeds[0]?.ageMs).toBe(said - 1);
  });

  test("is ended when it has been slow for 5 s", async () => {
    const page = await rig.page();
    page.socket.pause();
    for (let each = 0; each < 1_000; each++) {
      rig.facade.say(fat());
      await new Promise((resolve) => setImmediate(resolve));
    }
    clock.move(1_000);
    for (let second = 0; second < 5; second++) clock.move(1_000);
    page.socket.resume();
    expect((await page.closed).code).toBe(1006);
  });

  test("is ended when it answers no ping", async () => {
    const page = await rig.page();
    page.socket.pause();
    clock.move(41_000);
    page.socket.resume();
    expect((await page.closed).code).toBe(1006);
  });
});

describe("bytes that are no request", () => {
  test("are answered with 4xx or dropped, and the server goes on", async () => {
    await fc.assert(
      fc.asyncProperty(fc.string({ maxLength: 300 }), async (text) => {
        const reply = await raw(`${text}\r\n\r\n`);
        expect(reply === "" || /^HTTP\/1\.1 4\d\d /.test(reply)).toBe(true);
      }),
      { numRuns: 40 },
    );
    expect((await rig.ask("/")).status).toBe(200);
  });

  test("two Host headers, an absolute address and a foreign method are refused", async () => {
    const host = `127.0.0.1:${rig.wire.port}`;
    for (const head of [
      `GET / HTTP/1.1\r\nHost: ${host}\r\nHost: evil.example`,
      `GET http://evil.example/ HTTP/1.1\r\nHost: ${host}`,
      `GET //evil.example/ HTTP/1.1\r\nHost: ${host}`,
      `TRACE / HTTP/1.1\r\nHost: ${host}`,
      `CONNECT evil.example:443 HTTP/1.1\r\nHost: ${host}`,
      "GET / HTTP/1.1",
    ]) {
      const reply = await raw(`${head}\r\nConnection: close\r\n\r\n`);
      expect(reply === "" || /^HTTP\/1\.1 4\d\d /.test(reply), `${head} → ${reply.slice(0, 40)}`).toBe(true);
    }
  });
});

test("a socket whose far end is reset during the handshake hurts nobody", async () => {
  const session = await rig.session();
  for (let each = 0; each < 20; each++) {
    const socket = connect(rig.wire.port, "127.0.0.1");
    await new Promise((resolve) => socket.once("connect", resolve));
    socket.write(
      `GET /live HTTP/1.1\r\nHost: 127.0.0.1:${rig.wire.port}\r\nOrigin: ${rig.origin}\r\nAuthorization: ${session.authorization}\r\nConnection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==\r\n\r\n`,
    );
    socket.resetAndDestroy();
  }
  const page = await PageClient.open(rig.wire.port, { ...session, origin: rig.origin });
  expect((await page.next("hello")).protocol).toBe(WIRE_PROTOCOL);
});
