import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { HandClock, PageClient, TOKEN, WireRig } from "./wire-rig.ts";

let clock: HandClock;
let rig: WireRig;
beforeEach(async () => {
  clock = new HandClock();
  rig = await WireRig.open({ clock });
});
afterEach(() => rig.close());

const codeOf = (url: string): string => url.split("#k=")[1] ?? "";
const exchange = (code: string, headers: Record<string, string> = { origin: rig.origin }) =>
  rig.ask("/api/session", { method: "POST", headers, body: { code } });

describe("the printed address", () => {
  test("carries its code in the fragment, on the loopback address", () => {
    expect(rig.wire.url).toMatch(/^http:\/\/127\.0\.0\.1:\d+\/#k=[A-Za-z0-9_-]{43}$/);
  });

  test("gives a session in a cookie that no script reads and no other site sends", async () => {
    const reply = await exchange(codeOf(rig.wire.url));
    expect(reply.status).toBe(200);
    expect(reply.headers["set-cookie"]?.[0]).toMatch(/^firstamp_\d+=[\w.-]+; HttpOnly; SameSite=Strict; Path=\/$/);
  });

  test("works once", async () => {
    expect((await exchange(codeOf(rig.wire.url))).status).toBe(200);
    const again = await exchange(codeOf(rig.wire.url));
    expect([again.status, again.headers["set-cookie"]]).toEqual([401, undefined]);
  });

  test("works for 60 s", async () => {
    clock.move(60_001);
    expect((await exchange(codeOf(rig.wire.url))).status).toBe(401);
    expect((await exchange(codeOf(rig.wire.newUrl()))).status).toBe(200);
  });

  test("is not used up by a wrong guess", async () => {
    expect((await exchange("A".repeat(43))).status).toBe(401);
    expect((await exchange(codeOf(rig.wire.url))).status).toBe(200);
  });

  test("is not given to a foreign page that has the code", async () => {
    for (const origin of [
      "https://evil.example",
      "null",
      `http://127.0.0.1:${rig.wire.port + 1}`,
      `https://127.0.0.1:${rig.wire.port}`,
    ]) {
      expect((await exchange(codeOf(rig.wire.url), { origin })).status, origin).toBe(403);
    }
    expect((await exchange(codeOf(rig.wire.url), {})).status, "no origin").toBe(403);
    expect((await exchange(codeOf(rig.wire.url))).status).toBe(200);
  });
});

describe("everything that tells or does", () => {
  const paths = [
    "/api/nonce",
    "/api/snapshot",
    "/api/jobs",
    "/api/jobs/1",
    `/api/jobs/1/attachments/${"0".repeat(64)}`,
  ];

  test("wants a session", async () => {
    for (const path of paths) expect((await rig.ask(path)).status, path).toBe(401);
    const cut = await rig.ask("/api/cut", { method: "POST", headers: { origin: rig.origin }, body: { id: "1" } });
    expect([cut.status, rig.facade.asked.length]).toEqual([401, 0]);
  });

  test("is refused under a foreign Host, whatever else is right: DNS rebinding", async () => {
    const cookie = await rig.cookie();
    for (const host of [
      "evil.example",
      `evil.example:${rig.wire.port}`,
      "127.0.0.1",
      `127.0.0.1:${rig.wire.port + 1}`,
    ]) {
      for (const path of [...paths, "/"]) {
        expect(
          (await rig.ask(path, { headers: { cookie, host, authorization: `Bearer ${TOKEN}` } })).status,
          `${host} ${path}`,
        ).toBeGreaterThanOrEqual(400);
      }
    }
    for (const host of ["127.0.0.1", "localhost", "[::1]"]) {
      expect(
        (await rig.ask("/api/snapshot", { headers: { cookie, host: `${host}:${rig.wire.port}` } })).status,
        host,
      ).toBe(200);
    }
  });

  test("is refused to another page of this machine that has the cookie", async () => {
    const cookie = await rig.cookie();
    for (const site of ["cross-site", "same-site"]) {
      expect((await rig.ask("/api/snapshot", { headers: { cookie, "sec-fetch-site": site } })).status, site).toBe(403);
    }
    expect((await rig.ask("/api/snapshot", { headers: { cookie, "sec-fetch-site": "same-origin" } })).status).toBe(200);
  });

  test("is refused to a cookie with another role, session or signature", async () => {
    const cookie = await rig.cookie(rig.wire.newUrl("viewer"));
    const [id, , signature] = cookie.split(".");
    const wrong = [`${id}.o.${signature}`, `${id}x.v.${signature}`, `${id}.v.${"A".repeat(43)}`, `${id}.v.`, `${id}.v`];
    for (const each of wrong)
      expect((await rig.ask("/api/snapshot", { headers: { cookie: each } })).status, each).toBe(401);
    expect((await rig.ask("/api/snapshot", { headers: { cookie } })).status).toBe(200);
  });

  test("is open to a script that shows the token, and to no other token", async () => {
    expect((await rig.ask("/api/snapshot", { headers: { authorization: `Bearer ${TOKEN}` } })).status).toBe(200);
    for (const token of ["b2".repeat(32), TOKEN.slice(2), "", `${TOKEN}00`]) {
      const reply = await rig.ask("/api/snapshot", { headers: { authorization: `Bearer ${token}` } });
      expect(reply.status, token).toBe(401);
    }
  });

  test("a viewer lets nobody in, an operator does", async () => {
    const viewer = await rig.cookie(rig.wire.newUrl("viewer"));
    const operator = await rig.cookie();
    const ask = (cookie: string, role: string) =>
      rig.ask("/api/code", { method: "POST", headers: { origin: rig.origin, cookie }, body: { role } });
    expect((await ask(viewer, "viewer")).status).toBe(403);
    expect((await ask(operator, "root")).status).toBe(400);
    const { code } = JSON.parse((await ask(operator, "viewer")).text) as { code: string };
    expect((await exchange(code)).status).toBe(200);
  });
});

describe("the live socket", () => {
  test("is refused, before its parser is reached, to whoever is not our page", async () => {
    const cookie = await rig.cookie();
    const host = `127.0.0.1:${rig.wire.port}`;
    const attempts: [status: number, headers: Record<string, string>, path?: string][] = [
      [403, { cookie, host, origin: "https://evil.example" }],
      [403, { cookie, host, origin: "null" }],
      [403, { cookie, host }],
      [403, { cookie, host: "rebind.evil.example", origin: rig.origin }],
      [
        403,
        { cookie, host: `rebind.evil.example:${rig.wire.port}`, origin: `http://rebind.evil.example:${rig.wire.port}` },
      ],
      [403, { cookie, host, origin: `http://localhost:${rig.wire.port}` }],
      [403, { cookie, host, origin: rig.origin, "sec-fetch-site": "cross-site" }],
      [401, { host, origin: rig.origin }],
      [401, { cookie: "firstamp_1=a.o.b", host, origin: rig.origin }],
      [404, { cookie, host, origin: rig.origin }, "/elsewhere"],
    ];
    for (const [status, headers, path] of attempts) {
      await expect(PageClient.open(rig.wire.port, headers, path), JSON.stringify(headers)).rejects.toThrow(
        `refused with ${status}`,
      );
    }
    const page = await PageClient.open(rig.wire.port, { cookie, origin: rig.origin });
    expect((await page.next("hello")).protocol).toBe(1);
  });

  test("tells nothing and does nothing before a nonce was shown", async () => {
    const cookie = await rig.cookie();
    const stranger = await PageClient.open(rig.wire.port, { cookie, origin: rig.origin });
    stranger.send({ type: "cut", id: "1" });
    expect((await stranger.closed).code).toBe(1008);
    const guesser = await PageClient.open(rig.wire.port, { cookie, origin: rig.origin });
    guesser.send({ type: "hello", protocol: 1, nonce: "guess" });
    expect((await guesser.closed).code).toBe(4001);
    expect([stranger.has("snapshot"), guesser.has("snapshot"), rig.facade.asked]).toEqual([false, false, []]);
  });

  test("takes a nonce once, in time, and only from its own session", async () => {
    const [mine, other] = [await rig.cookie(), await rig.cookie()];
    const tryNonce = async (cookie: string, nonce: string): Promise<boolean> => {
      const client = await PageClient.open(rig.wire.port, { cookie, origin: rig.origin });
      client.send({ type: "hello", protocol: 1, nonce });
      return Promise.race([
        client.next("snapshot").then(
          () => true,
          () => false,
        ),
        client.closed.then(() => false),
      ]);
    };
    const nonce = await rig.nonce(mine);
    expect(await tryNonce(other, nonce)).toBe(false);
    expect(await tryNonce(mine, nonce)).toBe(true);
    expect(await tryNonce(mine, nonce)).toBe(false);
    const late = await rig.nonce(mine);
    clock.move(60_001);
    expect(await tryNonce(mine, late)).toBe(false);
  });

  test("needs no Origin and no nonce from a script that shows the token, and still refuses it a foreign Origin", async () => {
    const script = await PageClient.open(rig.wire.port, { authorization: `Bearer ${TOKEN}` });
    script.send({ type: "hello", protocol: 1, nonce: null });
    expect((await script.next("snapshot")).snapshot.board.name).toBe("Kestrel K2");
    const foreign = PageClient.open(rig.wire.port, {
      authorization: `Bearer ${TOKEN}`,
      origin: "https://evil.example",
    });
    await expect(foreign).rejects.toThrow("refused with 403");
  });

  test("ends a page of another protocol, which has our number by then", async () => {
    const cookie = await rig.cookie();
    const page = await PageClient.open(rig.wire.port, { cookie, origin: rig.origin });
    page.send({ type: "hello", protocol: 2, nonce: await rig.nonce(cookie) });
    expect((await page.closed).code).toBe(4000);
    expect([page.has("hello"), page.has("snapshot")]).toEqual([true, false]);
  });

  test("ends a connection that says no hello for 5 s", async () => {
    const cookie = await rig.cookie();
    const silent = await PageClient.open(rig.wire.port, { cookie, origin: rig.origin });
    await silent.next("hello");
    clock.move(5_001);
    expect((await silent.closed).code).toBe(1006);
  });

  test("holds 32 pages and no more", async () => {
    const cookie = await rig.cookie();
    const open = () => PageClient.open(rig.wire.port, { cookie, origin: rig.origin });
    const pages = await Promise.all(Array.from({ length: 32 }, open));
    await expect(open()).rejects.toThrow("refused with 503");
    pages[0]?.socket.close();
    await pages[0]?.closed;
    expect((await (await open()).next("hello")).protocol).toBe(1);
  });
});
