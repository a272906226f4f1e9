import { BoardFile } from "../../shared/files/board-file.ts";
import type { PracticeSheet } from "./practice-sheet.ts";

const ROUTER = BoardFile.parse({
  version: 1,
  name: "Router R9",
  feeds: { dc: { nominalVolts: 12, tolerance: [-0.1, 0.1], limitAmps: 1.5, coldOhmsMin: 500 } },
  rails: {
    "12v": { volts: 12, tolerance: [-0.1, 0.1], coldOhms: [500, 200000], needs: ["feed:dc"], point: "after F1" },
    "5v": { volts: 5, tolerance: [-0.05, 0.05], coldOhms: [300, 50000], needs: ["12v"], point: "L1" },
    "3v3": { volts: 3.3, tolerance: [-0.05, 0.05], coldOhms: [100, 20000], needs: ["12v"], point: "L2" },
    "1v5": { volts: 1.5, tolerance: [-0.05, 0.05], coldOhms: [30, 3000], needs: ["3v3"], point: "L3" },
    "1v1": { volts: 1.1, tolerance: [-0.05, 0.05], coldOhms: [5, 500], needs: ["5v", "3v3"], point: "L4" },
    "2v5": { volts: 2.5, tolerance: [-0.05, 0.05], coldOhms: [100, 20000], needs: ["3v3"], point: "U7 out" },
    osc: { volts: 1.6, tolerance: [-0.5, 0.5], signal: true, needs: ["3v3"], point: "Y1" },
    rst: { volts: 3.3, tolerance: [-0.2, 0.1], signal: true, needs: ["3v3", "1v1"], point: "U9.1" },
  },
});
const POE = BoardFile.parse({
  version: 1,
  name: "Lamp controller L48",
  feeds: { in48: { nominalVolts: 48, tolerance: [-0.2, 0.15], coldOhmsMin: 5000 } },
  rails: {
    "48v": { volts: 48, tolerance: [-0.2, 0.15], coldOhms: [5000, 1000000], needs: ["feed:in48"], point: "after F1" },
    "12v": { volts: 12, tolerance: [-0.05, 0.05], coldOhms: [1000, 100000], needs: ["48v"], point: "L1" },
    "5v": { volts: 5, tolerance: [-0.05, 0.05], coldOhms: [500, 50000], needs: ["12v"], point: "L2" },
    "3v3": { volts: 3.3, tolerance: [-0.05, 0.05], coldOhms: [200, 50000], needs: ["5v"], point: "U3" },
    "enable-12v": { volts: 3.3, tolerance: [-0.4, 0.5], signal: true, needs: ["48v"], point: "U1.3" },
    "gate-supply": { volts: 10, tolerance: [-0.1, 0.1], coldOhms: [500, 50000], needs: ["12v"], point: "D5" },
    reset: { volts: 3.3, tolerance: [-0.2, 0.1], signal: true, needs: ["3v3"], point: "U5.1" },
  },
});
const PHONE = BoardFile.parse({
  version: 1,
  name: "Phone P2",
  feeds: { battery: { nominalVolts: 4, tolerance: [-0.15, 0.1], limitAmps: 2, coldOhmsMin: 1000 } },
  rails: {
    vbat: { volts: 4, tolerance: [-0.15, 0.1], coldOhms: [1000, 1000000], needs: ["feed:battery"], point: "C1" },
    vsys: { volts: 4, tolerance: [-0.15, 0.1], coldOhms: [500, 1000000], needs: ["vbat"], point: "C20" },
    "1v8-ao": { volts: 1.8, tolerance: [-0.05, 0.05], coldOhms: [500, 50000], needs: ["vsys"], point: "C33" },
    "vdd-cpu": { volts: 0.8, tolerance: [-0.15, 0.3], coldOhms: [5, 200], needs: ["vsys"], point: "L11" },
    "vdd-mem": { volts: 1.1, tolerance: [-0.05, 0.05], coldOhms: [30, 2000], needs: ["vsys"], point: "L12" },
    "1v8": { volts: 1.8, tolerance: [-0.05, 0.05], coldOhms: [100, 20000], needs: ["vsys"], point: "L13" },
    "3v0-disp": { volts: 3.0, tolerance: [-0.05, 0.05], coldOhms: [500, 50000], needs: ["vsys", "1v8"], point: "C71" },
    "pm-ok": { volts: 1.8, tolerance: [-0.3, 0.1], signal: true, needs: ["1v8", "vdd-cpu", "vdd-mem"], point: "TP5" },
  },
  states: {
    battery: { after: "the battery leads are on", up: ["vbat", "vsys", "1v8-ao"] },
    on: { after: "the power key is held for two seconds", up: ["vdd-cpu", "vdd-mem", "1v8", "3v0-disp", "pm-ok"] },
  },
});
const CARD = BoardFile.parse({
  version: 1,
  name: "Card C7",
  feeds: {
    "slot-3v3": { nominalVolts: 3.3 },
    "slot-12v": { nominalVolts: 12 },
    pcie6: { nominalVolts: 12, coldOhmsMin: 300 },
  },
  rails: {
    "12v-ext": { volts: 12, tolerance: [-0.08, 0.05], coldOhms: [300, 100000], needs: ["feed:pcie6"], point: "F1" },
    "12v-bus": { volts: 12, tolerance: [-0.08, 0.05], coldOhms: [300, 100000], needs: ["feed:slot-12v"], point: "F2" },
    "3v3-bus": { volts: 3.3, tolerance: [-0.09, 0.09], coldOhms: [150, 50000], needs: ["feed:slot-3v3"], point: "F3" },
    "5v": { volts: 5, tolerance: [-0.05, 0.05], coldOhms: [500, 20000], needs: ["12v-ext"], point: "U2" },
    "1v8": { volts: 1.8, tolerance: [-0.05, 0.05], coldOhms: [50, 5000], needs: ["3v3-bus"], point: "L5" },
    "0v95": { volts: 0.95, tolerance: [-0.05, 0.05], coldOhms: [5, 300], needs: ["12v-bus", "1v8"], point: "L6" },
    vddc: {
      volts: 0.9,
      tolerance: [-0.15, 0.2],
      coldOhms: [0.2, 8],
      needs: ["12v-ext", "5v", "vddc-enable"],
      point: "L11",
    },
    mvdd: { volts: 1.35, tolerance: [-0.05, 0.05], coldOhms: [5, 150], needs: ["12v-bus", "5v"], point: "L21" },
    "vddc-enable": { volts: 3.3, tolerance: [-0.5, 0.1], signal: true, needs: ["5v", "1v8"], point: "R5" },
    pgood: { volts: 3.3, tolerance: [-0.3, 0.1], signal: true, needs: ["vddc", "mvdd", "0v95"], point: "R9" },
    perst: { volts: 3.3, tolerance: [-0.3, 0.1], signal: true, drivenBy: "host", needs: ["pgood"], point: "A11" },
    crystal: { volts: 0.9, tolerance: [-0.5, 0.5], signal: true, needs: ["1v8"], point: "Y1" },
  },
  coldPairs: { "pcie6:vddc": 100 },
});
const RO = { dc: 20000, "12v": 20000, "5v": 4000, "3v3": 900, "1v5": 200, "1v1": 40, "2v5": 900 };
const RV = { "12v": 12.1, "5v": 5.02, "3v3": 3.31, "1v5": 1.5, "1v1": 1.1, "2v5": 2.5 };
const CO = {
  "slot-3v3": 2000,
  "slot-12v": 20000,
  pcie6: 15000,
  "12v-ext": 15000,
  "12v-bus": 20000,
  "3v3-bus": 2000,
  "5v": 3000,
  "1v8": 300,
  "0v95": 30,
  vddc: 1.2,
  mvdd: 30,
  "pcie6:vddc": 5000,
};
const CV = { "12v-ext": 12, "12v-bus": 12, "3v3-bus": 3.3, "5v": 5.0, "1v8": 1.8, "0v95": 0.95, vddc: 0.9, mvdd: 1.35 };

