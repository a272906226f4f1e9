import { describe, expect, it } from "vitest";
import { BenchFile } from "../../shared/files/bench-file.ts";
import { namesFor, proposeBench, proposedFeeds } from "../../shared/files/propose-bench.ts";

const benchAt = (address: string, simulated?: boolean): unknown => ({
  version: 1,
  instruments: { psu: { kind: "supply", address } },
  feeds: { aux: { supply: "psu" } },
  ...(simulated === undefined ? {} : { simulated }),
});

describe("a bench file that says it is simulated", () => {
  it.each([
    "TCPIP0::127.0.0.1::5025::SOCKET",
    "TCPIP::localhost::5025::SOCKET",
    "ASRL/dev/pts/4::INSTR",
    "ASRL/tmp/firstamp-1/near::INSTR",
  ])("is taken where a simulated instrument can be: %s", (address) => {
    expect(BenchFile.safeParse(benchAt(address, true)).success).toBe(true);
  });

  // Addresses of real instruments as VPP-4.3 spells them; 192.0.2.0/24 is for documentation (RFC 5737).
  it.each([
    "TCPIP0::192.0.2.20::5025::SOCKET",
    "TCPIP0::127.0.0.1.example.com::5025::SOCKET",
    "ASRL/dev/ttyUSB0::INSTR",
    "ASRL/dev/serial/by-id/usb-1::INSTR",
    "ASRL3::INSTR",
    "USB0::0x1234::0x5678::SN1::INSTR",
  ])("is refused where a real one is: %s", (address) => {
    const parsed = BenchFile.safeParse(benchAt(address, true));
    expect(parsed.error?.issues).toMatchObject([{ path: ["simulated"], message: expect.stringContaining(address) }]);
    expect(BenchFile.safeParse(benchAt(address)).success).toBe(true);
  });

  it("cannot say that it is not", () => {
    expect(BenchFile.safeParse(benchAt("TCPIP0::127.0.0.1::1::SOCKET", false)).success).toBe(false);
  });
});

describe("the bench file that is proposed", () => {
  const found = [
    { address: "TCPIP0::192.0.2.20::5025::SOCKET", kind: "supply", driver: "plain-supply", serialNumber: "0" },
    { address: "TCPIP0::192.0.2.21::5025::SOCKET", kind: "meter", driver: "scpi-meter", serialNumber: "SN9" },
    { address: "TCPIP0::192.0.2.22::5025::SOCKET", kind: null, driver: null, serialNumber: null },
    { address: "TCPIP0::192.0.2.23::5025::SOCKET", kind: "supply", driver: "numbered-supply", serialNumber: "SN3" },
  ] as const;

  it("names what was found, pins what has a serial number, and is one that the program takes", () => {
    const feeds = proposedFeeds(["psu", "psu2"], ["slot12"]);
    expect(namesFor(found).map((each) => each.name)).toEqual(["psu", "dmm", "psu2"]);
    const bench = proposeBench(found, feeds);
    expect(BenchFile.parse(bench)).toEqual(bench);
    expect(bench).toMatchObject({
      instruments: {
        psu: { kind: "supply", driver: "plain-supply" },
        dmm: { serialNumber: "SN9" },
        psu2: { serialNumber: "SN3" },
      },
      feeds: { slot12: { supply: "psu", channel: 1 }, feed2: { supply: "psu2", channel: 1 } },
      meter: "dmm",
    });
    expect(bench.instruments["psu"]).not.toHaveProperty("serialNumber");
  });
});
