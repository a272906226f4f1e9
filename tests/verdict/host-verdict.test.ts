import { describe, expect, test } from "vitest";
import type { BoardHost } from "../../shared/files/board-file.ts";
import { type HostChange, type HostDevice, HostLook } from "../../shared/record/host-look.ts";
import { type HostEvidence, hostVerdict } from "../../src/verdict/host/host-verdict.ts";

// What each sight says of a card is common practice, no source.
const PORT = "0000:00:01.0";
const CARD = "0000:01:00.0";
const device = (changes: Partial<HostDevice> = {}): HostDevice => ({
  address: CARD,
  vendor: "1234",
  device: "1111",
  class: "030000",
  revision: null,
  subsystemVendor: "1234",
  subsystemDevice: "0002",
  driver: "demo",
  link: { speedGt: 8, width: 8, maxSpeedGt: 8, maxWidth: 8 },
  aer: { correctable: 0, nonfatal: 0, fatal: 0 },
  errorBits: null,
  optionRom: true,
  unassignedRegions: 0,
  port: null,
  ...changes,
});
const bridge = (
  port: Partial<NonNullable<HostDevice["port"]>> = {},
  link: Partial<HostDevice["link"]> = {},
): HostDevice =>
  device({
    address: PORT,
    class: "060400",
    device: "1901",
    port: { secondaryBus: 1, presence: "present", linkActive: true, ...port },
    link: { speedGt: 8, width: 8, maxSpeedGt: 8, maxWidth: 16, ...link },
  });
const look = (...devices: HostDevice[]): HostLook =>
  HostLook.parse({
    format: "firstamp-host-look",
    version: 1,
    lookedAt: "2026-11-29T10:00:00.000Z",
    source: "sysfs",
    kernel: null,
    rescanned: false,
    notes: [],
    devices,
  });
const host: BoardHost = { ids: ["1234:1111"], bareIds: ["1234:1000"], subsystem: "1234:0002", optionRom: true };
const judge = (of: Partial<HostEvidence> & { look: HostLook }) =>
  hostVerdict({ changes: [], earlier: null, control: null, port: PORT, host, ...of });
const change = (what: HostChange["what"], at: string, to: string | null = null): HostChange => ({
  event: "change",
  at,
  address: CARD,
  what,
  from: null,
  to,
});

describe("a card that is not listed", () => {
  test.each([
    ["presence-not-asserted", bridge({ presence: "absent", linkActive: false }, { width: 0 })],
    ["no-link", bridge({ linkActive: false }, { width: 0 })],
    ["link-but-not-listed", bridge()],
    ["not-listed", bridge({ presence: null, linkActive: null })],
  ])("%s", (word, port) => {
    expect(judge({ look: look(port) })).toMatchObject({ word, port: PORT, device: null });
  });
  test("without a port and without ids nothing is said of the board", () => {
    expect(judge({ look: look(bridge(), device()), port: null, host: null }).word).toBe("cannot-tell");
  });
  test("ids alone say that it is not listed, and no more", () => {
    expect(judge({ look: look(bridge()), port: null }).word).toBe("not-listed");
  });
  test("where the known good card is not listed either, it is the host or its slot", () => {
    const empty = look(bridge({ linkActive: false }, { width: 0 }));
    expect(judge({ look: empty, control: empty }).word).toBe("cannot-tell");
    const { word, because, notTried } = judge({ look: empty, control: look(bridge(), device({ device: "9999" })) });
    expect(word).toBe("no-link");
    expect(because.join()).toContain("so the slot works");
    expect(notTried).not.toContain("a known good card in the same slot");
  });
});

describe("a card that is listed", () => {
  test("with all it should have is enumerated, and what was not tried is said", () => {
    const verdict = judge({ look: look(bridge(), device()) });
    expect(verdict).toMatchObject({ word: "enumerated", also: [], device: CARD });
    expect(verdict.notTried).toContain("a watch under load");
  });
  test("is found by its ids where no port was said", () => {
    expect(judge({ look: look(bridge(), device()), port: null })).toMatchObject({ word: "enumerated", port: PORT });
  });
  test("with fewer lanes than both ends can is narrow; a slot that has no more is not held against it", () => {
    const narrow = device({ link: { speedGt: 8, width: 4, maxSpeedGt: 8, maxWidth: 8 } });
    expect(judge({ look: look(bridge(), narrow) }).word).toBe("narrow-or-slow");
    expect(judge({ look: look(bridge({}, { maxWidth: 4 }), narrow) }).word).toBe("enumerated");
    // The known good card had four lanes in this slot too.
    expect(judge({ look: look(bridge(), narrow), control: look(bridge(), narrow) }).word).toBe("enumerated");
  });
  test("at a lower speed at rest is not called slow by that alone, but said; against a good board's speed it is", () => {
    const slow = look(bridge(), device({ link: { speedGt: 2.5, width: 8, maxSpeedGt: 8, maxWidth: 8 } }));
    const verdict = judge({ look: slow });
    expect(verdict.word).toBe("enumerated");
    expect(verdict.because.join()).toContain("2.5 GT/s of 8");
    expect(judge({ look: slow, host: { ...host, speedGt: 8 } }).word).toBe("narrow-or-slow");
  });
  test.each([
    ["the id of its bare chip", { device: "1000" }],
    ["another subsystem", { subsystemDevice: "0009" }],
    ["no option ROM", { optionRom: false }],
    ["a region without an address", { unassignedRegions: 1 }],
    ["an id that is no good board's", { device: "2222" }],
  ])("with %s has doubtful firmware", (_, changes) => {
    expect(judge({ look: look(bridge(), device(changes)) }).word).toBe("firmware-doubtful");
  });
  test("whose totals grow from look to look has errors that grow; totals that stand do not", () => {
    const with_ = (correctable: number) => look(bridge(), device({ aer: { correctable, nonfatal: 0, fatal: 0 } }));
    expect(judge({ look: with_(900), earlier: with_(3) })).toMatchObject({
      word: "errors-growing",
      also: ["enumerated"],
    });
    expect(judge({ look: with_(3), earlier: with_(3) }).word).toBe("enumerated");
  });
  test("without a driver says so, but not from a text that names none at all", () => {
    const bare = look(bridge(), device({ driver: null }));
    expect(judge({ look: bare }).word).toBe("driver-not-bound");
    const silent = { ...look(device({ driver: null })), source: "lspci" as const };
    expect(judge({ look: silent, port: null }).word).toBe("enumerated");
  });
  test("that went while it was watched fell off, also where it came back", () => {
    const changes = [change("gone", "2026-11-29T10:20:00.000Z"), change("appeared", "2026-11-29T10:21:00.000Z")];
    const verdict = judge({ look: look(bridge(), device()), changes });
    expect(verdict.word).toBe("fell-off");
    expect(verdict.because[0]).toContain("came back");
    const other = { ...change("gone", "2026-11-29T10:20:00.000Z"), address: "0000:07:00.0" };
    expect(judge({ look: look(bridge(), device()), changes: [other] }).word).toBe("enumerated");
  });
});