const PO = { in48: 30000, "48v": 30000, "12v": 9000, "5v": 2000, "3v3": 1500, "gate-supply": 3000 };
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
          coldOhms: RO,
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
          coldOhms: { ...RO, "1v1": 0.9 },
          volts: { ...RV, "1v1": 0.05 },
          signals: { rst: 0 },
        },
        first: ["1v1 short"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "held",
      },
      {
        seen: "all rails good, rst low",
        readings: { draw: "partly-up", coldOhms: RO, volts: RV, signals: { osc: 1.6, rst: 0.02 } },
        first: ["rst stuck"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "either",
      },
      {
        seen: "2v5 LDO at 3.3 V: passes its input",
        readings: { coldOhms: RO, volts: { ...RV, "2v5": 3.28 }, signals: { osc: 1.6, rst: 3.3 } },
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
        readings: { coldOhms: RO, volts: { ...RV, "1v5": 1.2 }, signals: { osc: 1.6, rst: 3.3 } },
        first: ["1v5 out-of-regulation", "1v5 overloaded"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "either",
      },
      {
        seen: "rst low, and 1v1 gone that it needs, ohms normal",
        readings: { coldOhms: RO, volts: { ...RV, "1v1": 0.01 }, signals: { osc: 1.6, rst: 0 } },
        first: ["1v1 dead", "1v1 not-enabled"],
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "either",
      },
      {
        seen: "no bias at the crystal, all rails well",
        readings: { coldOhms: RO, volts: RV, signals: { osc: 0.0, rst: 3.3 } },
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
        readings: { draw: "overload", coldOhms: PO, volts: { in48: 19, "48v": 18.9, "12v": 11.9 } },
        first: PULLS_48_DOWN,
        notNext: ["host-look", "second-host", "lanes", "clock-pair", "sense-pin"],
        power: "either",
      },
      {
        seen: "48 V stays at 19 V in the limit, 12 V and 5 V do not come up; the draw could not be classed",
        readings: { draw: "cannot-tell", coldOhms: PO, volts: { "48v": 19, "12v": 0.4, "5v": 0.1 } },
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
          coldOhms: CO,
          volts: { ...CV, mvdd: 0 },
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
          coldOhms: CO,
          volts: { ...CV, vddc: 0.01 },
          signals: { "vddc-enable": 3.2, pgood: 0, perst: 0, crystal: 0.9 },
        },
        first: ["vddc dead"],
        power: "either",
      },
      {
        seen: "pcie6 to vddc 1.3 ohm: high side short",
        readings: { coldOhms: { ...CO, pcie6: 1.3, "12v-ext": 1.3, "pcie6:vddc": 0.3 } },
        first: ["vddc high-side-short"],
        power: "held",
      },
      {
        seen: "all well, host attached, link absent",
        readings: {
          draw: "core-alive",
          host: "attached",
          coldOhms: CO,
          volts: CV,
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
          coldOhms: CO,
          volts: { ...CV, "1v8": 0, "0v95": 0, vddc: 0, mvdd: 1.35 },
          signals: { "vddc-enable": 0, pgood: 0, perst: 0, crystal: 0 },
        },
        first: ["1v8 dead", "1v8 not-enabled"],
        power: "either",
      },
      {
        seen: "5v gone with 4 ohm",
        readings: {
          host: "none",
          coldOhms: { ...CO, "5v": 4 },
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
          coldOhms: CO,
          volts: CV,
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
          coldOhms: { ...CO, "slot-12v": "open" },
          volts: { "slot-12v": 12, ...CV, "12v-bus": 0, "0v95": 0, mvdd: 0 },
          signals: { pgood: 0 },
        },
        first: ["slot-12v open"],
        power: "either",
      },
      {
        seen: "5 V reads nothing although what needs it is up",
        readings: {
          host: "none",
          coldOhms: CO,
          volts: { ...CV, "5v": 0 },
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
          coldOhms: { ...CO, "0v95": 2 },
          volts: { ...CV, "0v95": 0.3 },
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
          coldOhms: CO,
          volts: CV,
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
          coldOhms: CO,
          volts: { ...CV, vddc: 0 },
          signals: { "vddc-enable": 0.05, pgood: 0, crystal: 0.9 },
        },
        first: ["vddc-enable stuck"],
        power: "either",
      },
    ],
  ],
];
