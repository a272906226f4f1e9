import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { type WireAnswer, WireDown, type WireUp } from "../../shared/wire.ts";
import { exampleRequest } from "./example-snapshot.ts";
import { HandClock, type PageClient, TOKEN, WireRig } from "./wire-rig.ts";

let clock: HandClock;
let rig: WireRig;
beforeEach(async () => {
  clock = new HandClock();
  rig = await WireRig.open({ clock });
});
afterEach(() => rig.close());

const start = (lease: number, over: Partial<Extract<WireUp, { type: "start-run" }>> = {}): WireUp => ({
  type: "start-run",
  id: "start-1",
  lease,
  deadlineMs: clock.nowMs() + 3_000,
  request: exampleRequest(),
  cautionsRead: true,
  confirmed: [{ feed: "aux", volts: 12, limitAmps: 3 }],
  ...over,
});
const refusalOf = async (page: PageClient, message: WireUp & { id: string }): Promise<string> => {
  page.send(message);
  const answer = await page.answerTo(message.id);
  return answer.result === "refused" ? answer.code : answer.result;
};
/** As it arrives, whatever else is answered meanwhile. */
const answerWithId = (page: PageClient, id: string): Promise<WireAnswer> =>
  new Promise((resolve) => {
    page.socket.on("message", (data: Buffer) => {
      const message = WireDown.parse(JSON.parse(data.toString()));
      if (message.type === "answer" && message.id === id) resolve(message.answer);
    });
  });
const started = (): number => rig.facade.asked.filter((each) => each.command.type === "start-run").length;

describe("a sweep", () => {
  test("is begun and spoken to only under the lease and in time; a viewer and a late word do nothing", async () => {
    const page = await rig.page();
    const say = (over: Partial<Extract<WireUp, { type: "say-sweep" }>>): WireUp & { id: string } => ({
      type: "say-sweep",
      id: "say-1",
      lease: 1,
      deadlineMs: clock.nowMs() + 3_000,
      rail: "1v8",
      says: { word: "take" },
      ...over,
    });
    const cold = (lease: number, id: string): WireUp & { id: string } => ({
      type: "start-sweep",
      id,
      lease,
      deadlineMs: clock.nowMs() + 3_000,
      request: exampleRequest(),
      powered: null,
    });
    expect(await refusalOf(page, cold(1, "a"))).toBe("no-lease");
    expect(await refusalOf(page, say({ id: "b" }))).toBe("no-lease");
    const lease = await page.takeLease();
    expect(await refusalOf(page, say({ id: "c", lease, deadlineMs: clock.nowMs() - 1 }))).toBe("too-late");
    for (const wrong of [
      { ...say({ id: "x", lease }), says: { word: "jump" } },
      { ...say({ id: "x", lease }), says: { value: "x" } },
      { ...cold(lease, "x"), powered: { cautionsRead: true, confirmed: [] } },
    ]) {
      page.send(wrong);
      expect(await page.answerTo("x")).toMatchObject({ result: "refused", code: "bad-message" });
    }
    expect(rig.facade.asked).toEqual([]);
    expect(await refusalOf(page, say({ id: "d", lease }))).toBe("done");
    expect(await refusalOf(page, cold(lease, "e"))).toBe("done");
    expect(rig.facade.asked.map((each) => [each.command.type, each.by.role])).toEqual([
      ["say-sweep", "operator"],
      ["start-sweep", "operator"],
    ]);
  });
});

