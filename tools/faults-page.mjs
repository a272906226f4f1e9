import os from "node:os";

const ms = (value) =>
  value === null || value === undefined ? "–" : value < 10 ? value.toFixed(1) : String(Math.round(value));
const cell = (text) => String(text).replaceAll("|", "\\|").replaceAll("\n", " ");

function table(header, rows) {
  return [
    `| ${header.join(" | ")} |`,
    `|${header.map(() => "---").join("|")}|`,
    ...rows.map((row) => `| ${row.map(cell).join(" | ")} |`),
  ].join("\n");
}

/** The page of faults, made of what a run of the fault bench measured: no figure in it is written by hand. */
export function faultsPage({ measured, passed, failed, seeds, trials }) {
  const sum = (key, of = measured) => of.reduce((total, each) => total + each[key], 0);
  const handSet = measured.filter((each) => each.clock === "hand-set");
  const real = measured.filter((each) => each.clock === "real");
  return `# Faults: what was injected, and what came of it

Made by \`npm run faults\`; do not edit. ${sum("injections")} injections, ${sum("wrongValues")} wrong values published, ${sum("unasked")} outputs that came on unasked.
${passed} checks passed, ${failed} failed. Node ${process.version}, ${os.cpus().length} processors, load ${os.loadavg()[0].toFixed(1)} at the end.

Everything is measured at a simulated instrument, on real sockets of this machine and on pseudo terminals. What that cannot
show: modem lines, wrong baud rates, a USB adapter's latency timer, USBTMC hardware, a real suspend, a real power cut, and what
a supply's firmware does that nobody has thought of. One digit that becomes another digit on a serial line cannot be told
from a true one by anybody, since the messages carry no checksum.

## On a clock set by hand

The bench process's own code, real links, the simulator. Each fault strikes at seeded moments: before the link is open, before
the run, between two stages, in the touch, the rise, the watch and the hold; ${seeds} seed${seeds === "1" ? "" : "s"} each. "Worst time to off" is
counted in simulated milliseconds from the fault to the last output off, over all injections that struck with an output on
and had to end in off; a dash: none had to, or the off is not in this program's hands.

A wrong value is a published number that the instrument did not give in answer to its own question. Unasked is an output
that came on by a command nobody's plan had asked for, twice for one asking, or over another connection than it was asked for on.

${table(
  ["no.", "fault", "over", "injections", "must", "worst time to off, ms", "wrong values", "unasked"],
  handSet.map((each) => [
    each.row,
    each.fault,
    each.transport,
    each.injections,
    each.limit,
    ms(each.worstOffMs),
    each.wrongValues,
    each.unasked,
  ]),
)}

## Real processes, real time

The program as it is started, its three processes, energised at nominal. Each process is killed ${trials} times, both transports
together; the rest less often. The limit is held against the median, and on a busy machine what it kept the test itself waiting
is taken off; the worst is as it came.

${table(
  ["fault", "over", "trials", "must", "median, ms", "p99, ms", "worst, ms"],
  real.map((each) => [
    each.fault,
    each.transport,
    each.injections,
    each.limit,
    ms(each.p50Ms),
    ms(each.p99Ms),
    ms(each.worstOffMs),
  ]),
)}
`;
}
