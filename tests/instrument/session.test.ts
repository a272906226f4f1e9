import { afterEach, describe, expect, it } from "vitest";
import { BenchError } from "../../shared/bench-error.ts";
import { until } from "../link/until.ts";
import { IDENTITY, type PeerOptions, ptyPeer, type Scripted, type ScriptedPeer, socketPeer } from "./scripted-peer.ts";
import { sessionWith } from "./session-of.ts";

const closing: (() => Promise<void>)[] = [];
afterEach(async () => {
  for (const close of closing.splice(0).reverse()) await close();
});

type Transport = "tcp" | "pty";
async function rig(
  transport: Transport,
  script: (line: string) => Scripted,
  options: PeerOptions & { wire?: Parameters<typeof sessionWith>[1] } = {},
): Promise<{ peer: ScriptedPeer; session: Awaited<ReturnType<typeof sessionWith>> }> {
  const peer = await (transport === "tcp" ? socketPeer : ptyPeer)(script, options);
  closing.push(() => peer.close());
  const session = await sessionWith(peer, options.wire);
  closing.push(() => session.close());
  return { peer, session };
}

const codeOf = (promise: Promise<unknown>): Promise<string> =>
  promise.then(
    () => "no error",
    (cause: unknown) => (cause instanceof BenchError ? cause.code : String(cause)),
  );
/** Answers that are told from an echo. */
const small = (line: string): string => line.toLowerCase();
const linesOf = (peer: ScriptedPeer): string[] => peer.heard.map((each) => each.line);

describe.each(["tcp", "pty"] as const)("InstrumentSession on %s", (transport) => {
  it("has one question outstanding, however many are asked at once", async () => {
    let open = 0;
    let most = 0;
    const { session } = await rig(transport, (line) => {
      most = Math.max(most, ++open);
      // The answer leaves later; a second question meanwhile would count.
      setTimeout(() => open--, 0);
      return { text: line.slice(4), lateMs: 2 };
    });
    const answers = await Promise.all([1, 2, 3, 4, 5].map((each) => session.query(`ASK ${each}`)));
    expect(answers.map((each) => each.text)).toEqual(["1", "2", "3", "4", "5"]);
    expect(most).toBe(1);
  });

  it("answers with the times of question and answer, in order", async () => {
    const { session } = await rig(transport, () => ({ text: "1", lateMs: 10 }));
    const answer = await session.query("ASK");
    // A timer may fire up to a millisecond early.
    expect(answer.atMs - answer.sentAtMs).toBeGreaterThanOrEqual(9);
  });

  it("publishes nothing after a timeout until the known identity has come", async () => {
    const { session, peer } = await rig(transport, (line) =>
      line === "SLOW?" ? { text: "late", lateMs: 60 } : small(line),
    );
    expect(await codeOf(session.query("SLOW?", { timeoutMs: 30 }))).toBe("no-reply");
    expect(session.suspectBecause).toContain("SLOW?");
    expect((await session.query("NEXT?")).text).toBe("next?");
    expect(session.suspectBecause).toBeUndefined();
    const after = linesOf(peer).slice(linesOf(peer).indexOf("SLOW?") + 1);
    expect(after[0]).toBe("*IDN?");
    expect(session.counters).toMatchObject({ timeouts: 1, fences: 1, reconnects: transport === "tcp" ? 1 : 0 });
  });

  it("flags a line nobody asked for and fences before the next question", async () => {
    const { session, peer } = await rig(transport, small);
    await session.query("A?");
    peer.say("12.0\n");
    await until(() => session.suspectBecause !== undefined);
    expect(session.counters.unexpected).toBe(1);
    expect((await session.query("B?")).text).toBe("b?");
    expect(linesOf(peer).slice(-2)).toEqual(["*IDN?", "B?"]);
  });

  it("takes the first of two lines in one piece and is suspect for the second", async () => {
    const { session } = await rig(transport, (line) => (line === "TWICE?" ? "1\n2" : small(line)));
    expect((await session.query("TWICE?")).text).toBe("1");
    await until(() => session.suspectBecause !== undefined);
    expect((await session.query("NEXT?")).text).toBe("next?");
  });

  it("refuses bytes no instrument sends, and is suspect then", async () => {
    const { session } = await rig(transport, (line) => (line === "BAD?" ? "1\u0001\u00022" : small(line)));
    expect(await codeOf(session.query("BAD?"))).toBe("bad-reply");
    expect(session.suspectBecause).toBeDefined();
    expect((await session.query("NEXT?")).text).toBe("next?");
  });

  it("drops an exact echo, and waits for the echo of a command", async () => {
    const { session, peer } = await rig(transport, (line) => (line.endsWith("?") ? "7" : undefined), { echo: true });
    expect(session.wire.echo).toBe(true);
    await session.send("SET 1");
    expect((await session.query("SET?")).text).toBe("7");
    expect(session.counters.unexpected).toBe(0);
    expect(linesOf(peer).slice(-2)).toEqual(["SET 1", "SET?"]);
  });

  it("refuses a line equal to the question from an instrument that did not echo", async () => {
    const { session } = await rig(transport, (line) => (line === "ECHO?" ? "ECHO?" : "1"));
    expect(await codeOf(session.query("ECHO?"))).toBe("bad-reply");
    expect(session.suspectBecause).toBeDefined();
  });

  it("keeps the pause between messages that the driver asks for", async () => {
    const { session } = await rig(transport, (line) => (line.endsWith("?") ? "1" : undefined), {
      wire: { wire: { gapMs: 20 } },
    });
    const first = await session.query("A?");
    const second = await session.query("B?");
    await session.send("C 1");
    const third = await session.query("D?");
    // A timer may fire up to a millisecond early.
    expect(second.sentAtMs - first.atMs).toBeGreaterThanOrEqual(19);
    expect(third.sentAtMs - second.atMs).toBeGreaterThanOrEqual(38);
  });

  it("writes a cut past a question that is outstanding, framed by terminators", async () => {
    const { session, peer } = await rig(transport, (line) =>
      line === "SLOW?" ? { text: "1", lateMs: 200 } : undefined,
    );
    const asked = codeOf(session.query("SLOW?"));
    const queued = codeOf(session.send("OUTP ON"));
    await until(() => linesOf(peer).includes("SLOW?"));
    expect(session.writeNow("OUTP OFF")).toEqual({ written: true, hadOutstanding: true });
    expect(await asked).toBe("suspect-link");
    // What was made before the cut is never sent after it.
    expect(await queued).toBe("suspect-link");
    await until(() => linesOf(peer).includes("OUTP OFF"));
    expect(linesOf(peer)).not.toContain("OUTP ON");
  });

  it("closes for good: nothing is sent any more", async () => {
    const { session, peer } = await rig(transport, small);
    await session.close();
    expect(await codeOf(session.send("OUTP ON"))).toBe("link-closed");
    expect(linesOf(peer)).not.toContain("OUTP ON");
  });

  it("knows its round trips", async () => {
    const { session } = await rig(transport, () => ({ text: "1", lateMs: 5 }));
    for (let each = 0; each < 20; each++) await session.query("ASK?");
    expect(session.roundTrip.count).toBeGreaterThanOrEqual(20);
    expect(session.roundTrip.p50Ms).toBeGreaterThan(4);
    expect(session.roundTrip.p99Ms).toBeGreaterThanOrEqual(session.roundTrip.p50Ms ?? Number.POSITIVE_INFINITY);
  });

  it("gives an energised instrument 150 ms, whatever it is given when idle", async () => {
    const { session } = await rig(transport, (line) => (line === "SLOW?" ? { text: "1", lateMs: 400 } : "1"));
    session.measureAnew();
    session.energised = true;
    expect(session.replyWithinMs()).toBe(150);
    await expect(session.query("SLOW?", { timeoutMs: 5000 })).rejects.toThrow("no reply within 150 ms");
  });
});

