import { request } from "node:http";
import { connect } from "node:net";
import { describe, expect, test } from "vitest";
import { WebSocket } from "ws";
import { PHONE_CODE_MS } from "../../src/wire/phone/phone-code.ts";
import { lettersOf, type PhoneBench, picture, withPhone } from "./phone-rig.ts";
import { HandClock, WireRig } from "./wire-rig.ts";

const MIB = 1024 * 1024;

async function passOf(bench: PhoneBench): Promise<string> {
  const pass = await bench.use(lettersOf(await bench.code()));
  if (typeof pass === "number") throw new Error(`refused with ${pass}`);
  return pass;
}

describe("photographs by phone", () => {
  test("are off where nobody asked for them: no port, no word to the pages, and no code", async () => {
    const clock = new HandClock();
    const rig = await WireRig.open({ clock });
    try {
      expect(rig.wire.phoneAddresses).toEqual([]);
      const page = await rig.page();
      const lease = await page.takeLease();
      page.send({ type: "phone-code", id: "code", lease, deadlineMs: clock.nowMs() + 3_000, job: "j" });
      expect(await page.answerTo("code")).toMatchObject({ result: "refused", code: "no-phone" });
      expect(page.has("phone")).toBe(false);
    } finally {
      await rig.close();
    }
  });

  test("go into the one job of the code, with name, caption, and that they came by phone", () =>
    withPhone(async (bench) => {
      const other = await bench.store.newJob({ title: "another" });
      const letters = lettersOf(await bench.code());
      expect(letters).toMatch(/^[A-HJKMNP-TV-Z2-9]{4}-[A-HJKMNP-TV-Z2-9]{4}$/);
      // As people type it.
      const pass = await bench.use(` ${letters.toLowerCase().replace("-", " ")} `);
      expect(typeof pass).toBe("string");
      const sent = picture();
      expect((await bench.upload(String(pass), sent, "name=q12.png&caption=burnt%20at%20Q12")).status).toBe(200);
      expect(await bench.filed()).toMatchObject([
        { name: "q12.png", caption: "burnt at Q12", by: "phone", bytes: 5_000, mediaType: "image/png" },
      ]);
      expect((await bench.store.events(other)).map((each) => each.event.kind)).toEqual(["opened"]);
      expect(await bench.kept()).toHaveLength(1);
      const { phone } = await lastPhone(bench, (each) => each.code?.photographs === 1);
      expect(phone.code).toMatchObject({ job: bench.job, used: true, photographs: 1 });
    }));

  test("have a form and nothing else: every other path is not there, whatever the method, and no cookie is set", () =>
    withPhone(async ({ ask, rig, port }) => {
      const form = await ask("/");
      expect([form.status, form.headers["set-cookie"], form.headers["cache-control"]]).toEqual([
        200,
        undefined,
        "no-store",
      ]);
      expect((await ask("/assets/phone-abcdef12.js")).status).toBe(200);
      const session = await rig.session();
      for (const path of [
        "/index.html",
        "/phone.html",
        "/assets/main-abcdef12.js",
        "/api/session",
        "/api/snapshot",
        "/api/jobs",
        "/api/cut",
        "/live",
        "/code",
        "/photographs",
        "/../secret.html",
        "/assets/..%2f..%2fsecret.html",
      ])
        expect([path, (await ask(path, { headers: session })).status]).toEqual([path, 404]);
      for (const [method, path] of [
        ["POST", "/api/cut"],
        ["POST", "/api/session"],
        ["PUT", "/photographs"],
        ["HEAD", "/"],
        ["DELETE", "/code"],
        ["OPTIONS", "/photographs"],
      ])
        expect([method, path, (await ask(path ?? "", { method: method ?? "", headers: session })).status]).toEqual([
          method,
          path,
          404,
        ]);
      expect(rig.facade.asked).toEqual([]);
      const socket = new WebSocket(`ws://127.0.0.1:${port}/live`, { headers: session });
      const refused = await new Promise((resolve) => socket.on("error", (error) => resolve(String(error))));
      expect(String(refused)).toContain("404");
    }));

  test("are refused to another name of this machine, and to a page of another origin", () =>
    withPhone(async (bench) => {
      const pass = await passOf(bench);
      expect((await bench.ask("/", { headers: { host: `bench.example:${bench.port}` } })).status).toBe(403);
      for (const origin of ["http://evil.example", `http://127.0.0.1:${bench.rig.wire.port}`, "null"])
        expect((await bench.upload(pass, picture(), "name=a.png", { origin })).status).toBe(403);
      expect(await bench.filed()).toEqual([]);
    }));
});

