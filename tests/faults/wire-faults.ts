import { between, ENERGISED, type FaultRow, oneOf } from "./fault-row.ts";

/** Three unanswered questions in a row, and the cut: three reply timeouts of 150 ms and 100 ms. */
const SILENT_MS = 550;
const EVERY = ["clear", ...ENERGISED] as const;
const junk = (random: { next(): number }, length: number): string =>
  String.fromCharCode(...Array.from({ length }, () => Math.floor(256 * random.next())));
const firstNumber = (text: string, by: string): string => text.replace(/^[^;]*/, by);

/** What goes wrong between the bytes that leave one side and those that reach the other. */
export const wireFaults: readonly FaultRow[] = [
  ...([true, false] as const).map(
    (inOrder): FaultRow => ({
      row: inOrder ? "1" : "1 apart",
      fault: `6 % of the replies come 3 to 60 ms past the timeout${inOrder ? "" : ", and later ones overtake them"}`,
      moments: EVERY,
      // A line of bytes keeps its order; only where a fresh connection leaves the late one behind is this defended.
      ...(inOrder ? {} : { transports: ["tcp"] as const }),
      inject: (bench, random) =>
        void bench.simulation.misbehave.replies(
          bench.supply,
          { share: 0.06, seed: Math.floor(1e6 * random.next()) },
          { fault: "delay", ms: 150 + between(random, 3, 60), inOrder },
        ),
      expect: { must: "be-safe" },
    }),
  ),
  {
    row: "2a",
    fault: "one reply is lost",
    moments: ENERGISED,
    inject: (bench) => void bench.simulation.misbehave.replies(bench.supply, { next: 1 }, { fault: "drop" }),
    // A touch has no time to lose and may stop for it; nothing else does.
    expect: (moment) => (moment === "touch" || moment === "rise" ? { must: "be-safe" } : { must: "survive" }),
  },
  {
    row: "2b",
    fault: "all replies are lost from now on",
    moments: ENERGISED,
    inject: (bench) => void bench.simulation.misbehave.replies(bench.supply, { next: 12 }, { fault: "drop" }),
    expect: { must: "off", withinMs: SILENT_MS },
  },
  {
    row: "4",
    fault: "the supply drops a reply when the next query comes too soon (-410)",
    moments: ["idle"],
    traits: { interrupts: true },
    inject: () => {},
    expect: { must: "survive" },
  },
  {
    row: "5a",
    fault: "replies split at any byte, 0 or 5 ms apart",
    moments: EVERY,
    inject: (bench, random) =>
      void bench.simulation.misbehave.replies(bench.supply, "all", {
        fault: "split",
        at: Math.floor(between(random, 0, 40)),
        gapMs: oneOf(random, [0, 5]),
      }),
    expect: { must: "survive" },
  },
  {
    row: "5b",
    fault: "replies split at any byte, 150 ms apart",
    moments: ENERGISED,
    inject: (bench, random) =>
      void bench.simulation.misbehave.replies(bench.supply, "all", {
        fault: "split",
        at: 1 + Math.floor(between(random, 0, 12)),
        gapMs: 150,
      }),
    expect: { must: "off", withinMs: SILENT_MS },
  },
  {
    row: "6a",
    fault: "two replies in one piece",
    moments: EVERY,
    inject: (bench) => void bench.simulation.misbehave.replies(bench.supply, { next: 1 }, { fault: "merge" }),
    expect: { must: "be-safe" },
  },
  {
    row: "6b",
    fault: "replies come twice",
    moments: EVERY,
    inject: (bench) => void bench.simulation.misbehave.replies(bench.supply, { every: 5 }, { fault: "repeat" }),
    expect: { must: "be-safe" },
  },
  ...(["\r", "\r\n", "\n\r"] as const).map(
    (terminator): FaultRow => ({
      row: `7 ${JSON.stringify(terminator).slice(1, -1)}`,
      fault: `replies end in ${JSON.stringify(terminator)}`,
      moments: ["open"],
      traits: { terminator },
      inject: () => {},
      expect: { must: "survive" },
    }),
  ),
  {
    row: "7 NUL",
    fault: "NUL bytes before replies",
    moments: ["watch"],
    inject: (bench) =>
      void bench.simulation.misbehave.replies(bench.supply, "all", {
        fault: "garbage",
        bytes: "\0\0",
        place: "before",
      }),
    expect: { must: "survive" },
  },
  {
    row: "8",
    fault: "the supply echoes each message",
    moments: ["open"],
    traits: { echo: true },
    inject: () => {},
    expect: { must: "survive" },
  },
  {
    row: "9a",
    fault: "1 to 500 random bytes before the first answer",
    moments: ["open"],
    inject: (bench, random, transport) => {
      const bytes = junk(random, 1 + Math.floor(500 * random.next()));
      bench.simulation.misbehave.greet(bench.supply, bytes);
      // A terminal has no new connections to greet: what it says just after the opening is the same.
      if (transport === "pty") bench.clock.after(20, () => bench.simulation.misbehave.blurt(bench.supply, bytes));
    },
    expect: { must: "be-safe" },
  },
  {
    row: "9b",
    fault: "1 to 500 random bytes in mid-run",
    moments: EVERY,
    inject: (bench, random) =>
      bench.simulation.misbehave.blurt(bench.supply, junk(random, 1 + Math.floor(500 * random.next()))),
    expect: { must: "be-safe" },
  },
  {
    row: "9c",
    fault: "bytes of no character inside replies",
    moments: ENERGISED,
    inject: (bench, random) =>
      void bench.simulation.misbehave.replies(bench.supply, "all", {
        fault: "corrupt",
        at: Math.floor(between(random, 0, 10)),
        byte: 0x80 + Math.floor(127 * random.next()),
      }),
    expect: { must: "off", withinMs: SILENT_MS },
  },
  {
    row: "10",
    fault: "the supply resets when its port opens: 2 s of silence, then a banner",
    moments: ["open"],
    inject: (bench) => {
      const { misbehave } = bench.simulation;
      misbehave.reboot(bench.supply);
      misbehave.stall(bench.supply, true);
      bench.clock.after(2000, () => {
        misbehave.stall(bench.supply, false);
        misbehave.blurt(bench.supply, "READY v1.0\n");
      });
    },
    expect: { must: "be-safe" },
  },
  {
    row: "11",
    fault: "an adapter holds replies back by up to 16 ms",
    moments: ["open"],
    traits: { latencyMs: 18, latencyJitterMs: 16 },
    inject: () => {},
    expect: { must: "survive" },
  },
  {
    row: "12",
    fault: "what comes sooner than 8 ms after the last line is dropped without a word",
    moments: ["idle"],
    traits: { gapMs: 8 },
    inject: () => {},
    expect: { must: "be-safe" },
  },
  {
    row: "13",
    fault: "decimal commas from now on",
    moments: ENERGISED,
    inject: (bench) =>
      void bench.simulation.misbehave.replies(bench.supply, "all", {
        fault: "rewrite",
        as: (text) => text.replaceAll(".", ","),
      }),
    expect: { must: "off", withinMs: SILENT_MS },
  },
  ...["9.9E37", "-9.9E37", "INF", "OL"].map(
    (mark): FaultRow => ({
      row: `14 ${mark}`,
      fault: `${mark} in place of a voltage`,
      moments: ENERGISED,
      inject: (bench) =>
        void bench.simulation.misbehave.replies(bench.supply, "all", {
          fault: "rewrite",
          as: (text) => firstNumber(text, mark),
        }),
      // One poll of 10 to 14 ms and 20 ms, and the poll under way when it struck; where it is the answer that reads back the
      // setting the watch begins with, that is asked again after a fence, within one answer's time of 150 ms.
      expect: (moment) => ({ must: "off", withinMs: moment === "watch" ? 200 : 50 }),
    }),
  ),
  ...["9.91E37", "NAN"].map(
    (mark): FaultRow => ({
      row: `14 ${mark}`,
      fault: `${mark} in place of a voltage`,
      moments: ENERGISED,
      inject: (bench) =>
        void bench.simulation.misbehave.replies(bench.supply, "all", {
          fault: "rewrite",
          as: (text) => firstNumber(text, mark),
        }),
      // Not a number is no reading: the limit is that of stale readings, 500 ms.
      expect: { must: "off", withinMs: SILENT_MS },
    }),
  ),
  {
    row: "15",
    fault: "milliamperes where amperes should be",
    moments: ENERGISED,
    inject: (bench) =>
      void bench.simulation.misbehave.replies(bench.supply, "all", {
        fault: "rewrite",
        as: (text) => text.replace(/;([^;]*)/, (_, amps: string) => `;${1000 * Number(amps)}mA`),
      }),
    expect: { must: "off", withinMs: SILENT_MS },
  },
  {
    row: "16a",
    fault: "blank replies",
    moments: ENERGISED,
    inject: (bench) => void bench.simulation.misbehave.replies(bench.supply, "all", { fault: "replace", text: "" }),
    expect: { must: "off", withinMs: SILENT_MS },
  },
  {
    row: "16b",
    fault: "replies of spaces",
    moments: ENERGISED,
    inject: (bench) => void bench.simulation.misbehave.replies(bench.supply, "all", { fault: "replace", text: "   " }),
    expect: { must: "off", withinMs: SILENT_MS },
  },
  {
    row: "36",
    fault: "1 MB that nobody asked for",
    moments: ["clear", "watch"],
    inject: (bench, random) =>
      bench.simulation.misbehave.blurt(bench.supply, oneOf(random, ["x", "1.0\n"]).repeat(262_144)),
    expect: { must: "be-safe" },
  },
  {
    row: "37",
    fault: "each reply 1 ms later than the one before",
    moments: ["watch"],
    inject: (bench) => {
      let ms = 0;
      let callOff = (): void => {};
      const slower = (): void => {
        callOff();
        ms += 1;
        callOff = bench.simulation.misbehave.replies(bench.supply, "all", { fault: "delay", ms });
        if (ms < 400) bench.clock.after(13 + ms, slower);
      };
      slower();
    },
    expect: { must: "be-safe" },
  },
];
