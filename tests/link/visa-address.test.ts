import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { formatVisaAddress, parseVisaAddress, type VisaAddress } from "../../src/link/visa-address.ts";

// The forms are those of VPP-4.3 (VISA Library Specification); the values are its kind, not its examples.
const READ: [string, VisaAddress][] = [
  ["ASRL/dev/ttyUSB0::INSTR", { kind: "serial", path: "/dev/ttyUSB0" }],
  ["asrl/dev/ttyUSB0::instr", { kind: "serial", path: "/dev/ttyUSB0" }],
  ["ASRL/dev/serial/by-id/usb-0001:2.0-if00", { kind: "serial", path: "/dev/serial/by-id/usb-0001:2.0-if00" }],
  // ASRL1 as the first on-board port: from memory.
  ["ASRL1::INSTR", { kind: "serial", path: "/dev/ttyS0" }],
  ["ASRL4", { kind: "serial", path: "/dev/ttyS3" }],
  ["ASRLcom7::INSTR", { kind: "serial", path: "COM7" }],
  ["TCPIP0::host::5025::SOCKET", { kind: "socket", host: "host", port: 5025 }],
  ["tcpip::192.0.2.20::5025::socket", { kind: "socket", host: "192.0.2.20", port: 5025 }],
  ["TCPIP1::bench-psu.example::1::SOCKET", { kind: "socket", host: "bench-psu.example", port: 1 }],
  ["TCPIP0::[2001:db8::1]::65535::SOCKET", { kind: "socket", host: "2001:db8::1", port: 65535 }],
  ["TCPIP0::[::1]::5025::SOCKET", { kind: "socket", host: "::1", port: 5025 }],
  ["TCPIP0::[fe80::1%eth0]::5025::SOCKET", { kind: "socket", host: "fe80::1%eth0", port: 5025 }],
  ["USB0::0x1234::0x5678::SERIAL::INSTR", { kind: "usbtmc", vendor: 0x1234, product: 0x5678, serialNumber: "SERIAL" }],
  ["usb::4660::22136::Sn-1::0::INSTR", { kind: "usbtmc", vendor: 0x1234, product: 0x5678, serialNumber: "Sn-1" }],
  ["USB0::0x1234::0x5678::INSTR", { kind: "usbtmc", vendor: 0x1234, product: 0x5678 }],
];