describe("a code", () => {
  test("is made by the page in control alone, for a job that is there and was not handed back", () =>
    withPhone(async (bench) => {
      const other = await bench.rig.page();
      other.send({ type: "phone-code", id: "c", lease: 1, deadlineMs: bench.clock.nowMs() + 3_000, job: bench.job });
      expect(await other.answerTo("c")).toMatchObject({ result: "refused", code: "no-lease" });
      expect(await bench.code("no-such-job")).toMatchObject({ result: "refused", code: "no-open-job" });
      const gone = await bench.store.newJob();
      await bench.store.appendEvent(gone, { kind: "stage", stage: "handed-back", text: null });
      expect(await bench.code(gone)).toMatchObject({ result: "refused", code: "no-open-job" });
    }));

  test("serves one phone: a second that types it is refused, and so is every pass but the first one's", () =>
    withPhone(async (bench) => {
      const letters = lettersOf(await bench.code());
      const pass = String(await bench.use(letters));
      expect(await bench.use(letters)).toBe(401);
      for (const wrong of ["", "x", `${pass}x`, pass.slice(1), letters])
        expect((await bench.upload(wrong, picture())).status).toBe(401);
      expect((await bench.upload(pass, picture())).status).toBe(200);
      expect(await bench.filed()).toHaveLength(1);
    }));

  test("ends after ten minutes, used or not", () =>
    withPhone(async (bench) => {
      const pass = await passOf(bench);
      bench.clock.move(PHONE_CODE_MS + 1);
      expect((await bench.upload(pass, picture())).status).toBe(401);
      // The page that made it answered no ping meanwhile.
      const page = await bench.rig.page();
      expect((await page.next("phone")).phone).toMatchObject({ code: null, ended: "time" });
      const again = { type: "phone-code", id: "again", lease: await page.takeLease(), job: bench.job };
      page.send({ ...again, deadlineMs: bench.clock.nowMs() + 3_000 });
      const letters = lettersOf(await page.answerTo("again"));
      bench.clock.move(PHONE_CODE_MS + 1);
      expect(await bench.use(letters)).toBe(401);
      expect(await bench.filed()).toEqual([]);
    }));

  test("ends when it is withdrawn, when another is made, and with ten wrong tries", () =>
    withPhone(async (bench) => {
      const withdrawn = await passOf(bench);
      bench.page.send({ type: "end-phone-code", id: "end" });
      expect(await bench.page.answerTo("end")).toEqual({ result: "done" });
      expect((await bench.upload(withdrawn, picture())).status).toBe(401);
      const first = await passOf(bench);
      const second = await passOf(bench);
      expect((await bench.upload(first, picture())).status).toBe(401);
      expect((await bench.upload(second, picture())).status).toBe(200);
      const letters = lettersOf(await bench.code());
      for (let each = 0; each < 10; each++) expect(await bench.use("AAAA-AAAA")).toBe(401);
      expect(await bench.use(letters)).toBe(401);
      expect((await lastPhone(bench, (each) => each.ended === "wrong-codes")).phone.code).toBeNull();
    }));

  test("ends with its job: nothing more is filed once it was handed back", () =>
    withPhone(async (bench) => {
      const pass = await passOf(bench);
      await bench.store.appendEvent(bench.job, { kind: "stage", stage: "handed-back", text: null });
      bench.rig.facade.say({ type: "job-changed", job: bench.job });
      await lastPhone(bench, (each) => each.ended === "job-closed");
      expect((await bench.upload(pass, picture())).status).toBe(401);
      expect(await bench.filed()).toEqual([]);
    }));
});

