import { beforeEach, expect, test } from "vitest";
import type { WireAnswer, WireUp } from "../../shared/wire.ts";
import { CommandGate, type Sender } from "../../src/wire/command-gate.ts";
import { HandClock } from "../hand-clock.ts";
import { exampleRequest } from "./example-snapshot.ts";
import { ScriptedFacade } from "./scripted-facade.ts";

let clock: HandClock;
let facade: ScriptedFacade;
let gate: CommandGate;
let from: Sender;
let lease: number;
/** Lets what the bench is asked to prepare come to its end. */
let prepared: ((answer: WireAnswer) => void)[];
beforeEach(async () => {
  clock = new HandClock();
  facade = new ScriptedFacade();
  prepared = [];
  facade.reply = (command) =>
    command.type === "cut" || command.type === "stop"
      ? Promise.resolve({ result: "done" })
      : new Promise((resolve) => prepared.push(resolve));
  gate = new CommandGate({
    facade,
    clock,
    onLeaseLost: () => undefined,
    onAsked: () => undefined,
    onOffered: () => undefined,
  });
  from = { connection: "page", session: { id: "s", name: "s", mayOperate: true, byToken: false } as Sender["session"] };
  const answer = await gate.take({ type: "take-lease", id: "lease" }, from);
  if (answer.result !== "lease") throw new Error("no lease");
  ({ lease } = answer);
});

const start = (id: string, withinMs = 3000): Extract<WireUp, { type: "start-run" }> => ({
  type: "start-run",
  id,
  lease,
  deadlineMs: clock.nowMs() + withinMs,
  request: exampleRequest(),
  cautionsRead: true,
  confirmed: [{ feed: "aux", volts: 12, limitAmps: 3 }],
});
const settled = () => new Promise((resolve) => setImmediate(resolve));
const asked = (): string[] => facade.asked.map((each) => each.command.type);

test("a start waits for its turn behind a preview, and is done when that is over in time", async () => {
  void gate.take({ type: "preview", id: "a", request: exampleRequest() }, from);
  const answer = gate.take(start("b"), from);
  await settled();
  expect(asked()).toEqual(["preview"]);
  clock.advance(1000);
  prepared.shift()?.({ result: "done" });
  await settled();
  expect(asked()).toEqual(["preview", "start-run"]);
  prepared.shift()?.({ result: "started", run: "1" });
  expect(await answer).toEqual({ result: "started", run: "1" });
});

test("a start whose deadline passed while it waited for its turn is refused, and the bench never hears of it", async () => {
  void gate.take({ type: "preview", id: "a", request: exampleRequest() }, from);
  const answer = gate.take(start("b", 3000), from);
  await settled();
  clock.advance(3001);
  prepared.shift()?.({ result: "done" });
  expect(await answer).toMatchObject({ result: "refused", code: "too-late" });
  expect(asked()).toEqual(["preview"]);
});

test("a start whose sender lost the lease while it waited for its turn is refused", async () => {
  void gate.take({ type: "preview", id: "a", request: exampleRequest() }, from);
  const answer = gate.take(start("b", 9000), from);
  await settled();
  // Unrenewed, a lease ends after 6 s.
  clock.advance(6001);
  prepared.shift()?.({ result: "done" });
  expect(await answer).toMatchObject({ result: "refused", code: "no-lease" });
  expect(asked()).toEqual(["preview"]);
});

test.each(["cut", "stop"] as const)(
  "a %s is done at once and ends every start that was asked for before it",
  async (type) => {
    const first = gate.take(start("a"), from);
    const second = gate.take(start("b"), from);
    await settled();
    const off = type === "cut" ? gate.cut("off", from) : gate.take({ type: "stop", id: "off" }, from);
    expect(await off).toEqual({ result: "done" });
    // The first began after all: it is cut.
    prepared.shift()?.({ result: "started", run: "1" });
    expect(await first).toMatchObject({ result: "refused", code: "cut" });
    expect(await second).toMatchObject({ result: "refused", code: "cut" });
    expect(asked()).toEqual(["start-run", type, "cut"]);
  },
);

test("a preparation that fails keeps nobody behind it from its turn", async () => {
  facade.reply = (command) =>
    command.type === "preview" ? Promise.reject(new Error("no")) : Promise.resolve({ result: "started", run: "2" });
  const preview = gate.take({ type: "preview", id: "a", request: exampleRequest() }, from);
  expect(await gate.take(start("b"), from)).toEqual({ result: "started", run: "2" });
  expect(await preview).toMatchObject({ result: "refused", code: "failed" });
});
