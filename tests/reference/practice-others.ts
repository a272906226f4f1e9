import type { BoardFile } from "../../shared/files/board-file.ts";
import {
  CARD,
  CARD_OHMS,
  CARD_VOLTS,
  PHONE,
  POE,
  POE_OHMS,
  ROUTER,
  ROUTER_OHMS,
  ROUTER_VOLTS,
} from "./practice-boards.ts";
import type { PracticeSheet } from "./practice-sheet.ts";

/** What loads a 48 V input that is sound by itself: a rail behind it that is shorted or draws too much, or a load of the board. */
const PULLS_48_DOWN = [
  ...["12v", "5v", "3v3", "gate-supply"].flatMap((rail) => [`${rail} short`, `${rail} overloaded`]),
  "fans short",
];

/** What only a host can answer; without one it is not asked. */
const WANTS_HOST_HERE = [
  "host-look",
  "second-host",
  "load-test",
  "fans-run",
  "core-amps",
  "ref-clock-volts",
  "boots",
  "memory-test",
];

/**
 * Boards that the fault finder was not tuned on, with names of their own, and what a technician says of each sheet (common practice, no
 * source). The core of the card is called otherwise, and a board beside no host has no lanes.
 */
export const OTHER_BOARDS: readonly [string, BoardFile, readonly PracticeSheet[]][] = [
  [
    "a router on one 12 V plug",
    ROUTER,
    [
      {
        seen: "3v3 gone with ohms normal; 1v5, 2v5, 1v1 gone behind it",
        readings: {
          coldOhms: ROUTER_OHMS,
          volts: { "12v": 12.1, "5v": 5.0, "3v3": 0.02, "1v5": 0, "2v5": 0, "1v1": 0 },
          signals: { osc: 0, rst: 0 },
        },
        first: ["3v3 dead", "3v3 not-enabled"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "either",
      },
      {
        seen: "1v1 reads 1 ohm cold, 0.1 V on, 5v dips",
        readings: {
          draw: "retrying",
          coldOhms: { ...ROUTER_OHMS, "1v1": 0.9 },
          volts: { ...ROUTER_VOLTS, "1v1": 0.05 },
          signals: { rst: 0 },
        },
        first: ["1v1 short"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "held",
      },
      {
        seen: "all rails good, rst low",
        readings: { draw: "partly-up", coldOhms: ROUTER_OHMS, volts: ROUTER_VOLTS, signals: { osc: 1.6, rst: 0.02 } },
        first: ["rst stuck"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "either",
      },
      {
        seen: "2v5 LDO at 3.3 V: passes its input",
        readings: { coldOhms: ROUTER_OHMS, volts: { ...ROUTER_VOLTS, "2v5": 3.28 }, signals: { osc: 1.6, rst: 3.3 } },
        first: ["2v5 high-side-short", "2v5 out-of-regulation"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "held",
      },
      {
        seen: "fuse open: 12 V at jack, 0 behind",
        readings: { draw: "open-input", volts: { dc: 12, "12v": 0.0 }, coldOhms: { dc: "open" } },
        first: ["dc open"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "either",
      },
      {
        seen: "1v5 at 1.2 V low, ohms normal",
        readings: { coldOhms: ROUTER_OHMS, volts: { ...ROUTER_VOLTS, "1v5": 1.2 }, signals: { osc: 1.6, rst: 3.3 } },
        first: ["1v5 out-of-regulation", "1v5 overloaded"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "either",
      },
      {
        seen: "rst low, and 1v1 gone that it needs, ohms normal",
        readings: { coldOhms: ROUTER_OHMS, volts: { ...ROUTER_VOLTS, "1v1": 0.01 }, signals: { osc: 1.6, rst: 0 } },
        first: ["1v1 dead", "1v1 not-enabled"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "either",
      },
      {
        seen: "no bias at the crystal, all rails well",
        readings: { coldOhms: ROUTER_OHMS, volts: ROUTER_VOLTS, signals: { osc: 0.0, rst: 3.3 } },
        first: ["osc dead"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "either",
      },
    ],
  ],
  [
    "a lamp controller on 48 V",
    POE,
    [
      {
        seen: "12v absent, enable low, 48 V there, ohms normal",
        readings: {
          draw: "standby-only",
          coldOhms: { in48: 30000, "48v": 30000, "12v": 9000, "5v": 2000, "3v3": 1500 },
          volts: { "48v": 47.8, "12v": 0, "5v": 0, "3v3": 0 },
          signals: { "enable-12v": 0.1, reset: 0 },
        },
        first: ["12v not-enabled", "12v dead", "enable-12v stuck"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "either",
      },
      {
        seen: "48 V input 3 ohm",
        readings: { draw: "dead-short", coldOhms: { in48: 3, "48v": 3 } },
        first: ["in48 short", "48v short"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "held",
      },
      {
        seen: "gate supply gone, others well",
        readings: {
          coldOhms: { "gate-supply": 3000, "12v": 9000 },
          volts: { "48v": 48, "12v": 12, "5v": 5, "3v3": 3.3, "gate-supply": 0.1 },
          signals: { reset: 3.3, "enable-12v": 3.2 },
        },
        first: ["gate-supply dead", "gate-supply not-enabled"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "either",
      },
      {
        seen: "5 V reads 12 V",
        readings: { coldOhms: { in48: 30000 }, volts: { "48v": 48, "12v": 12, "5v": 11.9 }, signals: {} },
        first: ["5v high-side-short"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "held",
      },
      {
        seen: "48 V input reads 20 V in the limit",
        readings: { draw: "overload", coldOhms: { in48: 30000, "48v": 30000 }, volts: { "48v": 20 } },
        first: PULLS_48_DOWN,
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "either",
      },
      {
        seen: "48 V at the connector sags to 19 V in the limit, all ohms normal",
        readings: { draw: "overload", coldOhms: POE_OHMS, volts: { in48: 19, "48v": 18.9, "12v": 11.9 } },
        first: PULLS_48_DOWN,
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "either",
      },
      {
        seen: "48 V stays at 19 V in the limit, 12 V and 5 V do not come up; the draw could not be classed",
        readings: { draw: "cannot-tell", coldOhms: POE_OHMS, volts: { "48v": 19, "12v": 0.4, "5v": 0.1 } },
        first: PULLS_48_DOWN,
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "either",
      },
      {
        seen: "48 V sags to 19 V in the limit, nothing read cold",
        readings: { draw: "overload", volts: { "48v": 19 } },
        first: ["in48 short", "48v short"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        next: ["cold ohms in48", "cold ohms 48v"],
        power: "held",
      },
    ],
  ],
  [
    "a phone with a power key",
    PHONE,
    [
      {
        seen: "key not pressed, all as it should be",
        readings: {
          draw: "standby-only",
          state: "battery",
          coldOhms: { battery: 50000 },
          volts: { vbat: 4, vsys: 4, "1v8-ao": 1.8, "vdd-cpu": 0, "1v8": 0 },
          signals: { "pm-ok": 0 },
        },
        never: ["vdd-cpu dead", "1v8 dead", "pm-ok stuck", "memory faulty"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "either",
      },
      {
        seen: "key pressed, vdd-mem stays down (ohms normal), rest up",
        readings: {
          draw: "partly-up",
          state: "on",
          coldOhms: { battery: 50000, "vdd-mem": 300, "vdd-cpu": 40, "1v8": 900 },
          volts: { vbat: 4, vsys: 4, "1v8-ao": 1.8, "vdd-cpu": 0.8, "vdd-mem": 0.01, "1v8": 1.8, "3v0-disp": 3 },
          signals: { "pm-ok": 0 },
        },
        first: ["vdd-mem dead", "vdd-mem not-enabled"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "either",
      },
      {
        seen: "vsys short 1 ohm, battery side fine",
        readings: { draw: "overload", coldOhms: { battery: 50000, vbat: 50000, vsys: 1 } },
        first: ["vsys short"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "held",
      },
      {
        seen: "key pressed, cpu rail stays down with normal ohms",
        readings: {
          state: "on",
          draw: "partly-up",
          coldOhms: { battery: 50000, "vdd-cpu": 40, "vdd-mem": 300, "1v8": 900 },
          volts: { vbat: 4, vsys: 4, "1v8-ao": 1.8, "vdd-cpu": 0, "vdd-mem": 1.1, "1v8": 1.8, "3v0-disp": 3 },
          signals: { "pm-ok": 0 },
        },
        first: ["vdd-cpu dead", "vdd-cpu not-enabled"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "either",
      },
      {
        seen: "display rail gone, all else up",
        readings: {
          state: "on",
          coldOhms: { battery: 50000, "3v0-disp": 5000 },
          volts: { vbat: 4, vsys: 4, "1v8-ao": 1.8, "vdd-cpu": 0.8, "vdd-mem": 1.1, "1v8": 1.8, "3v0-disp": 0 },
          signals: { "pm-ok": 1.8 },
        },
        first: ["3v0-disp dead", "3v0-disp not-enabled"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "either",
      },
    ],
  ],
  [
    "a card with other names for everything",
    CARD,
    [
      {
        seen: "mvdd gone, ohms normal; vddc fine; pgood low",
        readings: {
          draw: "core-alive",
          host: "none",
          coldOhms: CARD_OHMS,
          volts: { ...CARD_VOLTS, mvdd: 0 },
          signals: { pgood: 0, perst: 0, "vddc-enable": 3.2, crystal: 0.9 },
        },
        first: ["mvdd dead", "mvdd not-enabled"],
        power: "either",
      },
      {
        seen: "vddc gone, its enable high, ohms normal",
        readings: {
          draw: "partly-up",
          host: "none",
          coldOhms: CARD_OHMS,
          volts: { ...CARD_VOLTS, vddc: 0.01 },
          signals: { "vddc-enable": 3.2, pgood: 0, perst: 0, crystal: 0.9 },
        },
        first: ["vddc dead"],
        power: "either",
      },
      {
        seen: "pcie6 to vddc 1.3 ohm: high side short",
        readings: { coldOhms: { ...CARD_OHMS, pcie6: 1.3, "12v-ext": 1.3, "pcie6:vddc": 0.3 } },
        first: ["vddc high-side-short"],
        power: "held",
      },
      {
        seen: "all well, host attached, link absent",
        readings: {
          draw: "core-alive",
          host: "attached",
          coldOhms: CARD_OHMS,
          volts: CARD_VOLTS,
          signals: { "vddc-enable": 3.2, pgood: 3.3, perst: 3.3, crystal: 0.9 },
          checks: { "host-look": "no-link" },
        },
        never: ["chip dead", "chip-joint cracked"],
        next: ["clock-pair", "firmware-switch", "lanes"],
        power: "either",
      },
      {
        seen: "1v8 gone, and 0v95, enable, vddc, crystal with it",
        readings: {
          draw: "standby-only",
          host: "none",
          coldOhms: CARD_OHMS,
          volts: { ...CARD_VOLTS, "1v8": 0, "0v95": 0, vddc: 0, mvdd: 1.35 },
          signals: { "vddc-enable": 0, pgood: 0, perst: 0, crystal: 0 },
        },
        first: ["1v8 dead", "1v8 not-enabled"],
        power: "either",
      },
      {
        seen: "5v gone with 4 ohm",
        readings: {
          host: "none",
          coldOhms: { ...CARD_OHMS, "5v": 4 },
          volts: {
            "12v-ext": 12,
            "12v-bus": 12,
            "3v3-bus": 3.3,
            "5v": 0.1,
            "1v8": 1.8,
            "0v95": 0.95,
            vddc: 0,
            mvdd: 0,
          },
          signals: {},
        },
        first: ["5v short"],
        power: "held",
      },
      {
        seen: "every rail well, pgood low, no host",
        readings: {
          draw: "core-alive",
          host: "none",
          coldOhms: CARD_OHMS,
          volts: CARD_VOLTS,
          signals: { "vddc-enable": 3.2, pgood: 0.02, perst: 0, crystal: 0.9 },
        },
        first: ["pgood stuck"],
        notNext: WANTS_HOST_HERE,
        power: "either",
      },
      {
        seen: "slot 12 V at the fingers, none behind its fuse",
        readings: {
          draw: "partly-up",
          host: "none",
          coldOhms: { ...CARD_OHMS, "slot-12v": "open" },
          volts: { "slot-12v": 12, ...CARD_VOLTS, "12v-bus": 0, "0v95": 0, mvdd: 0 },
          signals: { pgood: 0 },
        },
        first: ["slot-12v open"],
        power: "either",
      },
      {
        seen: "5 V reads nothing although what needs it is up",
        readings: {
          host: "none",
          coldOhms: CARD_OHMS,
          volts: { ...CARD_VOLTS, "5v": 0 },
          signals: { "vddc-enable": 3.2, pgood: 3.3, crystal: 0.9 },
        },
        never: ["5v dead", "5v not-enabled"],
        next: ["volts 5v, again"],
        power: "either",
      },
      {
        seen: "0v95 at 0.6 V, 3 ohm cold",
        readings: {
          host: "none",
          draw: "partly-up",
          coldOhms: { ...CARD_OHMS, "0v95": 2 },
          volts: { ...CARD_VOLTS, "0v95": 0.3 },
          signals: { pgood: 0 },
        },
        first: ["0v95 short", "0v95 overloaded"],
        power: "either",
      },
      {
        seen: "all well, no host, normal draw",
        readings: {
          draw: "normal",
          host: "none",
          coldOhms: CARD_OHMS,
          volts: CARD_VOLTS,
          signals: { "vddc-enable": 3.2, pgood: 3.3, perst: 0, crystal: 0.9 },
        },
        first: ["board no-fault"],
        notNext: WANTS_HOST_HERE,
        power: "either",
      },
      {
        seen: "enable of vddc low though 5v and 1v8 are up",
        readings: {
          draw: "partly-up",
          host: "none",
          coldOhms: CARD_OHMS,
          volts: { ...CARD_VOLTS, vddc: 0 },
          signals: { "vddc-enable": 0.05, pgood: 0, crystal: 0.9 },
        },
        first: ["vddc-enable stuck"],
        power: "either",
      },
    ],
  ],
];
