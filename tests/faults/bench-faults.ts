import { between, ENERGISED, type FaultRow, type Moment, type Must, oneOf } from "./fault-row.ts";

/** Two polls of one round trip each, the one under way, and the cut. */
const NOTICED_MS = 60;
/** The watch begins with a setting and its read-backs, which the polls wait for. */
const SETTING_MS = 100;
const NOW_MS = 25;

const pinned =
  (serialNumber: string): NonNullable<FaultRow["benchFile"]> =>
  (file) => ({
    ...file,
    instruments: Object.fromEntries(
      Object.entries(file.instruments).map(([name, each]) => [
        name,
        each.kind === "supply" ? { ...each, serialNumber } : each,
      ]),
    ),
  });

const noticed = (moment: Moment): Must => ({
  must: "off",
  withinMs: NOTICED_MS + (moment === "watch" ? SETTING_MS : 0),
});

/** What goes wrong in the instruments, at their front panels, and between them and this program. */
export const benchFaults: readonly FaultRow[] = [
  {
    row: "17",
    fault: "readings freeze",
    moments: ["clear", "touch", "rise"],
    // While the readings still change; once they are steady the next row's words hold.
    spreadMs: 10,
    inject: (bench) => bench.simulation.misbehave.freeze(bench.supply, true),
    // A change that readings should follow comes with every stage; the longest way to it is from the touch through the hold-low.
    expect: { must: "off", withinMs: 2200 },
  },
  {
    row: "17 steady",
    fault: "readings freeze where nothing changes any more",
    moments: ["watch", "holding"],
    inject: (bench) => {
      bench.simulation.misbehave.freeze(bench.supply, true);
      bench.clock.after(3000, () => bench.stop());
    },
    // Found when the current does not fall with the cut; until then nothing tells them from steady ones.
    expect: { must: "alarm", withinMs: 4500, offWithinMs: 3100 },
  },
  {
    row: "18",
    fault: "the supply takes commands in remote mode only",
    moments: ["idle"],
    traits: { needsRemote: true },
    inject: () => {},
    // The shipped drivers say SYST:REM on serial lines; on a socket each setting is refused, and nothing comes on.
    expect: (_, transport) => (transport === "pty" ? { must: "survive" } : { must: "refuse" }),
  },
  {
    row: "19 off",
    fault: "the output key is pressed: off",
    moments: ENERGISED,
    inject: (bench) => bench.simulation.misbehave.frontPanel(bench.feed, { output: "off" }),
    expect: noticed,
  },
  {
    row: "19 on before",
    fault: "the output key is pressed: on, before the run",
    moments: ["idle"],
    inject: (bench) => bench.simulation.misbehave.frontPanel(bench.feed, { output: "on" }),
    // Switched off before the protections are made ready, or found by the run's first reading.
    expect: { must: "be-safe" },
  },
  {
    row: "19 on",
    fault: "the output key is pressed: on, between two stages",
    moments: ["clear"],
    inject: (bench) => bench.simulation.misbehave.frontPanel(bench.feed, { output: "on" }),
    expect: noticed,
  },
  {
    row: "19 volts",
    fault: "the voltage knob is turned by 0.1 V",
    moments: ENERGISED,
    inject: (bench, random) => {
      const volts = (bench.simulation.truth().feeds[bench.feed]?.boardVolts ?? 0) + oneOf(random, [-0.1, 0.1]);
      bench.simulation.misbehave.frontPanel(bench.feed, { volts: Math.max(0, Math.round(1000 * volts) / 1000) });
    },
    expect: noticed,
  },
  {
    row: "19 limit",
    fault: "the current knob is turned",
    moments: ENERGISED,
    inject: (bench, random) => bench.simulation.misbehave.frontPanel(bench.feed, { limitAmps: between(random, 6, 9) }),
    expect: noticed,
  },
  {
    row: "20",
    fault: "one connection only, and a reply is lost",
    moments: ["watch", "holding"],
    transports: ["tcp"],
    traits: { singleConnection: true },
    inject: (bench) => void bench.simulation.misbehave.replies(bench.supply, { next: 1 }, { fault: "drop" }),
    expect: { must: "survive" },
  },
  {
    row: "21",
    fault: "half open: the far end reads and never answers",
    moments: ENERGISED,
    inject: (bench) => bench.simulation.misbehave.stall(bench.supply, true),
    // 150 ms without an answer and 150 ms of the fence: the supply executes the off, its proof never comes.
    expect: { must: "alarm", withinMs: 1500, offWithinMs: 320 },
  },
  {
    row: "21 pulled",
    fault: "the cable is pulled, nothing passes either way; the supply has a communication watchdog",
    moments: ["watch", "holding"],
    inject: (bench) => {
      bench.pulled = true;
    },
    // Its shortest setting here is 2 s, counted from the last line it heard.
    expect: { must: "alarm", withinMs: 1500, offWithinMs: 2200 },
  },
  {
    row: "22",
    fault: "FIN or RST after 0 to 50 bytes of a reply",
    moments: ENERGISED,
    transports: ["tcp"],
    inject: (bench, random) =>
      void bench.simulation.misbehave.replies(
        bench.supply,
        { next: 1 },
        { fault: "cut", bytes: Math.floor(between(random, 0, 51)), how: oneOf(random, ["end", "reset"] as const) },
      ),
    expect: { must: "off", withinMs: 50 },
  },
  {
    row: "23",
    fault: "the connection comes back as another instrument",
    moments: ["clear", ...ENERGISED],
    transports: ["tcp"],
    inject: (bench) => {
      bench.simulation.misbehave.identity(bench.supply, "Bench,SIM-OTHER,SN77,1.0");
      bench.simulation.misbehave.dropLink(bench.supply, "reset");
    },
    // Off went out on the new connection before anybody was asked for an identity; the proof wants the known one.
    expect: (moment) => (moment === "clear" ? { must: "refuse" } : { must: "alarm", withinMs: 1500, offWithinMs: 50 }),
  },
  {
    row: "24",
    fault: "another serial number than the one pinned answers",
    moments: ["open"],
    benchFile: pinned("SN1"),
    inject: (bench) => bench.simulation.misbehave.identity(bench.supply, "Bench,SIM-NUMBERED,SN2,1.0"),
    expect: { must: "refuse" },
  },
  {
    row: "25",
    fault: "another program changes a setting over a connection of its own",
    moments: ENERGISED,
    transports: ["tcp"],
    inject: async (bench, random) => {
      const link = await bench.intruder();
      link.write(oneOf(random, ["SOUR1:VOLT 1.1\n", "SOUR1:CURR 8\n", "OUTP1 OFF\n"]));
    },
    expect: noticed,
  },
  {
    row: "27",
    fault: "the connection is lost",
    moments: ["clear", ...ENERGISED],
    transports: ["tcp"],
    inject: (bench, random) =>
      bench.simulation.misbehave.dropLink(bench.supply, oneOf(random, ["end", "reset"] as const)),
    expect: { must: "off", withinMs: NOW_MS },
  },
  {
    row: "28",
    fault: "another client selects other channels all the time",
    moments: ["idle"],
    transports: ["tcp"],
    scenario: "normal",
    dialects: ["selection"],
    inject: async (bench, random) => {
      const link = await bench.intruder();
      const select = (): void => {
        if (!link.isOpen) return;
        link.write(`INST:NSEL ${1 + Math.floor(3 * random.next())}\n`);
        bench.clock.after(between(random, 1, 40), select);
      };
      select();
    },
    expect: { must: "be-safe" },
  },
  {
    row: "29 found live",
    fault: "the output is on when the program comes",
    moments: ["open"],
    inject: (bench) => bench.simulation.misbehave.frontPanel(bench.feed, { output: "on", volts: 5 }),
    expect: { must: "be-safe" },
  },
  {
    row: "29 on",
    fault: "mains off and on; the supply comes back with its output on",
    moments: ENERGISED,
    traits: { powerOnOutput: "on" },
    inject: (bench) => bench.simulation.misbehave.powerCycle(bench.supply),
    // On a terminal the question under way is lost with the restart, and its timeout comes first.
    expect: (_, transport) => ({ must: "off", withinMs: transport === "tcp" ? NOTICED_MS : 150 + NOTICED_MS }),
  },
  {
    row: "29 last",
    fault: "mains off and on; the supply comes back as it was, settings and output",
    moments: ["watch", "holding"],
    traits: { powerOnOutput: "last" },
    inject: (bench) => bench.simulation.misbehave.powerCycle(bench.supply),
    // On a terminal only the power-on bit tells, which is asked for once a second.
    expect: (_, transport) => ({ must: "off", withinMs: transport === "tcp" ? NOW_MS : 1100 }),
  },
  {
    row: "30",
    fault: "a protection acted before, and clearing it restores the output",
    moments: ["idle"],
    traits: { clearRestores: true, watchdog: false },
    inject: async (bench) => {
      const { misbehave } = bench.simulation;
      misbehave.frontPanel(bench.feed, { output: "on", volts: 0.2 });
      await bench.pass(20);
      misbehave.frontPanel(bench.feed, { volts: 40 });
      await bench.pass(80);
      misbehave.frontPanel(bench.feed, { volts: 0.2 });
    },
    expect: { must: "refuse" },
  },
  {
    row: "31",
    fault: "the over-voltage protection acts",
    moments: ["watch", "holding"],
    inject: (bench) => bench.simulation.misbehave.frontPanel(bench.feed, { volts: 20 }),
    expect: noticed,
  },
  {
    row: "32",
    fault: "20 old errors in a queue of 20",
    moments: ["open", "clear", "watch"],
    inject: (bench) =>
      bench.simulation.misbehave.errors(
        bench.supply,
        Array.from({ length: 21 }, () => ({ code: -113, words: "Undefined header" })),
      ),
    expect: { must: "be-safe" },
  },
  {
    row: "33",
    fault: "the supply restarts without a word, its output off",
    moments: ["clear", ...ENERGISED],
    inject: (bench) => bench.simulation.misbehave.reboot(bench.supply),
    expect: (moment) => (moment === "clear" ? { must: "be-safe" } : noticed(moment)),
  },
  {
    row: "19c volts",
    fault: "a voltage setting is not applied, without a word",
    moments: ["idle"],
    inject: (bench) => void bench.simulation.misbehave.ignore(bench.supply, /VOLT$/i),
    expect: { must: "refuse" },
  },
  {
    row: "19c on",
    fault: "the output does not come on",
    moments: ["idle"],
    inject: (bench) => void bench.simulation.misbehave.ignore(bench.supply, /^OUTP/i),
    expect: { must: "refuse" },
  },
  {
    row: "stuck",
    fault: "the output stays on after off",
    moments: ["watch", "holding"],
    inject: (bench) => {
      bench.simulation.misbehave.stayOn(bench.supply, true);
      bench.cut();
    },
    expect: { must: "alarm", withinMs: 700 },
  },
  {
    row: "stuck in order",
    fault: "the output stays on after off, at an end in order",
    moments: ["watch", "holding"],
    inject: (bench) => {
      bench.simulation.misbehave.stayOn(bench.supply, true);
      bench.stop();
    },
    // The off is looked at for half a second, then everything is cut, and that is looked at for as long again.
    expect: { must: "alarm", withinMs: 1200 },
  },
  {
    row: "27 silent",
    fault: "silent supply at the moment of the cut",
    moments: ["watch", "holding"],
    inject: (bench) => {
      bench.simulation.misbehave.stall(bench.supply, true);
      bench.cut();
    },
    expect: { must: "alarm", withinMs: 1200, offWithinMs: NOW_MS },
  },
  {
    row: "35",
    fault: "the program stood still for 3 s",
    moments: ENERGISED,
    inject: (bench) => bench.jump(3000),
    expect: { must: "off", withinMs: NOW_MS },
  },
  {
    row: "lease",
    fault: "the daemon stops beating",
    moments: ENERGISED,
    inject: (bench) => {
      bench.daemonSilent = true;
    },
    expect: { must: "off", withinMs: 310 },
  },
  {
    row: "daemon",
    fault: "the daemon is gone",
    moments: ENERGISED,
    inject: (bench) => bench.loseDaemon(),
    expect: { must: "off", withinMs: NOW_MS },
  },
  {
    row: "guardian",
    fault: "the guardian is gone",
    moments: ["clear", ...ENERGISED],
    inject: (bench) => bench.loseGuardian(),
    expect: { must: "off", withinMs: NOW_MS },
  },
  {
    row: "2c",
    fault: "commands are refused from now on",
    moments: ["clear"],
    inject: (bench) => void bench.simulation.misbehave.refuse(bench.supply, /^SOUR/i),
    expect: { must: "be-safe" },
  },
];
