import path from "node:path";
import { BenchFile } from "../../../shared/files/bench-file.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { loadDrivers } from "../../instrument/load-drivers.ts";
import type { LookedAtLink } from "../../instrument/look-at-link.ts";
import { visibleLine } from "../../job/report/visible-text.ts";
import { EXIT, exitCodeOf } from "../input/exit-code.ts";
import { readDocument } from "../input/read-document.ts";
import { candidatesFor, lookAt } from "../setup/look-for-instruments.ts";
import { printAsIs, printDocument, say, shoutOutputUnknown } from "../text/people.ts";
import { askYesNo } from "./ask-yes-no.ts";
import { proveWatchdogs } from "./find-watchdogs.ts";

/** Looks at every link asked for, one after the other, and says what is there; answers with the exit code. */
export async function find(
  addresses: readonly string[],
  options: { bench?: string; only?: boolean; json?: boolean; proveWatchdog?: boolean; yes?: boolean },
): Promise<number> {
  try {
    if (options.proveWatchdog === true && !(await mayProve(options))) return EXIT.badInput;
    const bench = options.bench === undefined ? null : await benchOf(options.bench);
    const { drivers, own: ownDrivers } = await loadDrivers(
      bench === null || options.bench === undefined
        ? null
        : { folder: path.dirname(path.resolve(options.bench)), bench },
    );
    const candidates = await candidatesFor(addresses, { ...options, bench });
    const links: (LookedAtLink & { words: string })[] = [];
    for (const candidate of candidates) {
      const { address, words } = candidate;
      if (process.stderr.isTTY) say(`looking at ${address} …`);
      const found = await lookAt(candidate, { drivers, own: ownDrivers });
      links.push({ ...found, words });
      if (options.json !== true)
        printAsIs(
          inWords(found, words)
            .map((line) => `${visibleLine(line)}\n`)
            .join(""),
        );
    }
    const watchdogs =
      options.proveWatchdog === true && bench !== null ? await proveWatchdogs(bench, drivers) : undefined;
    if (options.json === true)
      printDocument({ links: links.map(documentOf), ...(watchdogs === undefined ? {} : { watchdogs }) });
    for (const { supply, result, detail } of watchdogs ?? []) say(`watchdog of ${supply}: ${result}; ${detail}`);
    if (watchdogs?.some((each) => each.output === "unknown") === true) {
      shoutOutputUnknown();
      return EXIT.outputUnknown;
    }
    if (watchdogs?.some((each) => each.result === "did-not-act" || each.result === "failed") === true)
      return EXIT.failed;
    if (links.some((each) => each.identity !== null)) return EXIT.asPlanned;
    say(
      candidates.length === 0
        ? "This machine has no serial port and no USB instrument; give an address, such as TCPIP0::192.0.2.20::5025::SOCKET."
        : "No instrument answered.",
    );
    return EXIT.nothingAnswered;
  } catch (cause) {
    say(messageOf(cause));
    return exitCodeOf(cause);
  }
}

const benchOf = (file: string): Promise<BenchFile> => readDocument({ schema: BenchFile, what: "bench file", file });

/** Asked once, as by every command that switches an output on. */
async function mayProve(options: { bench?: string; json?: boolean; yes?: boolean }): Promise<boolean> {
  if (options.bench === undefined) {
    say(
      "firstamp: --prove-watchdog needs a bench file (--bench), which names the supplies and channels; nothing was touched",
    );
    return false;
  }
  if (options.json === true || options.yes === true) return true;
  if (!(process.stdin.isTTY && process.stderr.isTTY)) {
    say(
      "firstamp: this is not a terminal, so it cannot ask before it switches an output on: add --json or --yes; nothing was touched",
    );
    return false;
  }
  return await askYesNo(
    "Are the leads of every supply free, with no board on them? An output will be switched on at 0 V.",
    new AbortController().signal,
  );
}

function documentOf(link: LookedAtLink & { words: string }): Record<string, unknown> {
  const { identity } = link;
  return {
    address: link.address,
    words: link.words,
    answered: identity !== null,
    identity: identity?.raw ?? null,
    maker: identity?.maker ?? null,
    model: identity?.model ?? null,
    serialNumber: identity?.serialNumber ?? null,
    kind: link.kind,
    driver: link.driver,
    why: link.why,
    problem: link.problem,
  };
}

function inWords(link: LookedAtLink, words: string): string[] {
  const lines = [`${link.address}${words === "" ? "" : `  (${words})`}`];
  if (link.identity !== null) lines.push(`  answers: ${link.identity.raw}`);
  if (link.driver !== null) lines.push(`  ${link.kind}, driver ${link.driver}`);
  for (const each of link.why) lines.push(`    ${each}`);
  if (link.problem !== null) lines.push(`  ${link.problem}`);
  return lines;
}