describe("a start", () => {
  test("goes to the bench under the lease, as an operator's", async () => {
    rig.facade.reply = async () => ({ result: "started", run: "7" });
    const page = await rig.page();
    const lease = await page.takeLease();
    expect((await page.next("lease")).holder).toBe("you");
    page.send(start(lease));
    expect(await page.answerTo("start-1")).toEqual({ result: "started", run: "7" });
    expect(rig.facade.asked.map((each) => [each.command.type, each.by.role])).toEqual([["start-run", "operator"]]);
  });

  test("is refused without the lease, under an old or invented one, too late, or dated too far ahead", async () => {
    const page = await rig.page();
    expect(await refusalOf(page, { ...start(1), id: "a" } as never)).toBe("no-lease");
    const lease = await page.takeLease();
    expect(await refusalOf(page, { ...start(lease + 1), id: "b" } as never)).toBe("no-lease");
    expect(await refusalOf(page, { ...start(lease, { deadlineMs: clock.nowMs() - 1 }), id: "c" } as never)).toBe(
      "too-late",
    );
    expect(await refusalOf(page, { ...start(lease, { deadlineMs: clock.nowMs() + 60_000 }), id: "d" } as never)).toBe(
      "deadline",
    );
    expect(started()).toBe(0);
  });

  test("is refused to a page that did not confirm the cautions, the feed, the volts and the limit", async () => {
    const page = await rig.page();
    const lease = await page.takeLease();
    const whole = start(lease) as Record<string, unknown>;
    for (const wrong of [
      { ...whole, cautionsRead: false },
      { ...whole, confirmed: [] },
      { ...whole, cautionsRead: undefined },
    ]) {
      page.send({ ...wrong, id: "x" });
      expect(await page.answerTo("x")).toMatchObject({ result: "refused", code: "bad-message" });
    }
    expect(started()).toBe(0);
  });

  test("sent twice under one id is done once and answered twice, also over a new connection", async () => {
    rig.facade.reply = async () => ({ result: "started", run: String(started()) });
    const session = await rig.session();
    const page = await rig.page(session);
    const lease = await page.takeLease();
    page.send(start(lease));
    page.send(start(lease));
    const answers = [await page.answerTo("start-1"), await page.answerTo("start-1")];
    page.socket.close();
    await page.closed;
    const again = await rig.page(session);
    again.send(start(lease));
    answers.push(await again.answerTo("start-1"));
    expect(answers).toEqual(Array(3).fill({ result: "started", run: "1" }));
    expect(started()).toBe(1);
  });

  test("is refused to a viewer's page, which cannot take the lease but can cut", async () => {
    const viewer = await rig.page(await rig.session(rig.wire.newUrl("viewer")));
    expect(await refusalOf(viewer, { type: "take-lease", id: "l" })).toBe("viewer-only");
    expect(await refusalOf(viewer, start(1) as never)).toBe("no-lease");
    viewer.send({ type: "cut", id: "c" });
    expect(await viewer.answerTo("c")).toEqual({ result: "done" });
    expect(rig.facade.asked.map((each) => [each.command.type, each.by.role])).toEqual([["cut", "viewer"]]);
  });

  test("that the bench refuses by throwing is answered with its sentence", async () => {
    rig.facade.reply = async () => {
      throw new Error("Limit 9 A is above the supply's 5 A; nothing was energised");
    };
    const page = await rig.page();
    page.send(start(await page.takeLease()));
    expect(await page.answerTo("start-1")).toMatchObject({
      result: "refused",
      because: expect.stringContaining("5 A"),
    });
  });
});

