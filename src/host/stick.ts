#!/usr/bin/env node
import { createInterface } from "node:readline/promises";
import { parseArgs } from "node:util";
import { lookOnHost } from "./look-on-host.ts";

// The whole of `host-look` for a test host that has Node and nothing else; built into one file.

const USAGE = `Looks at the PCI devices of this Linux host and prints one JSON document.
Needs Node 20 or later; nothing is installed, and nothing is changed without --rescan.

  node host-look.mjs > look.json
  node host-look.mjs --watch > watch.jsonl     a line whenever something changes, until Ctrl-C
  node host-look.mjs --rescan                  scans the bus again first; asks before it does

Options: --sysfs DIR (in place of /sys), --every SECONDS (of --watch, 1 by default), --yes (does not ask), --help.
As root it also reads whether a slot holds a card and whether its link is up.
File it on the bench: firstamp job attach JOB look.json
`;

const say = (text: string): void => void process.stderr.write(`${text}\n`);

async function confirm(question: string): Promise<boolean> {
  if (!process.stdin.isTTY) {
    say("This is not a terminal, so it cannot ask: add --yes.");
    return false;
  }
  const terminal = createInterface({ input: process.stdin, output: process.stderr });
  try {
    return /^y(es)?$/i.test((await terminal.question(`${question} [y/N] `)).trim());
  } finally {
    terminal.close();
  }
}

function optionsOf() {
  const text = { type: "string" } as const;
  const flag = { type: "boolean", default: false } as const;
  return parseArgs({
    options: { sysfs: text, every: text, watch: flag, rescan: flag, yes: flag, help: flag, json: flag },
  }).values;
}

async function main(): Promise<number> {
  let options: ReturnType<typeof optionsOf>;
  try {
    options = optionsOf();
  } catch (cause) {
    say(`${cause instanceof Error ? cause.message : String(cause)}\n\n${USAGE}`);
    return 2;
  }
  if (options.help) {
    process.stdout.write(USAGE);
    return 0;
  }
  const everySeconds = Number(options.every ?? "1");
  if (!(everySeconds >= 0.05 && everySeconds <= 3600)) {
    say("--every should be seconds, 0.05 to 3600.");
    return 2;
  }
  const ended = new Promise<void>((resolve) => {
    process.once("SIGINT", resolve);
    process.once("SIGTERM", resolve);
  });
  const { watch, rescan, yes, sysfs = "/sys" } = options;
  return await lookOnHost(
    { sysfs, watch, everySeconds, rescan, yes },
    { print: (line) => void process.stdout.write(`${line}\n`), say, confirm, ended },
  );
}

process.exitCode = await main();
