import type { PracticeSheet } from "./practice-sheet.ts";

const OHMS = {
  adapter: 150000,
  "19v": 150000,
  sys: 100000,
  "3v3-always": 4000,
  "5v-always": 6000,
  "5v": 2500,
  "3v3": 1200,
  "1v8": 400,
  mem: 90,
  core: 3,
};
const ALWAYS = { "19v": 19.1, sys: 19.0, "3v3-always": 3.32, "5v-always": 5.03 };
const READY = { "controller-ready": 3.3 };
const ON = { ...ALWAYS, "5v": 5.0, "3v3": 3.3, "1v8": 1.8, mem: 1.2, core: 0.9 };
const SIGNALS = { ...READY, "rails-enable": 3.3, clock: 0.8, "power-good": 3.3, reset: 3.3 };
const NOTHING = { "5v": 0, "3v3": 0, "1v8": 0, mem: 0, core: 0 };
const BEHIND = [
  "5v dead",
  "3v3 dead",
  "1v8 dead",
  "mem dead",
  "core dead",
  "rails-enable stuck",
  "power-good stuck",
  "reset stuck",
];

/** A board like a laptop's: an adapter, rails that are always on, and rails that come with the power key. */
export const LAPTOP_SHEETS: readonly PracticeSheet[] = [
  {
    seen: "plugged in, the key not pressed: only what is always on is there",
    readings: {
      draw: "standby-only",
      state: "plugged",
      coldOhms: OHMS,
      volts: { ...ALWAYS, ...NOTHING },
      signals: READY,
    },
    never: BEHIND,
    power: "open",
    next: ["state on"],
  },
  {
    seen: "nobody said whether the key was pressed: only what is always on is there",
    readings: { coldOhms: OHMS, volts: { ...ALWAYS, ...NOTHING }, signals: { ...READY, reset: 0, "power-good": 0 } },
    never: BEHIND,
    power: "open",
    next: ["state on"],
  },
  {
    seen: "plugged in: 3.3 V always is gone, 5 V always there",
    readings: {
      state: "plugged",
      coldOhms: OHMS,
      volts: { "19v": 19, sys: 19, "3v3-always": 0.02, "5v-always": 5 },
      signals: { "controller-ready": 0 },
    },
    first: ["3v3-always dead", "3v3-always not-enabled"],
    power: "open",
  },
  {
    seen: "plugged in: 5 V always is gone with 1 Ω to ground, the system rail is there",
    readings: { state: "plugged", coldOhms: { ...OHMS, "5v-always": 1 }, volts: { sys: 19, "5v-always": 0 } },
    first: ["5v-always short"],
    power: "held",
  },
  {
    seen: "the adapter's 19 V at the jack and none behind the fuse",
    readings: {
      state: "plugged",
      coldOhms: { ...OHMS, adapter: "open" },
      volts: { adapter: 19.2, "19v": 0, sys: 0, "3v3-always": 0 },
    },
    first: ["adapter open"],
    power: "either",
  },
  {
    seen: "19 V behind the fuse, none behind the input switches",
    readings: { state: "plugged", coldOhms: OHMS, volts: { "19v": 19, sys: 0.1, "3v3-always": 0, "5v-always": 0 } },
    first: ["sys dead", "sys not-enabled", "sys open"],
    power: "open",
  },
  {
    seen: "0.5 Ω on the system rail",
    readings: { state: "plugged", coldOhms: { ...OHMS, sys: 0.5 }, volts: { "19v": 19, sys: 0 } },
    first: ["sys short", "core high-side-short"],
    power: "held",
  },
  {
    seen: "0.4 Ω at the jack and behind it",
    readings: { draw: "dead-short", coldOhms: { adapter: 0.4, "19v": 0.4 } },
    first: ["adapter short", "19v short"],
    power: "held",
  },
  {
    seen: "key pressed, the enable of the rails stays low although the controller is ready",
    readings: {
      state: "on",
      coldOhms: OHMS,
      volts: { ...ALWAYS, ...NOTHING },
      signals: { ...READY, "rails-enable": 0, "power-good": 0, reset: 0 },
    },
    first: ["rails-enable stuck"],
    power: "open",
  },
  {
    seen: "key pressed, the controller is not ready, and nothing comes",
    readings: {
      state: "on",
      coldOhms: OHMS,
      volts: { ...ALWAYS, ...NOTHING },
      signals: { "controller-ready": 0, "rails-enable": 0 },
    },
    first: ["controller-ready stuck"],
    power: "open",
  },
  {
    seen: "key pressed: 5 V is gone, 3.3 V there, memory and core wait",
    readings: {
      state: "on",
      coldOhms: OHMS,
      volts: { ...ALWAYS, "5v": 0, "3v3": 3.3, "1v8": 1.8, mem: 0, core: 0 },
      signals: { ...READY, "rails-enable": 3.3, "power-good": 0, reset: 0 },
    },
    first: ["5v dead", "5v not-enabled", "5v open"],
    power: "open",
  },
  {
    seen: "key pressed: memory is gone and core, power-good and reset wait for it",
    readings: {
      state: "on",
      draw: "partly-up",
      coldOhms: OHMS,
      volts: { ...ALWAYS, "5v": 5, "3v3": 3.3, "1v8": 1.8, mem: 0, core: 0 },
      signals: { ...READY, "rails-enable": 3.3, "power-good": 0, reset: 0 },
    },
    first: ["mem dead", "mem not-enabled"],
    power: "open",
  },
  {
    seen: "key pressed: the core alone is gone, 3 Ω to ground as it should",
    readings: {
      state: "on",
      coldOhms: OHMS,
      volts: { ...ON, core: 0 },
      signals: { ...READY, "power-good": 0, reset: 0 },
    },
    first: ["core dead", "core not-enabled"],
    power: "open",
  },
  {
    seen: "key pressed: the core is gone with 20 mΩ to ground",
    readings: { state: "on", coldOhms: { ...OHMS, core: 0.02 }, volts: { ...ON, core: 0 } },
    first: ["core short"],
    power: "held",
  },
  {
    seen: "key pressed: every rail well, power-good low and reset behind it",
    readings: { state: "on", volts: ON, signals: { ...SIGNALS, "power-good": 0, reset: 0 } },
    first: ["power-good stuck"],
    power: "open",
  },
  {
    seen: "key pressed: everything well but reset, which this board drives itself",
    readings: { state: "on", host: "none", volts: ON, signals: { ...SIGNALS, reset: 0 } },
    first: ["reset stuck"],
    power: "open",
  },
  {
    seen: "key pressed: 1.8 V at 1.5 V, nothing else wrong",
    readings: { state: "on", coldOhms: OHMS, volts: { ...ON, "1v8": 1.5 }, signals: SIGNALS },
    first: ["1v8 out-of-regulation", "1v8 overloaded"],
    power: "open",
  },
  {
    seen: "nobody said whether the key was pressed, but 5 V is there: 3.3 V is gone, and 1.8 V and core behind it",
    readings: { coldOhms: OHMS, volts: { ...ALWAYS, "5v": 5, "3v3": 0, "1v8": 0, mem: 1.2, core: 0 } },
    first: ["3v3 dead", "3v3 not-enabled", "3v3 open"],
    power: "open",
  },
  {
    seen: "plugged in: 3.3 V always at 2.9 V",
    readings: { state: "plugged", coldOhms: OHMS, volts: { ...ALWAYS, "3v3-always": 2.9 } },
    first: ["3v3-always out-of-regulation", "3v3-always overloaded"],
    power: "open",
  },
  {
    seen: "plugged in: 5 V always comes and goes with 1.5 Ω to ground",
    readings: {
      state: "plugged",
      coldOhms: { ...OHMS, "5v-always": 1.5 },
      volts: { ...ALWAYS, "5v-always": "pulsing" },
    },
    first: ["5v-always short"],
    power: "held",
  },
  {
    seen: "plugged in: 3.3 V always reads 5 V",
    readings: { state: "plugged", volts: { ...ALWAYS, "3v3-always": 5.0 } },
    first: ["3v3-always out-of-regulation", "3v3-always high-side-short"],
    power: "either",
  },
  {
    seen: "key pressed: everything well: what is left is no supply",
    readings: { state: "on", draw: "normal", coldOhms: OHMS, volts: ON, signals: SIGNALS },
    never: [...BEHIND, "lanes damaged", "sys dead"],
    power: "open",
  },
];
