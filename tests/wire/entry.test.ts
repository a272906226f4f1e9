import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { WebSocket } from "ws";
import { WIRE_PROTOCOL } from "../../shared/wire.ts";
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

  test("gives a bearer in its body and no cookie, which would go to every other port of this machine", async () => {
    const reply = await exchange(codeOf(rig.wire.url));
    expect([reply.status, reply.headers["set-cookie"]]).toEqual([200, undefined]);
    const { bearer } = JSON.parse(reply.text) as { bearer: string };
    expect(bearer).toMatch(/^[\w-]{22}\.o\.[\w-]{43}$/);
    const asked = (headers: Record<string, string>) => rig.ask("/api/snapshot", { headers });
    expect((await asked({ authorization: `Bearer ${bearer}` })).status).toBe(200);
    expect((await asked({ cookie: `firstamp_${rig.wire.port}=${bearer}` })).status).toBe(401);
  });

  test("works once", async () => {
    expect((await exchange(codeOf(rig.wire.url))).status).toBe(200);
    const again = await exchange(codeOf(rig.wire.url));
    expect([again.status, again.text.includes("bearer")]).toEqual([401, false]);
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
    "/api/session",
    "/api/sessions",
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
    const session = await rig.session();
    for (const host of [
      "evil.example",
      `evil.example:${rig.wire.port}`,
      "127.0.0.1",
      `127.0.0.1:${rig.wire.port + 1}`,
    ]) {
      for (const path of [...paths, "/"]) {
        expect(
          (await rig.ask(path, { headers: { ...session, host, authorization: `Bearer ${TOKEN}` } })).status,
          `${host} ${path}`,
        ).toBeGreaterThanOrEqual(400);
      }
    }
    for (const host of ["127.0.0.1", "localhost", "[::1]"]) {
      expect(
        (await rig.ask("/api/snapshot", { headers: { ...session, host: `${host}:${rig.wire.port}` } })).status,
        host,
      ).toBe(200);
    }
  });

  test("is refused to another page of this machine that has the bearer", async () => {
    const session = await rig.session();
    for (const site of ["cross-site", "same-site"]) {
      expect((await rig.ask("/api/snapshot", { headers: { ...session, "sec-fetch-site": site } })).status, site).toBe(
        403,
      );
    }
    expect((await rig.ask("/api/snapshot", { headers: { ...session, "sec-fetch-site": "same-origin" } })).status).toBe(
      200,
    );
  });

  test("is refused to a bearer with another role, session or signature", async () => {
    const session = await rig.session(rig.wire.newUrl("viewer"));
    const [id, , signature] = session.authorization.replace("Bearer ", "").split(".");
    const wrong = [`${id}.o.${signature}`, `${id}x.v.${signature}`, `${id}.v.${"A".repeat(43)}`, `${id}.v.`, `${id}.v`];
    for (const each of wrong)
      expect((await rig.ask("/api/snapshot", { headers: { authorization: `Bearer ${each}` } })).status, each).toBe(401);
    expect((await rig.ask("/api/snapshot", { headers: session })).status).toBe(200);
  });

  test("is open to a script that shows the token, and to no other token", async () => {
    expect((await rig.ask("/api/snapshot", { headers: { authorization: `Bearer ${TOKEN}` } })).status).toBe(200);
    for (const token of ["b2".repeat(32), TOKEN.slice(2), "", `${TOKEN}00`]) {
      const reply = await rig.ask("/api/snapshot", { headers: { authorization: `Bearer ${token}` } });
      expect(reply.status, token).toBe(401);
    }
  });

  test("a viewer lets nobody in, an operator does", async () => {
    const viewer = await rig.session(rig.wire.newUrl("viewer"));
    const operator = await rig.session();
    const ask = (session: { authorization: string }, role: string) =>
      rig.ask("/api/code", { method: "POST", headers: { origin: rig.origin, ...session }, body: { role } });
    expect((await ask(viewer, "viewer")).status).toBe(403);
    expect((await ask(operator, "root")).status).toBe(400);
    const { code } = JSON.parse((await ask(operator, "viewer")).text) as { code: string };
    expect((await exchange(code)).status).toBe(200);
  });
});

