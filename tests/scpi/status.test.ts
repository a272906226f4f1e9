import { describe, expect, it } from "vitest";
import { errorKindOf, parseErrorEntry } from "../../src/scpi/error-entry.ts";
import { parseEventStatus } from "../../src/scpi/event-status.ts";
import { parseIdentity } from "../../src/scpi/identity.ts";

describe("the error queue: SCPI-1999 vol. 2, 21.8", () => {
  it.each([
    ['-113,"Undefined header;ABCD"', -113, "Undefined header;ABCD", "command"],
    ['0,"No error"', 0, "No error", "none"],
    ['+0,"No error"', 0, "No error", "none"],
    ["-000", 0, "", "none"],
    ['-222,"Data out of range"', -222, "Data out of range", "execution"],
    ['-221,"Settings conflict"', -221, "Settings conflict", "execution"],
    ['-363,"Input buffer overrun"', -363, "Input buffer overrun", "device"],
    ['-410,"Query INTERRUPTED"', -410, "Query INTERRUPTED", "query"],
    ['-420,"Query UNTERMINATED"', -420, "Query UNTERMINATED", "query"],
    ['+101,"Own error"', 101, "Own error", "device"],
    ["0,No error", 0, "No error", "none"],
    ['-350,"Queue overflow"', -350, "Queue overflow", "device"],
  ])("%s", (line, code, text, kind) => expect(parseErrorEntry(line)).toEqual({ code, text, kind }));
  it.each(["", "No error", "12.5", "1.2E3,x", '"0"'])("%j is no entry", (line) =>
    expect(parseErrorEntry(line)).toBeUndefined(),
  );
  it.each([
    [-100, "command"],
    [-199, "command"],
    [-200, "execution"],
    [-299, "execution"],
    [-300, "device"],
    [-399, "device"],
    [-400, "query"],
    [-499, "query"],
    [-500, "other"],
    [1, "device"],
  ])("%d is a %s error", (code, kind) => expect(errorKindOf(code)).toBe(kind));
});

describe("the event status register: IEEE 488.2, 11.5.1.1", () => {
  it.each([
    ["1", "operationComplete"],
    ["4", "queryError"],
    ["8", "deviceError"],
    ["16", "executionError"],
    ["32", "commandError"],
    ["+128", "powerOn"],
  ] as const)("%s has only %s", (text, name) => {
    const status = parseEventStatus(text);
    expect(Object.entries(status ?? {}).filter(([, set]) => set)).toEqual([[name, true]]);
  });
  it.each(["", "256", "-1", "1.5", "ON"])("%j is none", (text) => expect(parseEventStatus(text)).toBeUndefined());
});

describe("identity: IEEE 488.2, 10.14, four fields", () => {
  it("all four", () => {
    expect(parseIdentity("TERN,TS-30,KK1234,1.02-3")).toEqual({
      raw: "TERN,TS-30,KK1234,1.02-3",
      maker: "TERN",
      model: "TS-30",
      serialNumber: "KK1234",
      firmware: "1.02-3",
    });
  });
  it("0 stands for not available", () => {
    expect(parseIdentity("TERN,TS-30,0,0")).toMatchObject({ serialNumber: null, firmware: null });
  });
  it("fewer fields are taken as they come", () => {
    expect(parseIdentity("TS-30 V1.3")).toMatchObject({
      maker: "TS-30 V1.3",
      model: "",
      serialNumber: null,
      firmware: null,
    });
  });
  it("commas in the firmware stay there", () => expect(parseIdentity("A,B,C,1,2")?.firmware).toBe("1,2"));
  it.each(["", "  ", "1.234", "+1.2E+01", "a\u0007b"])("%j is no identity", (line) =>
    expect(parseIdentity(line)).toBeUndefined(),
  );
});
