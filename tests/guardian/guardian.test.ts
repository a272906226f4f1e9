import { expect, test } from "vitest";
import type { ArmedSupply, ArmFile, FromGuardian } from "../../shared/guardian.ts";
import { Guardian } from "../../src/guardian/guardian.ts";
import type { SwitchedOff } from "../../src/guardian/switch-off.ts";
import { Silence } from "../../src/system/silence.ts";
import { HandClock } from "../hand-clock.ts";

const supply = (name: string): ArmedSupply => ({
  name,
  address: "TCPIP0::127.0.0.1::1::SOCKET",
  serial: { baudRate: 9600, dataBits: 8, parity: "none", stopBits: 1, flowControl: "none" },
  off: [{ afterMs: 0, text: "OUTP OFF\n" }],
  gapMs: 0,
  replyMs: 100,
  state: ["OUTP?"],
  offAnswers: ["0"],
  current: [],
  zeroAmps: 0.01,
  volts: [],
  stepVolts: null,
  identityQuery: "*IDN?",
  identity: name,
});
const ARM: ArmFile = { version: 1, record: "r", benchPid: 4711, benchStart: "1", supplies: [supply("a"), supply("b")] };
const off = (name: string): SwitchedOff => ({ name, output: "off", detail: "proved" });
const unknown = (name: string, detail: string): SwitchedOff => ({ name, output: "unknown", detail });

/** A guardian on a clock set by hand; everything that it does is written down with its time. */
class Rig {
  readonly clock = new HandClock();
  readonly did: string[] = [];
  readonly sent: FromGuardian[] = [];
  readonly incidents: { tookMs: number; why: string; outputs: string[] }[] = [];
  /** What a try comes to, by supply and count. */
  tries: (name: string, count: number) => Promise<SwitchedOff> = async (name) => off(name);
  diskIsFull = false;
  readonly prepared: string[] = [];
  loads: "well" | "fails" = "well";
  /** Tries that no longer wait for a link to open. */
  late = 0;
  readonly #counts = new Map<string, number>();
  readonly guardian = new Guardian({
    clock: this.clock,
    silence: new Silence(0),
    send: (message) => this.sent.push(message),
    endBench: ({ benchPid }) => this.#note(`end ${benchPid}`),
    switchOff: ({ name }, isLate) => {
      if (isLate) this.late += 1;
      const count = (this.#counts.get(name) ?? 0) + 1;
      this.#counts.set(name, count);
      this.#note(`off ${name}`);
      return this.tries(name, count);
    },
    prepare: ({ supplies }) => {
      this.prepared.push(...supplies.map(({ name }) => name));
      if (this.loads === "fails") throw new Error("no such package");
    },
    keepArm: () => this.#disk("keep"),
    forgetArm: () => this.#disk("forget"),
    leaveIncident: (_, { why, tookMs, supplies }) => {
      this.incidents.push({ why, tookMs, outputs: supplies.map((each) => each.output) });
      this.#disk("incident");
    },
    exit: (code) => this.#note(`exit ${code}`),
  });

  #note(what: string): void {
    this.did.push(`${this.clock.nowMs()} ${what}`);
  }

  #disk(what: string): void {
    this.#note(what);
    if (this.diskIsFull) throw new Error("no space left");
  }

  arm(): void {
    this.guardian.receive({ type: "arm", id: 1, arm: ARM });
    this.did.length = 0;
  }

  /** Time passes in steps of the guardian's own look, and what was promised meanwhile is settled. */
  async passes(ms: number): Promise<void> {
    for (let left = ms; left > 0; left -= 25) {
      this.clock.advance(Math.min(25, left));
      await new Promise((resolve) => setImmediate(resolve));
    }
  }
}

test("a beat is answered, an arm is kept and confirmed, a disarm takes the file away; nothing is switched", async () => {
  const rig = new Rig();
  rig.guardian.receive({ type: "beat" });
  rig.guardian.receive({ type: "arm", id: 7, arm: ARM });
  rig.guardian.receive({ type: "disarm" });
  await rig.passes(10_000);
  expect(rig.sent).toEqual([{ type: "beat" }, { type: "armed", id: 7 }]);
  expect(rig.did).toEqual(["0 keep", "0 forget"]);
});

test("the code of a cut is loaded before the arm is confirmed; where that fails the arm is refused, and nothing is guarded", () => {
  const rig = new Rig();
  rig.arm();
  expect(rig.prepared).toEqual(["a", "b"]);
  expect(rig.sent).toEqual([{ type: "armed", id: 1 }]);
  const lacking = new Rig();
  lacking.loads = "fails";
  lacking.arm();
  expect(lacking.sent).toEqual([{ type: "refused", id: 1, because: "no such package" }]);
  lacking.guardian.disconnected();
  expect(lacking.did).toEqual(["0 exit 0"]);
});

