import path from "node:path";
import { namesFor, type ProposedFeed, proposeBench, proposedFeeds } from "../../../shared/files/propose-bench.ts";
import type { FoundLink } from "../../../shared/files/setup.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { loadDrivers } from "../../instrument/load-drivers.ts";
import { openLink } from "../../link/open-link.ts";
import { realClock } from "../../system/real-clock.ts";
import { EXIT } from "../input/exit-code.ts";
import { askYesNo } from "../power/ask-yes-no.ts";
import { say } from "../text/people.ts";
import { askText } from "./ask-text.ts";
import { checkOpenLeads } from "./check-open-leads.ts";
import { type Candidate, candidatesFor, foundLink, lookAt } from "./look-for-instruments.ts";
import { lookAtPlace, writeBenchFile } from "./write-bench-file.ts";

/** A person went away from a question: Ctrl-C, or the end of the input. */
class Left extends Error {}

const asked = async (question: string, byEnter: string): Promise<string> => {
  const answer = await askText(question, byEnter);
  if (answer === null) throw new Left();
  return answer;
};
const leaving = new AbortController();
const yes = async (question: string): Promise<boolean> => {
  const answer = await askYesNo(question, leaving.signal);
  if (leaving.signal.aborted) throw new Left();
  return answer;
};

/** As the bench file's schema has it: a letter, then letters, digits, _ or -. */
const FEED_NAME = /^[A-Za-z][A-Za-z0-9_-]{0,31}$/;

/**
 * The first use, which `firstamp` alone begins on a terminal: finds instruments, writes a bench file, checks it with open leads, or rehearses
 * on a simulated bench. It asks before it opens a port, replaces a file or sets anything, and switches nothing real on.
 */
export async function firstUse(): Promise<number> {
  const leave = (): void => leaving.abort();
  process.once("SIGINT", leave);
  try {
    say(
      "firstamp sets up a bench: it looks for instruments and writes a bench file. `firstamp --help` lists the commands.",
    );
    return await setUp();
  } catch (cause) {
    if (!(cause instanceof Left)) throw cause;
    say("You left the set-up; nothing was switched on.");
    return EXIT.badInput;
  } finally {
    process.off("SIGINT", leave);
  }
}

async function setUp(): Promise<number> {
  const { drivers } = await loadDrivers(null);
  const found = await look(drivers);
  const supplies = namesFor(found).filter((each) => each.kind === "supply");
  if (supplies.length === 0) {
    say(found.length === 0 ? "No instrument answered." : "No supply answered. A board cannot be powered without one.");
    return await rehearse(EXIT.nothingAnswered);
  }
  const bench = proposeBench(found, await feedsOf(supplies.map((each) => each.name)));
  const file = await write(bench);
  if (
    await yes(
      "Check the supplies now? The leads must be free, with no board on them. Each supply is set to 0 V, stays off, and is read.",
    )
  ) {
    const findings = await checkOpenLeads({ bench, drivers, ownDrivers: {}, clock: realClock, openLink });
    for (const { name, ok, says } of findings) say(`${ok ? "✓" : "✕"} ${name}: ${says}`);
    if (findings.some((each) => !each.ok)) {
      say(
        "The bench file is written, but the check did not pass. Correct what is marked ✕ before you connect a board.",
      );
      return EXIT.failed;
    }
  }
  say(`Next: firstamp serve --bench ${file}; or, to set it once for every command: firstamp use ${file}`);
  return await rehearse(EXIT.asPlanned);
}

async function look(drivers: Parameters<typeof foundLink>[2]): Promise<FoundLink[]> {
  const addresses: string[] = [];
  let candidates: Candidate[] = await candidatesFor([], { bench: null });
  for (;;) {
    const more = await asked("Address of an instrument on the network, such as TCPIP0::192.0.2.20::5025::SOCKET:", "");
    if (more === "") break;
    try {
      candidates = await candidatesFor([...addresses, more], { bench: null });
      addresses.push(more);
    } catch (cause) {
      say(messageOf(cause));
    }
  }
  if (candidates.length === 0) {
    say("This machine has no serial port and no USB instrument, and no address was given.");
    return [];
  }
  say("The program would open these addresses one after the other and ask each who is there:");
  for (const { address, words } of candidates) say(`  ${address}${words === "" ? "" : `  (${words})`}`);
  if (!(await yes("Opening a port resets some instruments, so no board may be on. Open them now?"))) return [];
  const found: FoundLink[] = [];
  for (const candidate of candidates) {
    say(`looking at ${candidate.address} …`);
    const link = foundLink(await lookAt(candidate, { drivers, own: {} }), candidate.words, drivers);
    if (link.identity !== null) say(`  answers: ${link.identity}`);
    if (link.driver !== null) say(`  ${link.kind}, driver ${link.driver}: ${link.describes}`);
    if (link.problem !== null) say(`  ${link.problem}`);
    found.push(link);
  }
  return found.filter((each) => each.identity !== null);
}

async function feedsOf(supplies: readonly string[]): Promise<ProposedFeed[]> {
  const feeds: ProposedFeed[] = [];
  for (const proposed of proposedFeeds(supplies)) {
    for (;;) {
      const feed = await asked(
        `Which feed of the board does channel ${proposed.channel} of ${proposed.supply} power? (aux, slot12, slot3v3 …)`,
        proposed.feed,
      );
      const isTaken = feeds.some((each) => each.feed === feed);
      if (FEED_NAME.test(feed) && !isTaken) {
        feeds.push({ ...proposed, feed });
        break;
      }
      say(isTaken ? `${feed} already has a supply.` : "A name is a letter followed by letters, digits, _ or -.");
    }
  }
  return feeds;
}

/** Asks where, and before a bench file is replaced; answers with the path as it was given. */
async function write(bench: ReturnType<typeof proposeBench>): Promise<string> {
  for (;;) {
    const file = await asked("Where shall the bench file be written?", "bench.json");
    const full = path.resolve(file);
    try {
      const isThere = (await lookAtPlace(full)) === "bench-file";
      if (isThere && !(await yes(`${file} is already a bench file. Replace it?`))) continue;
      await writeBenchFile(full, bench, { replace: isThere });
      say(`Written: ${full}`);
      return file;
    } catch (cause) {
      if (cause instanceof Left) throw cause;
      say(messageOf(cause));
    }
  }
}

async function rehearse(otherwise: number): Promise<number> {
  if (!(await yes("Rehearse on a simulated bench now? Nothing real is energised; a page opens for it.")))
    return otherwise;
  const { tryOut } = await import("../serve/try-run.ts");
  return await tryOut({ scenario: "normal", dialect: "numbered", port: 0 });
}
