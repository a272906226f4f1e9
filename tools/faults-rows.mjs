/**
 * The 25 injections, their pass criteria, and what a run of the fault bench found of each. A row passes where all of its
 * checks passed, its own limit held, no wrong value was published and nothing came on unasked.
 */
const FAULTS = "tests/faults/";

/** `rows` are those of the catalogue (a name, or the beginning of one before a space); `files` hold other checks. */
const ROWS = [
  {
    no: 1,
    inject: "replies 3 to 60 ms past the timeout",
    pass: "no wrong value; nothing sent before the fence holds",
    rows: ["1"],
    files: ["tests/instrument/late-replies"],
  },
  {
    no: 2,
    inject: "replies lost, once and for good",
    pass: "once: asked again; for good: off within 3 timeouts + 100 ms (550 ms)",
    rows: ["2a", "2b"],
    offMs: 550,
  },
  {
    no: 3,
    inject: "replies split at every byte, 0, 5, 150 ms apart",
    pass: "no wrong value; 150 ms is a timeout",
    rows: ["5a", "5b"],
    files: ["tests/link/links"],
  },
  {
    no: 4,
    inject: "merged and extra lines, terminators, echo",
    pass: "no wrong value; unexpected input flagged",
    rows: ["6a", "6b", "7", "8"],
    files: ["tests/link/links", "tests/link/line-reader"],
  },
  {
    no: 5,
    inject: "random bytes at open and in mid-run; fuzzed lines",
    pass: "0 wrong in 1,000,000 lines, no crash, memory +10 MB at most",
    rows: ["9a", "9b", "9c", "10"],
    files: [`${FAULTS}fuzz-lines`],
    figure: ({ lines }) => `${lines.lines} lines, ${lines.fromGarbage} wrong`,
  },
  {
    no: 6,
    inject: "9.9E37, 9.91E37, INF, NAN, OL, blank, comma, mA",
    pass: "never a number; an overload: off within a poll + 20 ms (50 ms with the poll under way)",
    rows: ["13", "14 9.9E37", "14 -9.9E37", "14 INF", "14 OL", "14 9.91E37", "14 NAN", "15", "16a", "16b"],
    limits: [
      ["14 9.9E37", 50],
      ["14 -9.9E37", 50],
      ["14 INF", 50],
      ["14 OL", 50],
    ],
  },
  {
    no: 7,
    inject: "far end alive, no answers",
    pass: "off written within 300 ms and one look; not proved is said",
    rows: ["21", "27 silent"],
    offMs: 320,
  },
  {
    no: 8,
    inject: "half-open connection: nothing passes either way",
    pass: "as 7; the supply's watchdog within its delay + 0.2 s (2200 ms)",
    rows: ["21 pulled"],
    offMs: 2200,
  },
  { no: 9, inject: "FIN and RST in the first 50 bytes", pass: "noticed; stays off", rows: ["22", "27"], offMs: 50 },
  {
    no: 10,
    inject: "hang-up of an idle line",
    pass: "noticed within 50 ms",
    files: [`${FAULTS}line-losses`],
    figure: (of) => hangUps(of, "idleMs"),
    holds: (of) => of["hang-ups"].idleMs.p50 <= 50,
  },
  {
    no: 11,
    inject: "hang-up while bytes stream",
    pass: "noticed within 500 ms, each time; processor under 5 % after",
    files: [`${FAULTS}line-losses`],
    figure: (of) => `${hangUps(of, "streamingMs")}; processor ${(100 * of["hang-ups"].busyShare).toFixed(1)} % after`,
    holds: (of) => of["hang-ups"].streamingMs.worst <= 500 && of["hang-ups"].busyShare < 0.05,
  },
  {
    no: 12,
    inject: "output-on written while closed, then a new connection",
    pass: "never arrives",
    files: [`${FAULTS}line-losses`],
    figure: (of) =>
      ["a socket", "a pty"].map((place) => closedWrites(of[`closed writes on ${place}`], place)).join("; "),
  },
  {
    no: 13,
    inject: "another instrument or serial number at the address; another name",
    pass: "not energised; found by its id",
    rows: ["23", "24"],
    files: ["tests/link/list-links"],
  },
  {
    no: 14,
    inject: "SIGKILL of the daemon",
    pass: "off within 50 ms, p99",
    rows: ["daemon", "kill daemon"],
    p99: [["kill daemon", 50]],
  },
  {
    no: 15,
    inject: "SIGKILL of the bench process",
    pass: "off within 100 ms, p99",
    rows: ["kill bench"],
    p99: [["kill bench", 100]],
  },
  {
    no: 16,
    inject: "each process stopped, daemon and bench process blocked",
    pass: "off within 300 ms",
    rows: ["lease", "stop daemon", "stop bench", "stop guardian", "block daemon", "block bench"],
    p99: [
      ["stop daemon", 300],
      ["stop bench", 300],
      ["stop guardian", 300],
      ["block daemon", 300],
      ["block bench", 300],
    ],
  },
  {
    no: 17,
    inject: "SIGKILL of the guardian",
    pass: "off within 500 ms, p99",
    rows: ["guardian", "kill guardian"],
    p99: [["kill guardian", 500]],
  },
  {
    no: 18,
    inject: "all processes killed",
    pass: "the supply's watchdog within 2.2 s; without one a warning before, and the off program",
    files: [`${FAULTS}process-deaths`, `${FAULTS}off-program`],
  },
  {
    no: 19,
    inject: "commands dropped; a setting not applied; output stuck on",
    pass: "found by read-back; stuck: off again, 0 V, alarm",
    rows: ["12", "19c volts", "19c on", "stuck"],
  },
  {
    no: 20,
    inject: "protection that restores; mains off and on; front panel",
    pass: "nothing unasked; found live is said; a hand is noticed within two polls",
    rows: ["19 off", "19 on before", "19 on", "19 volts", "19 limit", "29", "30", "33"],
  },
  {
    no: 21,
    inject: "bad readings with 50 pages at 20 frames a second and commits",
    pass: "off p99 within 2 ms, or 1.5 times that of a bare echo",
    files: [`${FAULTS}trip-latency`],
    figure: ({ trips }) => tripFigure(trips),
    holds: ({ trips }) => tripHolds(trips),
  },
  {
    no: 22,
    inject: "clock of the wall moved; process stood still; suspension",
    pass: "no false age; a gap over 2 s: off first",
    rows: ["35"],
    files: ["tests/link/real-clock"],
  },
  {
    no: 23,
    inject: "disk full",
    pass: "the off no later; nothing filed is lost",
    rows: ["full disk"],
    files: ["tests/job/durability"],
    p99: [["full disk", 50]],
  },
  {
    no: 24,
    inject: "SIGKILL in commits",
    pass: "nothing acknowledged is lost, nothing twice",
    files: ["tests/job/durability", "tests/capture/chunks"],
  },
  { no: 25, inject: "attacks on the page's way in", pass: "refused or neutralised", files: ["tests/wire/"] },
];

