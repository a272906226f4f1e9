import type { PracticeSheet } from "./practice-sheet.ts";

const OHMS = { supply: 22000, "24v": 22000, "12v": 5000, "5v": 2000, "3v3": 900 };
const VOLTS = { "24v": 23.9, "12v": 12.05, "5v": 5.01, "3v3": 3.3 };
const SIGNALS = { clock: 1.6, reset: 3.3, "output-enable": 3.3 };

/** A board on a single 24 V supply: drivers on 12 V, a small processor on 3.3 V. */
export const TWENTY_FOUR_VOLT_SHEETS: readonly PracticeSheet[] = [
  {
    seen: "24 V at the terminal and none behind the fuse",
    readings: {
      draw: "open-input",
      coldOhms: { ...OHMS, supply: "open" },
      volts: { supply: 24, "24v": 0, "12v": 0, "5v": 0, "3v3": 0 },
    },
    first: ["supply open"],
    power: "either",
  },
  {
    seen: "0.5 Ω at the terminal and behind the fuse",
    readings: { draw: "dead-short", coldOhms: { supply: 0.5, "24v": 0.5 } },
    first: ["supply short"],
    power: "held",
  },
  {
    seen: "12 V is gone, 5 V and 3.3 V are well",
    readings: { coldOhms: OHMS, volts: { ...VOLTS, "12v": 0.03 }, signals: { ...SIGNALS, "output-enable": 0 } },
    first: ["12v dead", "12v not-enabled"],
    power: "open",
  },
  {
    seen: "5 V is gone, and 3.3 V, clock and reset behind it",
    readings: {
      draw: "standby-only",
      coldOhms: OHMS,
      volts: { "24v": 24, "12v": 12, "5v": 0, "3v3": 0 },
      signals: { clock: 0, reset: 0, "output-enable": 0 },
    },
    first: ["5v dead", "5v not-enabled"],
    power: "open",
  },
  {
    seen: "5 V is gone with 0.8 Ω to ground",
    readings: { coldOhms: { ...OHMS, "5v": 0.8 }, volts: { "24v": 24, "5v": 0.01, "3v3": 0 } },
    first: ["5v short"],
    power: "held",
  },
  {
    seen: "3.3 V is gone, its 5 V is there, ohms normal",
    readings: { coldOhms: OHMS, volts: { ...VOLTS, "3v3": 0 }, signals: { reset: 0, clock: 0 } },
    first: ["3v3 dead", "3v3 not-enabled"],
    power: "open",
  },
  {
    seen: "3.3 V at 2.7 V",
    readings: { coldOhms: OHMS, volts: { ...VOLTS, "3v3": 2.7 } },
    first: ["3v3 out-of-regulation", "3v3 overloaded"],
    power: "open",
  },
  {
    seen: "every rail and the clock's bias well, reset low",
    readings: { volts: VOLTS, signals: { clock: 1.6, reset: 0.05, "output-enable": 0 } },
    first: ["reset stuck"],
    power: "open",
  },
  {
    seen: "no bias at the crystal, all else well",
    readings: { volts: VOLTS, signals: { ...SIGNALS, clock: 0 } },
    first: ["clock dead"],
    power: "open",
  },
  {
    seen: "5 V reads 23.8 V: the switch of its regulator is through",
    readings: { volts: { "24v": 24, "12v": 12, "5v": 23.8 } },
    first: ["5v high-side-short"],
    power: "held",
  },
  {
    seen: "all rails and reset well, the outputs stay disabled",
    readings: { volts: VOLTS, signals: { clock: 1.6, reset: 3.3, "output-enable": 0 } },
    first: ["output-enable stuck"],
    power: "open",
  },
  {
    seen: "everything well on a board without a host and without lanes",
    readings: { draw: "normal", coldOhms: OHMS, volts: VOLTS, signals: SIGNALS },
    never: ["lanes damaged", "memory faulty", "chip-joint cracked", "reset stuck", "clock dead", "5v dead"],
    power: "open",
    notNext: ["lanes", "clock-pair", "phase-balance", "host-look", "second-host"],
  },
  {
    seen: "12 V 15 % low, ohms normal",
    readings: { coldOhms: OHMS, volts: { ...VOLTS, "12v": 10.2 } },
    first: ["12v out-of-regulation", "12v overloaded"],
    power: "open",
  },
  {
    seen: "6 Ω on the drivers' 12 V",
    readings: { coldOhms: { ...OHMS, "12v": 6 } },
    first: ["12v short"],
    power: "held",
  },
  {
    seen: "5 V is gone, its ohms normal, nothing else read",
    readings: { coldOhms: { "5v": 2000 }, volts: { "5v": 0.01 } },
    first: ["5v dead", "5v not-enabled"],
    power: "either",
    next: ["volts 5v, again", "volts 24v", "cold ohms supply", "cold ohms 24v"],
  },
  {
    seen: "3.3 V is gone with normal ohms, and yet reset and clock are up: a slip of the probe",
    readings: { coldOhms: OHMS, volts: { ...VOLTS, "3v3": 0.0 }, signals: SIGNALS },
    never: ["3v3 dead", "3v3 not-enabled", "3v3 short"],
    power: "open",
    next: ["volts 3v3, again"],
  },
  {
    seen: "24 V at 19 V under the supply's limit, the input warm",
    readings: { draw: "overload", coldOhms: OHMS, volts: { "24v": 19 } },
    first: ["12v overloaded", "5v overloaded", "3v3 overloaded", "fans short"],
    power: "either",
  },
];