describe("a fence", () => {
  it("begins with a fresh connection on TCP, and commands made for the old one are refused", async () => {
    const { session, peer } = await rig("tcp", (line) => (line === "LOST?" ? undefined : small(line)));
    const { connection } = session;
    const lost = codeOf(session.query("LOST?", { timeoutMs: 20 }));
    const fencing = session.query("A?");
    await lost;
    const made = codeOf(session.send("SET 1"));
    expect((await fencing).text).toBe("a?");
    expect(session.connection).toBeGreaterThan(connection);
    expect(await made).toBe("link-closed");
    expect(linesOf(peer)).not.toContain("SET 1");
    expect(peer.heard.at(-1)).toEqual({ line: "A?", connection: 2 });
  });

  it("closes the old connection before it opens the new one, for instruments that take only one", async () => {
    const { session, peer } = await rig("tcp", (line) => (line === "LOST?" ? undefined : small(line)), {
      singleConnection: true,
    });
    expect(await codeOf(session.query("LOST?", { timeoutMs: 20 }))).toBe("no-reply");
    expect((await session.query("A?")).text).toBe("a?");
    expect(peer.connections).toBe(1);
  });

  it("does not hold where another instrument answers, which is told", async () => {
    let identity = IDENTITY;
    const { session } = await rig("tcp", (line) => (line === "LOST?" ? undefined : small(line)), {
      wire: { wire: { replyMs: 40 } },
      identity: () => identity,
    });
    const lost: string[] = [];
    session.onLost((why) => lost.push(why.code));
    expect(await codeOf(session.query("LOST?"))).toBe("no-reply");
    identity = "Bench,SCRIPTED,SN8,1.0";
    expect(await codeOf(session.query("A?"))).toBe("wrong-identity");
    expect(lost).toEqual(["wrong-identity"]);
  });

  it("gives up after three questions without the identity, within one reply's time while energised", async () => {
    let dead = false;
    const { session, peer } = await rig("tcp", () => undefined, { identity: () => (dead ? undefined : IDENTITY) });
    session.energised = true;
    dead = true;
    expect(await codeOf(session.query("A?"))).toBe("no-reply");
    const before = performance.now();
    expect(await codeOf(session.query("B?"))).toBe("suspect-link");
    // 150 ms and the machine's own delays; idle, three tries would take 1500 ms.
    expect(performance.now() - before).toBeLessThan(700);
    expect(linesOf(peer)).not.toContain("B?");
  });

  it("drops late answers of its own questions, and only those", async () => {
    let slow = 0;
    const { session } = await rig("pty", (line) => (line === "LOST?" ? undefined : small(line)), {
      wire: { wire: { replyMs: 40 } },
      identity: () => (slow-- > 0 ? { text: IDENTITY, lateMs: 60 } : IDENTITY),
    });
    expect(await codeOf(session.query("LOST?"))).toBe("no-reply");
    slow = 1;
    expect((await session.query("A?")).text).toBe("a?");
    expect((await session.query("B?", { timeoutMs: 500 })).text).toBe("b?");
    expect(session.counters.unexpected).toBe(0);
  });

  it("does not hold by the late answer to an earlier fence: what was asked between comes behind it", async () => {
    // Each answer comes one question late; A's would pass for B's where the fence between them held too soon.
    let byHand = false;
    let asked = 0;
    const whoAnswers = [undefined, IDENTITY, IDENTITY, `late a\n${IDENTITY}`];
    const { session } = await rig(
      "pty",
      (line) => (line !== "B?" ? undefined : asked < whoAnswers.length ? "late a" : `${IDENTITY}\nb`),
      { wire: { wire: { replyMs: 80 } }, identity: () => (byHand ? whoAnswers[asked++] : IDENTITY) },
    );
    byHand = true;
    expect(await codeOf(session.query("LOST?"))).toBe("no-reply");
    expect(await codeOf(session.query("A?"))).toBe("no-reply");
    expect((await session.query("B?", { timeoutMs: 500 })).text).toBe("b");
  });
});

