import { afterEach, beforeEach, describe, expect, test } from "vitest";
import type { Clock } from "../../shared/clock.ts";
import type { Link, LinkClosed, LinkJunk } from "../../src/link/link.ts";
import { HandClock } from "../hand-clock.ts";
import type { FarEnd } from "./far-end.ts";
import { until } from "./until.ts";

export interface LinkPair {
  far: FarEnd;
  open(clock: Clock): Promise<Link>;
}

/** What every kind of link has to do, over the real thing. Time is set by hand: no deadline passes unless moved. */
export function linkSuite(name: string, openPair: () => Promise<LinkPair>, streams: boolean): void {
  describe(name, () => {
    let far: FarEnd;
    let pair: LinkPair;
    let clock: HandClock;
    let link: Link;
    let lines: string[];
    let junk: LinkJunk[];
    let closed: LinkClosed[];

    const openNext = async (): Promise<Link> => {
      const next = await pair.open(clock);
      next.onLine(({ text }) => lines.push(text));
      next.onJunk((each) => junk.push(each));
      next.onClose((each) => closed.push(each));
      return next;
    };
    const ask = async (question: string): Promise<string | undefined> => {
      const before = lines.length;
      link.write(`${question}\n`, { expectsReply: true });
      await until(() => lines.length > before);
      return lines.at(-1);
    };

    beforeEach(async () => {
      [lines, junk, closed] = [[], [], []];
      clock = new HandClock();
      pair = await openPair();
      far = pair.far;
      link = await openNext();
    });

    afterEach(async () => {
      const closing = link.close();
      clock.advance(2000);
      await closing;
      await far.close();
    });

    // The terminators are common practice, no source; CR LF and LF CR are each one end.
    test.each(["\n", "\r", "\r\n", "\n\r", "\r\n\r\n", "\0\r\n"])(
      "an answer that ends in %j is one line",
      async (end) => {
        far.answer((line) => `${line.slice(0, 1)}12.34${end}`);
        expect(await ask("V?")).toBe("V12.34");
        expect(await ask("A?")).toBe("A12.34");
        expect(lines).toEqual(["V12.34", "A12.34"]);
        expect(junk).toEqual([]);
      },
    );

    test("what is written arrives byte for byte, in order", async () => {
      const all = Array.from({ length: 50 }, (_, at) => `VOLT ${at}.${at}\n`);
      for (const each of all.slice(0, 10)) link.write(each);
      await until(() => far.heard().endsWith("VOLT 9.9\n"));
      for (const each of all.slice(10, 20)) link.write(each);
      await until(() => far.heard().endsWith("VOLT 19.19\n"));
      expect(far.heard()).toBe(all.slice(0, 20).join(""));
    });

    test("a text that is not Latin-1 is refused and not sent in part", async () => {
      expect(() => link.write("VOLT 1Ω\n")).toThrow(expect.objectContaining({ code: "bad-input" }));
      far.answer(() => "ok\n");
      await ask("X?");
      expect(far.heard()).toBe("X?\n");
    });

    test("bytes that are no text come as junk and are counted", async () => {
      far.answer(() => "\x81\x07\n");
      link.write("V?\n", { expectsReply: true });
      await until(() => junk.length > 0);
      expect(junk).toMatchObject([{ why: "not-text", text: "\x81\x07" }]);
      expect(link.counters.junk).toBe(1);
      expect(lines).toEqual([]);
    });

    test("counters tell the bytes of each direction", async () => {
      far.answer(() => "12.34\r\n");
      await ask("V?");
      expect(link.counters).toEqual({ bytesWritten: 3, bytesRead: 7, junk: 0 });
    });

    test("write() is refused while the link is closed, and what it held never arrives, not even after the next open", async () => {
      const before = link;
      const closing = before.close();
      expect(before.isOpen).toBe(false);
      expect(() => before.write("OUTP ON\n")).toThrow(expect.objectContaining({ code: "link-closed" }));
      await closing;
      expect(() => before.write("OUTP ON\n")).toThrow(/nothing was sent/);
      link = await openNext();
      expect(() => before.write("OUTP ON\n")).toThrow(expect.objectContaining({ code: "link-closed" }));
      far.answer(() => "12.34\n");
      await ask("V?");
      expect(far.heard()).toBe("V?\n");
    });

    test("what was written in the turn of the close arrives", async () => {
      link.write("OUTP OFF\n");
      await link.close();
      await until(() => far.heard() === "OUTP OFF\n");
    });

    test("the connection number rises with each open", async () => {
      const first = link.connection;
      await link.close();
      link = await openNext();
      expect(link.connection).toBe(first + 1);
    });

    test("it closes once, however often it is asked, and tells a late listener at once", async () => {
      await Promise.all([link.close(), link.close()]);
      await link.close();
      expect(closed).toMatchObject([{ why: "asked" }]);
      const late: LinkClosed[] = [];
      link.onClose((each) => late.push(each));
      expect(late).toMatchObject([{ why: "asked" }]);
    });

    test("nothing comes from it after its close", async () => {
      far.answer(() => "12.34\n");
      link.write("V?\n", { expectsReply: true });
      const closing = link.close();
      await until(() => closed.length > 0);
      const seen = lines.length;
      await until(() => far.heard() === "V?\n");
      clock.advance(2000);
      await closing;
      expect(lines).toHaveLength(seen);
      expect(closed).toHaveLength(1);
    });

    test("a broken connection is noticed by the next write at the latest, once, and refuses every write after it", async () => {
      far.hangUp();
      await until(() => {
        try {
          link.write("OUTP?\n");
        } catch {
          // What is asserted is the close.
        }
        return closed.length > 0;
      });
      expect(link.isOpen).toBe(false);
      expect(["hang-up", "reset", "write-failed"]).toContain(closed[0]?.why);
      expect(() => link.write("OUTP ON\n")).toThrow(expect.objectContaining({ code: "link-closed" }));
      await link.close();
      expect(closed).toHaveLength(1);
    });

    test("close() ends after 1 s at the latest", async () => {
      far.hangUp();
      const closing = link.close();
      clock.advance(1000);
      await closing;
      expect(link.isOpen).toBe(false);
    });

    if (!streams) return;

    test("a line over 4 KiB is junk, and the next answer is read", async () => {
      far.answer((line) => (line === "LONG?" ? `${"7".repeat(5000)}\n` : "12.34\n"));
      link.write("LONG?\n", { expectsReply: true });
      await until(() => junk.length > 0);
      expect(junk).toMatchObject([{ why: "too-long" }]);
      await until(() => link.counters.bytesRead === 5001);
      expect(await ask("V?")).toBe("12.34");
    });

    test("an answer split at any byte is the same line, with gaps under 100 ms", async () => {
      const answer = "+1.2345E+01\r\n";
      for (let at = 1; at < answer.length; at++) {
        const seen = link.counters.bytesRead;
        const count = lines.length;
        far.say(answer.slice(0, at));
        await until(() => link.counters.bytesRead === seen + at);
        clock.advance(5);
        far.say(answer.slice(at));
        await until(() => link.counters.bytesRead === seen + answer.length);
        expect(lines.slice(count)).toEqual(["+1.2345E+01"]);
      }
      expect(junk).toEqual([]);
    });

    test("an answer with a gap of 150 ms at any byte is never a number, and the next answer is", async () => {
      const answer = "+1.2345E+01\r\n";
      for (let at = 1; at < answer.length - 2; at++) {
        const seen = link.counters.bytesRead;
        far.say(answer.slice(0, at));
        await until(() => link.counters.bytesRead === seen + at);
        clock.advance(150);
        far.say(answer.slice(at));
        await until(() => link.counters.bytesRead === seen + answer.length);
        expect(junk.at(-1)).toMatchObject({ why: "stalled", text: answer.slice(0, at) });
      }
      expect(lines).toEqual([]);
      far.say("12.34\n");
      await until(() => lines.length === 1);
      expect(lines).toEqual(["12.34"]);
    });

    test("lines nobody asked for come too, several in one piece", async () => {
      far.say("1\n2\r\n3\n");
      await until(() => lines.length === 3);
      expect(lines).toEqual(["1", "2", "3"]);
    });

    test("half a line at a break is junk, and no line", async () => {
      far.say("12.34\n1.2");
      await until(() => link.counters.bytesRead === 9);
      far.hangUp();
      await until(() => closed.length > 0);
      expect(lines).toEqual(["12.34"]);
      expect(junk).toMatchObject([{ why: "half-line", text: "1.2" }]);
    });

    test("discardInput() drops half a line and its rest, and nothing that is to be sent", async () => {
      far.say("12.");
      await until(() => link.counters.bytesRead === 3);
      link.write("OUTP OFF\n");
      link.discardInput();
      far.say("34\n5.6\n");
      await until(() => lines.length > 0);
      await until(() => far.heard() === "OUTP OFF\n");
      expect(lines).toEqual(["5.6"]);
      expect(junk).toEqual([]);
    });

    test("a break of an idle connection is noticed without a write", async () => {
      far.hangUp();
      await until(() => closed.length > 0);
      expect(["hang-up", "reset"]).toContain(closed[0]?.why);
    });
  });
}
