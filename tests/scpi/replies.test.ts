import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { blockHead } from "../../src/scpi/block.ts";
import { parseBoolean } from "../../src/scpi/boolean.ts";
import { parseChannelList } from "../../src/scpi/channel-list.ts";
import { joinMessages, splitReplies, splitValues } from "../../src/scpi/compound.ts";
import { parseQuotedString } from "../../src/scpi/quoted-string.ts";

describe("booleans: 1/0, some instruments ON/OFF (SCPI-1999 vol. 1, 7.3)", () => {
  it.each(["1", "ON", "on", "+1", " 1 ", "01", "1.0"])("%j is true", (text) => expect(parseBoolean(text)).toBe(true));
  it.each(["0", "OFF", "off", "+0", "-0", "00", "0.0"])("%j is false", (text) =>
    expect(parseBoolean(text)).toBe(false),
  );
  it.each(["", " ", "2", "0.5", "-1", "10", "OF", "ONN", "0,1", "9.9E37", '"OFF"'])(
    "%j is neither, never off",
    (text) => expect(parseBoolean(text)).toBeUndefined(),
  );
});

describe("strings: IEEE 488.2, 8.7.8", () => {
  it('"abcd""123" is abcd"123', () => expect(parseQuotedString('"abcd""123"')).toBe('abcd"123'));
  it("single quotes do as well", () => expect(parseQuotedString("'it''s'")).toBe("it's"));
  it.each(["abc", '"abc', 'abc"', '"', '"a"b"', "\"a'"])("%s is none", (text) =>
    expect(parseQuotedString(text)).toBeUndefined(),
  );
  it("any text comes back from its quotes", () => {
    fc.assert(
      fc.property(fc.string(), (text) => {
        expect(parseQuotedString(`"${text.replaceAll('"', '""')}"`)).toBe(text);
      }),
    );
  });
});

describe("the head of a block: IEEE 488.2, 8.7.9", () => {
  const bytes = (text: string): Uint8Array => Uint8Array.from(text, (char) => char.charCodeAt(0));
  it.each([
    ["#11a", "a"],
    ["#211X1234567890", "X1234567890"],
    ["#204ABCD", "ABCD"],
    // The bytes of a block are data, line ends too.
    ["#12\r\n", "\r\n"],
    ["#13abc;1", "abc"],
  ])("%j", (text, data) => {
    const head = blockHead(bytes(text));
    if (head.kind !== "definite") throw new Error(head.kind);
    expect(text.slice(head.from, head.from + head.bytes)).toBe(data);
  });
  it("says how many bytes are still to come", () =>
    expect(blockHead(bytes("#210ABCD"))).toEqual({ kind: "definite", from: 4, bytes: 10 }));
  it("#0 has no length: the end of the message ends it", () =>
    expect(blockHead(bytes("#0abc\n"))).toEqual({ kind: "indefinite", from: 2 }));
  it.each(["", "#", "#2", "#21"])("%j may still become one", (text) =>
    expect(blockHead(bytes(text)).kind).toBe("more"),
  );
  it.each(["#a", "#2x1a", "abc"])("%j is none", (text) => expect(blockHead(bytes(text)).kind).toBe("bad"));
});

describe("several replies on one line", () => {
  it("are split at ; outside quotes (IEEE 488.2, 8.4.1)", () => {
    expect(splitReplies('12.00;1.5 ; 0,"Too much; slow";ON')).toEqual(["12.00", "1.5", '0,"Too much; slow"', "ON"]);
  });
  it("a doubled quote does not end a string", () => expect(splitReplies('"a"";b";2')).toEqual(['"a"";b"', "2"]));
  it("an empty reply stays one", () => expect(splitReplies("1;;2")).toEqual(["1", "", "2"]));
  it("values are split at ,", () =>
    expect(splitValues('-113,"Undefined header, ABCD"')).toEqual(["-113", '"Undefined header, ABCD"']));
  it("messages are joined from the root, common commands without a colon", () => {
    expect(joinMessages(["MEAS:VOLT?", "MEAS:CURR?", ":SYST:ERR?", "*OPC?"])).toBe(
      "MEAS:VOLT?;:MEAS:CURR?;:SYST:ERR?;*OPC?",
    );
  });
});

describe("channel lists (SCPI-1999 vol. 1, 8.3.2)", () => {
  it.each([
    ["(@1)", [1]],
    ["(@1,3,4:6)", [1, 3, 4, 5, 6]],
    [" ( @ 2 , 1 ) ", [2, 1]],
    ["(@3:1)", [3, 2, 1]],
  ])("%s", (text, channels) => expect(parseChannelList(text)).toEqual(channels));
  it.each(["", "(@)", "@1", "(1)", "(@1,)", "(@1:2:3)", "(@a)", "(@1:999999)"])("%j is none", (text) =>
    expect(parseChannelList(text)).toBeUndefined(),
  );
});