describe("what a phone sends", () => {
  test("that is no picture by its bytes is refused, whatever its name and kind say, and nothing of it stays", () =>
    withPhone(async (bench) => {
      const pass = await passOf(bench);
      const svg = Buffer.from('<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>');
      for (const bytes of [svg, Buffer.from("%PDF-1.7"), Buffer.from("PK\x03\x04"), Buffer.alloc(MIB), Buffer.alloc(0)])
        expect((await bench.upload(pass, bytes, "name=q12.png")).status).toBe(415);
      expect((await bench.upload(pass, picture(), "name=a.png", { "content-type": "text/html" })).status).toBe(415);
      expect(
        (await bench.upload(pass, picture(), "name=a.png", { "content-type": "application/json" })).status,
      ).not.toBe(200);
      expect([await bench.filed(), await bench.kept()]).toEqual([[], []]);
      expect((await bench.upload(pass, picture())).status).toBe(200);
    }));

  test("under the name of a path is filed under the last part of it, in the record's own place", () =>
    withPhone(async (bench) => {
      const pass = await passOf(bench);
      for (const name of ["../../../etc/passwd", "C:\\Windows\\q12.png", "a\u0000b\u202e.png", "....", "con.png"])
        expect((await bench.upload(pass, picture(), new URLSearchParams({ name }).toString())).status).toBe(200);
      const names = (await bench.filed()).map((each) => each.name);
      expect(names).toEqual(["passwd", "q12.png", "a_b_.png", "file", "_con.png"]);
      expect(await bench.kept()).toHaveLength(1);
      expect((await bench.upload(pass, picture(), "")).status).toBe(400);
      expect((await bench.upload(pass, picture(), `name=${"x".repeat(400)}`)).status).toBe(400);
    }));

  test("may be 20 MiB and not a byte more, said before or found on the way", () =>
    withPhone(async (bench) => {
      const pass = await passOf(bench);
      expect((await bench.upload(pass, picture(20 * MIB))).status).toBe(200);
      expect((await streamed(bench, { pass, said: 1e12, pieces: 1 })).status).toBe(413);
      expect((await streamed(bench, { pass, pieces: 40 })).status).toBeOneOf([413, "closed"]);
      expect(await bench.filed()).toHaveLength(1);
      await expect.poll(() => bench.kept()).toHaveLength(1);
    }));

  test("and breaks off in the middle leaves nothing, and takes no other's place", () =>
    withPhone(async (bench) => {
      const pass = await passOf(bench);
      for (let each = 0; each < 4; each++) await brokenOff(bench, pass);
      await expect.poll(() => bench.kept()).toEqual([]);
      await expect.poll(async () => (await bench.upload(pass, picture())).status).toBe(200);
      expect(await bench.filed()).toHaveLength(1);
    }));

  test("when its code ends meanwhile is not filed", () =>
    withPhone(async (bench) => {
      const pass = await passOf(bench);
      const slow = streamed(bench, { pass, pieces: 2, before: () => bench.clock.move(PHONE_CODE_MS + 1) });
      expect((await slow).status).toBe(401);
      expect([await bench.filed(), await bench.kept()]).toEqual([[], []]);
    }));

  test("is not read at all without a pass: who has none is sent away at the head", () =>
    withPhone(async (bench) => {
      const reply = await streamed(bench, { pass: "none", said: 15 * MIB, pieces: 1, open: true });
      expect(reply.status).toBe(401);
    }));

  test("comes two at a time, and fifty by one code", () =>
    withPhone(async (bench) => {
      const pass = await passOf(bench);
      const open = [0, 1].map(() => openUpload(bench, pass));
      await Promise.all(open.map((each) => each.begun));
      await expect.poll(async () => (await bench.upload(pass, picture())).status).toBe(429);
      for (const each of open) each.finish();
      expect(await Promise.all(open.map((each) => each.status))).toEqual([200, 200]);
      for (let each = 2; each < 50; each++) expect((await bench.upload(pass, picture(100 + each))).status).toBe(200);
      expect((await bench.upload(pass, picture())).status).toBe(401);
      expect(await bench.filed()).toHaveLength(50);
      expect((await lastPhone(bench, (each) => each.ended !== null)).phone.ended).toBe("full");
    }));

  test("and a hundred connections that say nothing keep neither the page from its cut nor the phone out for long", () =>
    withPhone(async (bench) => {
      const idle = Array.from({ length: 100 }, () => connect(bench.port, "127.0.0.1").on("error", () => undefined));
      const began = performance.now();
      bench.page.send({ type: "cut", id: "now" });
      expect(await bench.page.answerTo("now")).toEqual({ result: "done" });
      expect(performance.now() - began).toBeLessThan(1_000);
      for (const each of idle) each.destroy();
      await expect
        .poll(() =>
          bench.ask("/").then(
            (reply) => reply.status,
            () => 0,
          ),
        )
        .toBe(200);
    }));
});