const ms = (value) => (value < 10 ? value.toFixed(1) : String(Math.round(value)));
const hangUps = (of, which) =>
  `${of["hang-ups"].count} of ${of["hang-ups"].count}, median ${ms(of["hang-ups"][which].p50)} ms, worst ${ms(of["hang-ups"][which].worst)} ms`;
const closedWrites = ({ count, refused, arrived }, place) =>
  `${place}: ${refused} of ${count} refused, ${arrived} arrived`;
const tripFigure = ({ figures: [own, echo] }) =>
  `${own.count} trips: p99 ${own.p99Ms?.toFixed(2)} ms, the echo ${echo.p99Ms?.toFixed(2)} ms`;
const tripHolds = ({ figures: [own, echo] }) => own.p99Ms !== null && (own.p99Ms <= 2 || own.p99Ms <= 1.5 * echo.p99Ms);

const belongs = (key, row) =>
  row === key || (row.startsWith(`${key} `) && !ROWS.some((each) => each.rows?.includes(row)));

function judged(row, { measured, tables, files }) {
  const own = measured.filter((each) => row.rows?.some((key) => belongs(key, each.row)));
  const said = [];
  let holds = true;
  const need = (is) => {
    holds &&= is;
  };
  if (row.rows !== undefined) {
    const sum = (key) => own.reduce((total, each) => total + each[key], 0);
    const worst = Math.max(...own.map((each) => each.worstOffMs ?? Number.NEGATIVE_INFINITY));
    need(own.length > 0 && sum("wrongValues") === 0 && sum("unasked") === 0);
    said.push(`${sum("injections")} injections, ${sum("wrongValues")} wrong, ${sum("unasked")} unasked`);
    const real = own.filter((each) => each.clock === "real");
    if (real.length === 0 && worst > 0) said.push(`worst time to off ${ms(worst)} ms`);
    for (const each of real)
      said.push(`${each.row} (${each.transport}): median ${ms(each.p50Ms)}, p99 ${ms(each.p99Ms)} ms`);
    if (row.offMs !== undefined) need(worst <= row.offMs);
  }
  for (const [key, limit] of row.limits ?? [])
    for (const each of own) if (each.row === key) need((each.worstOffMs ?? 0) <= limit);
  for (const [key, limit] of row.p99 ?? []) {
    const those = own.filter((each) => each.row === key);
    need(those.length > 0 && those.every((each) => each.p99Ms <= limit));
  }
  const beside = files.filter(({ file }) => row.files?.some((each) => file.startsWith(each)));
  if (row.files !== undefined) {
    need(row.files.every((each) => beside.some(({ file }) => file.startsWith(each))));
    need(beside.every((each) => each.loaded && each.failed.length === 0));
    said.push(
      `${beside.reduce((sum, each) => sum + each.passed, 0)} checks beside passed, ${beside.reduce((sum, each) => sum + each.failed.length, 0)} failed`,
    );
  }
  // A catalogue test of this row that failed says more than its figures.
  const catalogue = files.filter(({ file }) => file.startsWith(`${FAULTS}catalogue`)).flatMap((each) => each.failed);
  need(!own.some((each) => catalogue.some((name) => name.includes(` ${each.row}: `))));
  try {
    if (row.figure !== undefined) said.unshift(row.figure(tables));
    if (row.holds !== undefined) need(row.holds(tables));
  } catch {
    said.unshift("not measured");
    need(false);
  }
  return { ...row, found: said.join("; "), passed: holds ? "yes" : "**no**" };
}

export const judgedRows = (found) => ROWS.map((row) => judged(row, found));