describe("the live socket", () => {
  test("is refused, before its parser is reached, to whoever is not our page", async () => {
    const session = await rig.session();
    const host = `127.0.0.1:${rig.wire.port}`;
    const attempts: [status: number, headers: Record<string, string>, path?: string][] = [
      [403, { ...session, host, origin: "https://evil.example" }],
      [403, { ...session, host, origin: "null" }],
      [403, { ...session, host }],
      [403, { ...session, host: "rebind.evil.example", origin: rig.origin }],
      [
        403,
        {
          ...session,
          host: `rebind.evil.example:${rig.wire.port}`,
          origin: `http://rebind.evil.example:${rig.wire.port}`,
        },
      ],
      [403, { ...session, host, origin: `http://localhost:${rig.wire.port}` }],
      [403, { ...session, host, origin: rig.origin, "sec-fetch-site": "cross-site" }],
      [401, { host, origin: rig.origin }],
      [401, { authorization: "Bearer a.o.b", host, origin: rig.origin }],
      [404, { ...session, host, origin: rig.origin }, "/elsewhere"],
    ];
    for (const [status, headers, path] of attempts) {
      await expect(PageClient.open(rig.wire.port, headers, path), JSON.stringify(headers)).rejects.toThrow(
        `refused with ${status}`,
      );
    }
    const page = await PageClient.open(rig.wire.port, { ...session, origin: rig.origin });
    expect((await page.next("hello")).protocol).toBe(WIRE_PROTOCOL);
  });

  test("takes a page's bearer in a subprotocol, since a browser's socket sets no header, and never sends it back", async () => {
    const { authorization } = await rig.session();
    const open = (bearer: string) =>
      new WebSocket(`ws://127.0.0.1:${rig.wire.port}/live`, ["firstamp", `firstamp-bearer.${bearer}`], {
        origin: rig.origin,
      });
    const socket = open(authorization.replace("Bearer ", ""));
    await new Promise((resolve, reject) => socket.once("open", resolve).once("error", reject));
    expect(socket.protocol).toBe("firstamp");
    socket.terminate();
    const wrong = open("a.o.b");
    await expect(new Promise((_, reject) => wrong.once("error", reject))).rejects.toThrow("401");
  });

  test("tells nothing and does nothing before hello", async () => {
    const stranger = await PageClient.open(rig.wire.port, { ...(await rig.session()), origin: rig.origin });
    stranger.send({ type: "cut", id: "1" });
    expect((await stranger.closed).code).toBe(1008);
    expect([stranger.has("snapshot"), rig.facade.asked]).toEqual([false, []]);
  });

  test("and every request of a session end when the session is ended; the others go on", async () => {
    const [mine, other] = [await rig.session(), await rig.session()];
    const page = await rig.page(other);
    const listed = JSON.parse((await rig.ask("/api/sessions", { headers: mine })).text) as {
      sessions: { session: string; name: string }[];
    };
    const { session } = JSON.parse((await rig.ask("/api/session", { headers: other })).text) as { session: string };
    expect(listed.sessions.map((each) => each.session)).toContain(session);
    const end = (headers: Record<string, string>, id = session) =>
      rig.ask(`/api/sessions/${id}/end`, { method: "POST", headers: { origin: rig.origin, ...headers } });
    expect((await end(await rig.session(rig.wire.newUrl("viewer")))).status).toBe(403);
    expect((await end(mine)).status).toBe(200);
    expect((await page.closed).code).toBe(4001);
    expect((await rig.ask("/api/snapshot", { headers: other })).status).toBe(401);
    expect((await rig.ask("/api/snapshot", { headers: mine })).status).toBe(200);
    expect((await end(mine)).status).toBe(404);
  });

  test("needs no Origin from a script that shows the token, and still refuses it a foreign Origin", async () => {
    const script = await PageClient.open(rig.wire.port, { authorization: `Bearer ${TOKEN}` });
    script.send({ type: "hello", protocol: WIRE_PROTOCOL, nonce: null });
    expect((await script.next("snapshot")).snapshot.board.name).toBe("Kestrel K2");
    const foreign = PageClient.open(rig.wire.port, {
      authorization: `Bearer ${TOKEN}`,
      origin: "https://evil.example",
    });
    await expect(foreign).rejects.toThrow("refused with 403");
  });

  test("ends a page of another protocol, which has our number by then", async () => {
    const session = await rig.session();
    const page = await PageClient.open(rig.wire.port, { ...session, origin: rig.origin });
    page.send({ type: "hello", protocol: WIRE_PROTOCOL + 1 });
    expect((await page.closed).code).toBe(4000);
    expect([page.has("hello"), page.has("snapshot")]).toEqual([true, false]);
  });

  test("ends a connection that says no hello for 5 s", async () => {
    const session = await rig.session();
    const silent = await PageClient.open(rig.wire.port, { ...session, origin: rig.origin });
    await silent.next("hello");
    clock.move(5_001);
    expect((await silent.closed).code).toBe(1006);
  });

  test("holds 32 pages and no more", async () => {
    const session = await rig.session();
    const open = () => PageClient.open(rig.wire.port, { ...session, origin: rig.origin });
    const pages = await Promise.all(Array.from({ length: 32 }, open));
    await expect(open()).rejects.toThrow("refused with 503");
    pages[0]?.socket.close();
    await pages[0]?.closed;
    expect((await (await open()).next("hello")).protocol).toBe(WIRE_PROTOCOL);
  });
});
