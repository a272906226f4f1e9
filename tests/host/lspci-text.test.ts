import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import type { HostDevice } from "../../shared/record/host-look.ts";
import { HostLook } from "../../shared/record/host-look.ts";
import { isLspciText, lookFromLspci } from "../../src/host/lspci-text.ts";

// Published texts; fixtures/README.md names where each is from. What is expected is what lspci itself says of the registers.
const fixture = (name: string): string => readFileSync(new URL(`./fixtures/${name}.txt`, import.meta.url), "utf8");
const devicesOf = (name: string): HostDevice[] => HostLook.parse(lookFromLspci(fixture(name))).devices;
/** The same text without its bytes: the words alone have to do. */
const wordsOnly = (text: string): string => text.replace(/^[> ]*[0-9a-f]{1,3}0: .*$/gm, "");

describe("an endpoint with its 4096 bytes (pciutils, tests/cap-pcie-2)", () => {
  test("its registers give what lspci prints in words", () => {
    expect(devicesOf("endpoint-vvxxxx")).toMatchObject([
      {
        address: "0000:09:00.0",
        vendor: "8086",
        device: "10c9",
        class: "020000",
        revision: "01",
        driver: "igb",
        link: { speedGt: 2.5, width: 4, maxSpeedGt: 2.5, maxWidth: 4 },
        errorBits: ["AdvNonFatalErr"],
        optionRom: true,
        unassignedRegions: 0,
        port: null,
      },
    ]);
  });
  test("its words alone give the same link", () => {
    const [device] = lookFromLspci(wordsOnly(fixture("endpoint-vvxxxx")))?.devices ?? [];
    expect(device).toMatchObject({
      vendor: "8086",
      device: "10c9",
      link: { speedGt: 2.5, width: 4, maxSpeedGt: 2.5, maxWidth: 4 },
      errorBits: ["NonFatalErr"],
    });
  });
  test("totals of errors are not said by lspci", () => {
    expect(devicesOf("endpoint-vvxxxx")[0]?.aer).toEqual({ correctable: null, nonfatal: null, fatal: null });
  });
});

test("a root port without a slot says that its link is active, and nothing of presence (pciutils, tests/cap-aer-root)", () => {
  expect(devicesOf("root-port-vvxxxx")).toMatchObject([
    {
      vendor: "8086",
      device: "2f04",
      class: "060400",
      subsystemVendor: "8086",
      subsystemDevice: "0000",
      link: { speedGt: 8, width: 8, maxSpeedGt: 8, maxWidth: 8 },
      port: { secondaryBus: 3, presence: null, linkActive: true },
    },
  ]);
});

test("a port without a link and one with a card are told apart in words (linuxhw/LsPCI, 40CE8C87CB)", () => {
  const devices = devicesOf("two-ports-vvnn");
  expect(devices.map(({ vendor, device, class: kind }) => [vendor, device, kind])).toEqual([
    ["8086", "0c00", "060000"],
    ["8086", "0412", "030000"],
    ["8086", "8c10", "060400"],
    ["8086", "8c14", "060400"],
  ]);
  expect(devices[2]).toMatchObject({
    link: { speedGt: 2.5, width: 0, maxSpeedGt: 5, maxWidth: 1 },
    port: { secondaryBus: 1, presence: null, linkActive: false },
  });
  expect(devices[3]).toMatchObject({
    link: { speedGt: 2.5, width: 1, maxSpeedGt: 5, maxWidth: 1 },
    port: { secondaryBus: 2, presence: "present", linkActive: true },
  });
  expect(devices[1]).toMatchObject({ subsystemVendor: "1019", subsystemDevice: "7e64", optionRom: true });
});

test("a text quoted in a mail is read, each function with its own bytes (linux-pci, cc168bbc-0618-cde6-0003-0a927c1728a8)", () => {
  expect(devicesOf("quoted-mail-vvxxx")).toMatchObject([
    {
      address: "0000:05:00.0",
      vendor: "10de",
      device: "1cb1",
      class: "030000",
      subsystemVendor: "103c",
      subsystemDevice: "11bc",
      driver: "vfio-pci",
      link: { speedGt: 2.5, width: 16, maxSpeedGt: 8, maxWidth: 16 },
      optionRom: true,
    },
    { address: "0000:05:00.1", vendor: "10de", device: "0fb9", class: "040300", optionRom: false },
  ]);
});

test("a dump with a row missing is not read past the gap", () => {
  const text = fixture("endpoint-vvxxxx").replace(/^a0: .*\n/m, "");
  expect(lookFromLspci(text)?.devices[0]?.link).toMatchObject({ maxSpeedGt: 2.5, width: 4 });
  expect(lookFromLspci(wordsOnly(text.replace(/Lnk.*/g, "")))?.devices[0]?.link.width).toBeNull();
});

test("a text without numbers says what is missing, other text is none", () => {
  expect(isLspciText("01:00.0 VGA compatible controller: a card (rev a1)\n\tSubsystem: somebody\n")).toBe(true);
  expect(lookFromLspci("01:00.0 VGA compatible controller: a card (rev a1)\n\tSubsystem: somebody\n")).toBeNull();
  expect(isLspciText("The board came at 10:30 and smelled.")).toBe(false);
  expect(lookFromLspci("")).toBeNull();
});