test("where another arm is refused, the first one still holds", async () => {
  const rig = new Rig();
  rig.arm();
  rig.loads = "fails";
  rig.arm();
  expect(rig.sent.at(-1)).toMatchObject({ type: "refused" });
  rig.guardian.disconnected();
  await rig.passes(25);
  expect(rig.did).toEqual(expect.arrayContaining(["0 off a", "0 off b"]));
});

test("a disk that is full keeps no arm from being confirmed and no cut from being made", async () => {
  const rig = new Rig();
  rig.diskIsFull = true;
  rig.guardian.receive({ type: "arm", id: 7, arm: ARM });
  expect(rig.sent).toEqual([{ type: "armed", id: 7 }]);
  rig.guardian.disconnected();
  await rig.passes(25);
  expect(rig.did.map((each) => each.replace(/^\d+ /, ""))).toEqual([
    "keep",
    "end 4711",
    "off a",
    "off b",
    "incident",
    "exit 0",
  ]);
});

test("a closed pipe ends it where nothing is armed, and is a cut in the same turn where something is", async () => {
  const idle = new Rig();
  idle.guardian.disconnected();
  expect(idle.did).toEqual(["0 exit 0"]);
  const rig = new Rig();
  rig.arm();
  rig.guardian.disconnected();
  expect(rig.did).toEqual(["0 end 4711", "0 off a", "0 off b"]);
});

test("an armed bench process that beats is left alone; silent for more than 250 ms it is ended and cut, once", async () => {
  const rig = new Rig();
  rig.arm();
  for (let each = 0; each < 20; each++) {
    await rig.passes(50);
    rig.guardian.receive({ type: "beat" });
  }
  expect(rig.did).toEqual([]);
  await rig.passes(250);
  expect(rig.did).toEqual([]);
  await rig.passes(50);
  rig.guardian.disconnected();
  await rig.passes(1000);
  expect(rig.did.filter((each) => each.endsWith("end 4711"))).toEqual(["1275 end 4711"]);
  expect(rig.incidents).toMatchObject([{ why: "the bench process was silent for 275 ms", outputs: ["off", "off"] }]);
});

test("it goes on trying once a second for as long as it lives: an hour later a supply that answers is proved off", async () => {
  const rig = new Rig();
  let answers = false;
  rig.tries = async (name) => (name === "a" || answers ? off(name) : unknown(name, "nothing answers"));
  rig.arm();
  rig.guardian.disconnected();
  await rig.passes(3_600_000);
  const triesOf = (name: string) => rig.did.filter((each) => each.endsWith(`off ${name}`)).length;
  expect(triesOf("a")).toBe(1);
  // Four within the first second, then one a second.
  expect(triesOf("b")).toBeGreaterThan(3500);
  expect(triesOf("b")).toBeLessThan(3610);
  expect(rig.late).toBe(triesOf("b") - 4);
  expect(rig.did.some((each) => each.includes("exit"))).toBe(false);
  // Word was left early, and not written again while there was no news.
  expect(rig.incidents).toMatchObject([{ tookMs: 1000, outputs: ["off", "unknown"] }]);
  answers = true;
  await rig.passes(2000);
  expect(rig.incidents.at(-1)).toMatchObject({ outputs: ["off", "off"] });
  expect(rig.did.at(-1)).toMatch(/exit 0$/);
});

test("a try that throws, or never comes back, is followed by the next one", async () => {
  const rig = new Rig();
  rig.tries = async (name, count) => {
    if (name === "a") return count < 3 ? Promise.reject(new Error("no such port")) : off(name);
    return count === 1 ? new Promise<never>(() => {}) : off(name);
  };
  rig.arm();
  rig.guardian.disconnected();
  await rig.passes(20_000);
  expect(rig.did.filter((each) => each.endsWith("off b"))).toHaveLength(2);
  expect(rig.did.at(-1)).toMatch(/exit 0$/);
  expect(rig.incidents.at(-1)?.outputs).toEqual(["off", "off"]);
});

test("once it acts it hears nobody: a disarm of the process that it ended changes nothing", async () => {
  const rig = new Rig();
  rig.tries = async (name, count) => (count < 3 ? unknown(name, "on") : off(name));
  rig.arm();
  rig.guardian.disconnected();
  rig.guardian.receive({ type: "disarm" });
  await rig.passes(5000);
  expect(rig.did.filter((each) => each.includes("forget"))).toEqual([]);
  expect(rig.did.at(-1)).toMatch(/exit 0$/);
});
