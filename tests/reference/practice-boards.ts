import { BoardFile } from "../../shared/files/board-file.ts";

export const ROUTER = BoardFile.parse({
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
export const POE = BoardFile.parse({
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
export const PHONE = BoardFile.parse({
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
export const CARD = BoardFile.parse({
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

/** A sound router reads these ohms to ground without power. */
export const ROUTER_OHMS = { dc: 20000, "12v": 20000, "5v": 4000, "3v3": 900, "1v5": 200, "1v1": 40, "2v5": 900 };
/** A sound router reads these volts under power. */
export const ROUTER_VOLTS = { "12v": 12.1, "5v": 5.02, "3v3": 3.31, "1v5": 1.5, "1v1": 1.1, "2v5": 2.5 };
/** A sound card reads these ohms to ground without power. */
export const CARD_OHMS = {
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
/** A sound card reads these volts under power. */
export const CARD_VOLTS = {
  "12v-ext": 12,
  "12v-bus": 12,
  "3v3-bus": 3.3,
  "5v": 5.0,
  "1v8": 1.8,
  "0v95": 0.95,
  vddc: 0.9,
  mvdd: 1.35,
};

/** A sound lamp controller reads these ohms to ground without power. */
export const POE_OHMS = { in48: 30000, "48v": 30000, "12v": 9000, "5v": 2000, "3v3": 1500, "gate-supply": 3000 };