describe("the one operator's lease", () => {
  test("is refused to a second page, also of the same browser, until it is handed back", async () => {
    const session = await rig.session();
    const [first, second] = [await rig.page(session), await rig.page(session)];
    const lease = await first.takeLease();
    expect((await second.next("lease")).holder).toBe("other");
    expect(await refusalOf(second, { type: "take-lease", id: "no" })).toBe("lease-taken");
    expect(await refusalOf(second, start(lease) as never)).toBe("no-lease");
    expect(await refusalOf(second, { type: "release-lease", id: "steal", lease })).toBe("no-lease");
    first.send({ type: "release-lease", id: "back", lease });
    expect(await first.answerTo("back")).toEqual({ result: "done" });
    expect(await second.takeLease("again")).toBe(lease + 1);
    expect(rig.facade.gone).toEqual([]);
  });

  test("is handed over by the page that has it when another asks, without a moment in which nobody has it", async () => {
    const [first, second] = [await rig.page(), await rig.page()];
    const lease = await first.takeLease();
    second.send({ type: "ask-lease", id: "ask" });
    expect((await first.next("lease-asked")).by).toMatch(/^page \d+$/);
    first.send({ type: "hand-over", id: "keep", lease, yes: false });
    expect(await second.answerTo("ask")).toMatchObject({ result: "refused", code: "lease-kept" });
    second.send({ type: "ask-lease", id: "again" });
    expect(await first.next("lease-asked")).toEqual({ type: "lease-asked", by: null });
    await first.next("lease-asked");
    expect(await refusalOf(second, { type: "hand-over", id: "steal", lease, yes: true } as never)).toBe("no-lease");
    first.send({ type: "hand-over", id: "give", lease, yes: true });
    expect(await first.answerTo("give")).toEqual({ result: "done" });
    expect(await second.answerTo("again")).toEqual({ result: "lease", lease: lease + 1 });
    expect(await refusalOf(first, start(lease) as never)).toBe("no-lease");
    expect(rig.facade.gone).toEqual([]);
  });

  test("is not given up while something is on, and kept as it was", async () => {
    const [first, second] = [await rig.page(), await rig.page()];
    const lease = await first.takeLease();
    rig.facade.isOn = true;
    expect(await refusalOf(first, { type: "release-lease", id: "up", lease })).toBe("still-on");
    expect(await refusalOf(second, { type: "take-lease", id: "free" })).toBe("lease-taken");
    first.send(start(lease));
    expect(await first.answerTo("start-1")).toEqual({ result: "done" });
    rig.facade.isOn = false;
    first.send({ type: "release-lease", id: "now", lease });
    expect(await first.answerTo("now")).toEqual({ result: "done" });
    expect(await second.takeLease("free-now")).toBe(lease + 1);
  });

  test("goes over with something on only once the page that asked takes the watch; the one in control keeps it until then", async () => {
    const [first, second, third] = [await rig.page(), await rig.page(), await rig.page()];
    const lease = await first.takeLease();
    rig.facade.isOn = true;
    const yes = { type: "accept-lease", yes: true };
    expect(await refusalOf(second, { ...yes, id: "early" } as never)).toBe("not-offered");
    second.send({ type: "ask-lease", id: "ask" });
    await first.next("lease-asked");
    first.send({ type: "hand-over", id: "give", lease, yes: true });
    expect((await second.next("lease-offered")).by).toMatch(/^page \d+$/);
    expect(await refusalOf(third, { ...yes, id: "steal" } as never)).toBe("not-offered");
    expect(await refusalOf(second, { ...start(lease + 1), id: "hasty" } as never)).toBe("no-lease");
    expect(await refusalOf(first, { type: "hand-over", id: "twice", lease, yes: true } as never)).toBe(
      "offered-already",
    );
    expect(first.has("answer")).toBe(false);
    second.send({ ...yes, id: "take" });
    expect(await second.answerTo("ask")).toEqual({ result: "lease", lease: lease + 1 });
    expect(await first.answerTo("give")).toEqual({ result: "done" });
    expect(await refusalOf(first, { ...start(lease), id: "late" } as never)).toBe("no-lease");
    expect(rig.facade.watchers).toHaveLength(1);
    expect(rig.facade.gone).toEqual([]);
  });

  test.each([
    ["says no", (page: PageClient) => page.send({ type: "accept-lease", id: "no", yes: false })],
    ["closes", (page: PageClient) => page.socket.terminate()],
    ["says nothing for 20 s", () => undefined],
  ])("stays where it is when the page that was offered it %s, and both are told", async (_, does) => {
    const [first, second] = [await rig.page(), await rig.page()];
    const lease = await first.takeLease();
    rig.facade.isOn = true;
    second.send({ type: "ask-lease", id: "ask" });
    await first.next("lease-asked");
    first.send({ type: "hand-over", id: "give", lease, yes: true });
    await second.next("lease-offered");
    const gave = answerWithId(first, "give");
    does(second);
    for (let each = 0; each < 5 && does.length === 0; each++) {
      first.send({ type: "renew-lease", lease });
      first.send({ type: "cut", id: `seen-${each}` });
      await answerWithId(first, `seen-${each}`);
      clock.move(4_500);
    }
    expect(await gave).toMatchObject({ result: "refused", code: "not-taken" });
    first.send(start(lease));
    expect(await first.answerTo("start-1")).toEqual({ result: "done" });
    expect(rig.facade.watchers).toEqual([]);
  });

  test("that is asked for and not answered for a minute stays where it is, and one asks at a time", async () => {
    const [first, second, third] = [await rig.page(), await rig.page(), await rig.page()];
    await first.takeLease();
    second.send({ type: "ask-lease", id: "ask" });
    await first.next("lease-asked");
    expect(await refusalOf(third, { type: "ask-lease", id: "too" } as never)).toBe("asked-already");
    for (let each = 0; each < 13; each++) {
      first.send({ type: "renew-lease", lease: 1 });
      first.send({ type: "cut", id: `seen-${each}` });
      await first.answerTo(`seen-${each}`);
      clock.move(5_000);
    }
    expect(await second.answerTo("ask")).toMatchObject({ result: "refused", code: "no-answer" });
  });

  test("keeps every other page from asking for a permit, which would take the instruments from the one in control", async () => {
    const [first, second, viewer] = [
      await rig.page(),
      await rig.page(),
      await rig.page(await rig.session(rig.wire.newUrl("viewer"))),
    ];
    const preview = { type: "preview", request: exampleRequest() };
    second.send({ ...preview, id: "free" });
    expect(await second.answerTo("free")).toEqual({ result: "done" });
    expect(await refusalOf(viewer, { ...preview, id: "v" } as never)).toBe("viewer-only");
    await first.takeLease();
    expect(await refusalOf(second, { ...preview, id: "s" } as never)).toBe("lease-taken");
    first.send({ ...preview, id: "mine" });
    expect(await first.answerTo("mine")).toEqual({ result: "done" });
  });

  test("ends with its connection, and the bench is told", async () => {
    const [first, second] = [await rig.page(), await rig.page()];
    await first.takeLease();
    expect((await second.next("lease")).holder).toBe("other");
    first.socket.terminate();
    expect((await second.next("lease")).holder).toBe("nobody");
    expect(rig.facade.gone).toHaveLength(1);
  });

  test("ends 6 s after its last renewal", async () => {
    const page = await rig.page();
    const lease = await page.takeLease();
    await page.next("lease");
    clock.move(5_900);
    page.send({ type: "renew-lease", lease });
    page.send({ type: "preview", id: "after-renewal", request: exampleRequest() });
    await page.answerTo("after-renewal");
    clock.move(5_900);
    expect(rig.facade.gone).toEqual([]);
    clock.move(200);
    expect((await page.next("lease")).holder).toBe("nobody");
    expect(await refusalOf(page, start(lease) as never)).toBe("no-lease");
    expect([rig.facade.gone.length, started()]).toEqual([1, 0]);
  });
});