async function lastPhone(
  { page }: PhoneBench,
  isIt: (phone: Awaited<ReturnType<typeof page.next<"phone">>>["phone"]) => boolean,
) {
  for (;;) {
    const message = await page.next("phone");
    if (isIt(message.phone)) return message;
  }
}

/** An upload whose body comes in pieces of a MiB; without `said` its length is not told. */
function streamed(
  { port }: PhoneBench,
  of: { pass: string; pieces: number; said?: number; before?: () => void; open?: boolean },
): Promise<{ status: number | "closed" }> {
  return new Promise((resolve) => {
    const asked = request(
      {
        ...{ host: "127.0.0.1", port, path: "/photographs?name=a.png", method: "POST" },
        headers: {
          ...{ origin: `http://127.0.0.1:${port}`, authorization: `Bearer ${of.pass}` },
          "content-type": "application/octet-stream",
          ...(of.said === undefined ? {} : { "content-length": String(of.said) }),
        },
      },
      (reply) => {
        reply.resume();
        resolve({ status: reply.statusCode ?? 0 });
        asked.destroy();
      },
    );
    asked.on("error", () => resolve({ status: "closed" }));
    const send = (left: number, first: boolean): void => {
      if (left === 0) {
        if (of.open === true) return;
        of.before?.();
        asked.end();
      } else asked.write(first ? picture(MIB) : Buffer.alloc(MIB, 7), () => send(left - 1, false));
    };
    send(of.pieces, true);
  });
}

/** Begins an upload, and ends its connection with the half of it sent. */
function brokenOff({ port }: PhoneBench, pass: string): Promise<void> {
  return new Promise((resolve) => {
    const socket = connect(port, "127.0.0.1", () => {
      socket.write(
        `POST /photographs?name=a.png HTTP/1.1\r\nHost: 127.0.0.1:${port}\r\nOrigin: http://127.0.0.1:${port}\r\nAuthorization: Bearer ${pass}\r\nContent-Type: application/octet-stream\r\nContent-Length: 100000\r\n\r\n`,
      );
      socket.write(picture(50_000), () => socket.destroy());
    });
    socket.on("close", () => resolve());
  });
}

/** An upload that stays open until it is finished. */
function openUpload({ port }: PhoneBench, pass: string) {
  const asked = request({
    ...{ host: "127.0.0.1", port, path: "/photographs?name=a.png", method: "POST" },
    headers: {
      ...{ origin: `http://127.0.0.1:${port}`, authorization: `Bearer ${pass}` },
      "content-type": "application/octet-stream",
    },
  });
  const status = new Promise<number>((resolve, reject) => {
    asked.on("response", (reply) => resolve(reply.resume().statusCode ?? 0));
    asked.on("error", reject);
  });
  const begun = new Promise<void>((resolve) => asked.write(picture(64 * 1024), () => resolve()));
  return { begun, status, finish: () => void asked.end() };
}