describe("parseVisaAddress()", () => {
  test.each(READ)("reads %s", (text, address) => {
    expect(parseVisaAddress(text, "linux")).toEqual(address);
  });

  test("counts the on-board ports of Windows from COM1", () => {
    expect(parseVisaAddress("ASRL3::INSTR", "win32")).toEqual({ kind: "serial", path: "COM3" });
  });

  test.each([
    ["TCPIP::host::inst0::INSTR", "VXI-11"],
    ["TCPIP::host::INSTR", "VXI-11"],
    ["TCPIP::host", "VXI-11"],
    ["TCPIP::host::hislip0::INSTR", "HiSLIP"],
    ["TCPIP::host::hislip0,4880", "HiSLIP"],
  ])("refuses %s and says that the raw socket is to be used", (text, protocol) => {
    expect(() => parseVisaAddress(text)).toThrow(protocol);
    expect(() => parseVisaAddress(text)).toThrow("TCPIP0::host::5025::SOCKET");
  });

  test.each([
    "",
    "GPIB0::5::INSTR",
    "/dev/ttyUSB0",
    "192.0.2.20:5025",
    "ASRL",
    "ASRL::INSTR",
    "ASRL0::INSTR",
    "ASRLttyUSB0::INSTR",
    "ASRL/dev/ttyUSB0::SOCKET",
    "ASRL/dev/tty\0USB0::INSTR",
    "TCPIP",
    "TCPIP::host::5025",
    "TCPIP::host::0::SOCKET",
    "TCPIP::host::65536::SOCKET",
    "TCPIP::host::5025x::SOCKET",
    "TCPIP::host::SOCKET",
    "TCPIP::::5025::SOCKET",
    "TCPIP::ho st::5025::SOCKET",
    "TCPIP::300.0.2.20::5025::SOCKET",
    "TCPIP::[192.0.2.20]::5025::SOCKET",
    "TCPIP::2001:db8::1::5025::SOCKET",
    "TCPIP::host::5025::SOCKET::1",
    "USB0::0x1234::INSTR",
    "USB0::0x12345::0x5678::SERIAL::INSTR",
    "USB0::65536::0x5678::SERIAL::INSTR",
    "USB0::vendor::0x5678::SERIAL::INSTR",
    "USB0::0x1234::0x5678::SERIAL::if0::INSTR",
    "USB0::0x1234::0x5678::SERIAL::RAW",
  ])("refuses %j, quoting it and saying what should be there", (text) => {
    let error: unknown;
    try {
      parseVisaAddress(text);
    } catch (thrown) {
      error = thrown;
    }
    expect(error).toMatchObject({ code: "bad-address" });
    expect((error as Error).message).toMatch(/^Cannot use address ".*": .*(should|use the instrument's raw socket)/);
  });
});

describe("formatVisaAddress()", () => {
  test.each([
    [{ kind: "serial", path: "/dev/ttyUSB0" }, "ASRL/dev/ttyUSB0::INSTR"],
    [{ kind: "socket", host: "192.0.2.20", port: 5025 }, "TCPIP0::192.0.2.20::5025::SOCKET"],
    [{ kind: "socket", host: "2001:db8::1", port: 5025 }, "TCPIP0::[2001:db8::1]::5025::SOCKET"],
    [{ kind: "usbtmc", vendor: 0x1234, product: 0xab, serialNumber: "S1" }, "USB0::0x1234::0x00AB::S1::INSTR"],
    [{ kind: "usbtmc", vendor: 0x1234, product: 0xab }, "USB0::0x1234::0x00AB::INSTR"],
  ] as const)("writes %j as %s", (address, text) => {
    expect(formatVisaAddress(address)).toBe(text);
  });

  test("writes what is read back to the same address", () => {
    const word = fc.stringMatching(/^[A-Za-z0-9][A-Za-z0-9-]{0,11}$/);
    const address: fc.Arbitrary<VisaAddress> = fc.oneof(
      word.map((name) => ({ kind: "serial" as const, path: `/dev/${name}` })),
      fc.record({ kind: fc.constant("socket" as const), host: fc.ipV4(), port: fc.integer({ min: 1, max: 65535 }) }),
      fc.record({ kind: fc.constant("socket" as const), host: fc.ipV6(), port: fc.integer({ min: 1, max: 65535 }) }),
      fc.record(
        {
          kind: fc.constant("usbtmc" as const),
          vendor: fc.integer({ min: 0, max: 0xffff }),
          product: fc.integer({ min: 0, max: 0xffff }),
          serialNumber: word,
        },
        { requiredKeys: ["kind", "vendor", "product"] },
      ),
    );
    fc.assert(
      fc.property(address, (given) => {
        const read = parseVisaAddress(formatVisaAddress(given), "linux");
        const lower = given.kind === "socket" ? { ...given, host: given.host.toLowerCase() } : given;
        expect(read).toEqual(lower);
      }),
    );
  });

  test("a text of any kind is read or refused as a bad address, and nothing else happens", () => {
    const piece = fc.constantFrom(
      "ASRL",
      "TCPIP0",
      "USB",
      "::",
      "[",
      "]",
      "/dev/x",
      "INSTR",
      "SOCKET",
      "5025",
      "0x12",
      "é",
      "\0",
    );
    fc.assert(
      fc.property(
        fc.oneof(
          fc.string(),
          fc.array(piece).map((pieces) => pieces.join("")),
        ),
        (text) => {
          try {
            const canonical = formatVisaAddress(parseVisaAddress(text, "linux"));
            expect(formatVisaAddress(parseVisaAddress(canonical, "linux"))).toBe(canonical);
          } catch (error) {
            expect(error).toMatchObject({ code: "bad-address" });
          }
        },
      ),
      { numRuns: 2000 },
    );
  });
});