describe("a cut", () => {
  test("reaches the bench while a start has not been answered and never will be", async () => {
    rig.facade.reply = (command) =>
      command.type === "cut" ? Promise.resolve({ result: "done" }) : new Promise(() => undefined);
    const page = await rig.page();
    page.send(start(await page.takeLease()));
    await rig.facade.asks("start-run");
    page.send({ type: "cut", id: "now" });
    expect(await page.answerTo("now")).toEqual({ result: "done" });
  });

  test("or the loss of the starter while a run is being prepared cuts that run as soon as it has begun", async () => {
    for (const ending of ["cut", "gone"] as const) {
      let begin: () => void = () => undefined;
      rig.facade.asked.length = 0;
      rig.facade.reply = (command) =>
        command.type === "start-run"
          ? new Promise((resolve) => {
              begin = () => resolve({ result: "started", run: "1" });
            })
          : Promise.resolve({ result: "done" });
      const [page, other] = [await rig.page(), await rig.page()];
      const message = start(await page.takeLease(`take-${ending}`));
      page.send({ ...message, id: `start-${ending}` });
      await rig.facade.asks("start-run");
      if (ending === "cut") {
        other.send({ type: "cut", id: "now" });
        await other.answerTo("now");
        rig.facade.asked.length = 0;
      } else {
        page.socket.terminate();
        while ((await other.next("lease")).holder !== "nobody");
      }
      begin();
      expect((await rig.facade.asks("cut")).id).toBe(`start-${ending}`);
      if (ending === "cut") expect(await page.answerTo("start-cut")).toMatchObject({ result: "refused", code: "cut" });
      page.socket.terminate();
    }
  });

  test("is done as often as it is sent, with an id that was used and with a key nobody knows", async () => {
    const page = await rig.page();
    for (const cut of [{ id: "1" }, { id: "1" }, { id: "1", hurry: true }, {}, { id: 7 }])
      page.send({ type: "cut", ...cut });
    for (const id of ["1", "1", "1", "cut", "cut"]) expect(await page.answerTo(id)).toEqual({ result: "done" });
    expect(rig.facade.asked).toHaveLength(5);
  });

  test("comes by plain HTTP too, for a page whose socket is stuck", async () => {
    const session = await rig.session(rig.wire.newUrl("viewer"));
    const reply = await rig.ask("/api/cut", {
      method: "POST",
      headers: { ...session, origin: rig.origin },
      body: { id: "9" },
    });
    expect([reply.status, JSON.parse(reply.text)]).toEqual([200, { result: "done" }]);
    const script = await rig.ask("/api/cut", {
      method: "POST",
      headers: { authorization: `Bearer ${TOKEN}` },
      body: {},
    });
    expect(script.status).toBe(200);
    const foreign = await rig.ask("/api/cut", {
      method: "POST",
      headers: { ...session, origin: "https://evil.example" },
      body: {},
    });
    expect(foreign.status).toBe(403);
    expect(rig.facade.asked.map((each) => each.command.type)).toEqual(["cut", "cut"]);
  });
});