describe("a link that closes", () => {
  it("is told, and opened again by the next question, while nothing is energised", async () => {
    const { session, peer } = await rig("tcp", small);
    const lost: string[] = [];
    session.onLost((why) => lost.push(why.code));
    peer.drop();
    await until(() => session.suspectBecause !== undefined);
    expect((await session.query("A?")).text).toBe("a?");
    expect(lost).toEqual(["link-closed"]);
  });

  it("is told at once while energised, and says what is true of the output", async () => {
    const { session, peer } = await rig("tcp", small);
    const lost: BenchError[] = [];
    session.onLost((why) => lost.push(why));
    session.energised = true;
    peer.drop();
    await until(() => lost.length > 0);
    expect(lost[0]?.code).toBe("link-closed");
    expect(lost[0]?.message).toContain("the output is unknown");
  });

  it("is told again when it cannot be opened", async () => {
    const { session, peer } = await rig("tcp", small);
    const lost: string[] = [];
    session.onLost((why) => lost.push(why.code));
    await peer.close();
    await until(() => session.suspectBecause !== undefined);
    expect(await codeOf(session.query("A?"))).toBe("connection-refused");
    expect(lost).toEqual(["link-closed", "connection-refused"]);
  });

  it("takes a cut to a fresh connection", async () => {
    const { session, peer } = await rig("tcp", small);
    peer.drop();
    await until(() => session.suspectBecause !== undefined);
    expect(session.writeNow("OUTP OFF").written).toBe(false);
    expect(session.canWriteFresh).toBe(true);
    await session.writeFresh("OUTP OFF");
    await until(() => linesOf(peer).includes("OUTP OFF"));
    expect((await session.query("A?")).text).toBe("a?");
  });
});

describe("identifying", () => {
  it("says that nobody answers, and where", async () => {
    const peer = await socketPeer(() => undefined, { identity: () => undefined });
    closing.push(() => peer.close());
    await expect(sessionWith(peer, { wire: { replyMs: 30 } })).rejects.toThrow(/no reply to "\*IDN\?" at TCPIP0/);
  });

  it("names the baud rate where only garbage comes", async () => {
    const peer = await ptyPeer(() => undefined, { identity: () => "\u00ff\u00fe\u0000\u0003" });
    closing.push(() => peer.close());
    await expect(sessionWith(peer, { wire: { replyMs: 50 } })).rejects.toThrow("check the baud rate");
  });

  it("wants the same identity twice on a serial line, so that old output is not taken for it", async () => {
    let asked = 0;
    const { session } = await rig("pty", () => undefined, {
      identity: () => (asked++ === 0 ? `-113,"Old error"\n${IDENTITY}` : IDENTITY),
    });
    expect(session.identity?.raw).toBe(IDENTITY);
  });
});
