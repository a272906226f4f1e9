import os from "node:os";
import { judgedRows } from "./faults-rows.mjs";

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
export function faultsPage({ measured, tables, files, passed, failed, seeds, trials, minutes, loads, again }) {
  const sum = (key, of = measured) => of.reduce((total, each) => total + each[key], 0);
  const handSet = measured.filter((each) => each.clock === "hand-set");
  const real = measured.filter((each) => each.clock === "real");
  return `# Faults: what was injected, and what came of it

*For whoever wants proof that it switches off. This is the last page.*

Made by \`npm run faults\`; do not edit. ${sum("injections")} injections, ${sum("wrongValues")} wrong values published, ${sum("unasked")} outputs that came on unasked.
${passed} checks passed, ${failed} failed, in ${minutes.toFixed(0)} minutes. Node ${process.version}, ${os.cpus().length} processors; load ${loads[0].toFixed(1)} at the start, ${loads[1].toFixed(1)} at the end: of
other programs as much as of this one, which every figure in real time carries.

Everything is measured at a simulated instrument, on real sockets of this machine and on pseudo terminals. What that cannot
show: modem lines, wrong baud rates, a USB adapter's latency timer, USBTMC hardware, a real suspend, a real power cut, and what
a supply's firmware does that nobody has thought of. One digit that becomes another digit on a serial line cannot be told
from a true one by anybody, since the messages carry no checksum.

## The twenty-five injections and their pass criteria

The criteria are this project's own. Time to off is counted from the fault to the off at the simulated instrument; in every row no wrong
value may be published and no output may come on unasked.

${table(
  ["no.", "inject", "pass", "found", "passed"],
  judgedRows({ measured, tables, files }).map((each) => [each.no, each.inject, each.pass, each.found, each.passed]),
)}

${tripsInWords(tables.trips)}

${nuisanceInWords(tables.nuisance, again)}

## Figures beside

${table(["what", "found"], besides(tables))}

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
together; the rest less often. Some programs are started together and then struck one after the other, nothing starting or ending
beside them. The limit is held against the median, and on a busy machine what it kept the test itself waiting is taken off; p99 and
worst are as they came.

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

function tripsInWords(trips) {
  if (trips === undefined) return "The time from a bad reading to the off was not measured in this run.";
  return `## From a bad reading to the off

From the handing over of a bad reading's bytes by the simulated supply to the coming of the off there, over TCP, with ${trips.pages} pages
open that each got ${trips.framesPerPage.toFixed(0)} frames a second, ${trips.benches} benches at once and commits running; the process that cuts ran at ${trips.scheduling}. Beside it,
in the same run and on the same machine, a program that does nothing but answer a bad reading with an off, without any priority.

${table(
  ["who", "bad readings", "median, ms", "p99, ms", "p99.9, ms", "worst, ms"],
  trips.figures.map((each) => [
    each.who === "echo" ? "a bare echo" : "the program",
    each.count,
    ...[each.p50Ms, each.p99Ms, each.p999Ms, each.worstMs].map((value) => value?.toFixed(2) ?? "–"),
  ]),
)}`;
}

function nuisanceInWords(nuisance, again) {
  const limit = again.tooMany ? "more than 2 in 100: failed" : "at most 2 in 100 are allowed";
  const redone = `Of the tests' ${again.runs} runs in real time ${again.count} were done again because the machine was busy (${limit}).${again.reasons.map((why) => `\n- ${cell(why)}`).join("")}`;
  if (nuisance === undefined) return `## On a busy machine\n\n${redone}`;
  const { powerUps, ended, scheduling, spinning } = nuisance;
  return `## On a busy machine

${powerUps} power-ups on one bench, its page open in a browser and ${spinning} processes spinning beside it, as many as there are processors; the
process that cuts ran at ${scheduling}. ${ended.length} of ${powerUps} ended for the computer's sake (${((100 * ended.length) / powerUps).toFixed(1)} %).${ended.map((why) => `\n- ${cell(why)}`).join("")}

${redone}`;
}

const mib = (bytes) => `${(bytes / 1024 / 1024).toFixed(1)} MiB`;

function besides(tables) {
  const { lines, messages, soak } = tables;
  return [
    lines && [
      "fuzzed lines of an instrument",
      `${lines.lines}: ${lines.understood} understood, ${lines.refused} refused, ${lines.fromGarbage} readings that the line did not hold; heap ${mib(lines.growthBytes)}`,
    ],
    messages && [
      "fuzzed messages between the processes",
      `${messages.messages}: none threw, nothing came on; heap ${mib(messages.growthBytes)}`,
    ],
    soak && [
      `energised for ${soak.seconds} s at full rate`,
      `heap grown by ${Object.entries(soak.growthBytes)
        .map(([which, bytes]) => `${mib(bytes)} (${which})`)
        .join(", ")}; no beat missed, nothing switched off`,
    ],
  ].filter(Boolean);
}
