import { Command, InvalidArgumentError } from "commander";

interface HostLookOptions {
  sysfs: string;
  every: number;
  watch?: boolean;
  rescan?: boolean;
  yes?: boolean;
  printScript?: boolean;
}

function parseEvery(text: string): number {
  const seconds = Number(text);
  if (seconds >= 0.05 && seconds <= 3600) return seconds;
  throw new InvalidArgumentError("It should be seconds, 0.05 to 3600.");
}

/** `host-look`: what a test host sees of its PCI devices. Touches no instrument. */
export function hostLookCommand(): Command {
  return new Command("host-look")
    .description("on a Linux test host: list the PCI devices with their links and errors, as one JSON document")
    .option("--sysfs <dir>", "look under this folder instead of /sys", "/sys")
    .option("--watch", "keep looking, and print a line whenever something changes; Ctrl-C ends it")
    .option("--every <seconds>", "with --watch: time between two looks", parseEvery, 1)
    .option("--rescan", "make the host scan its bus again first; asks before it does, and needs root")
    .option("--yes", "do not ask before the bus is scanned again")
    .option("--json", "the document is JSON with or without this")
    .option(
      "--print-script",
      "print one file that does the same on a host without firstamp; the host needs Node 20 or later",
    )
    .addHelpText(
      "after",
      `
Examples:
  firstamp host-look --print-script > host-look.mjs      then, on the test host: node host-look.mjs > look.json
  firstamp host-look --watch > watch.jsonl
  firstamp job attach JOB look.json                      files it and says what it means

Exit codes: 0 looked; 1 the host refused the scan; 2 bad input, nothing changed.`,
    )
    .action(async (options: HostLookOptions) => {
      if (options.printScript === true) {
        const [{ readFile }, { inProgram }, { printAsIs }] = await Promise.all([
          import("node:fs/promises"),
          import("../system/in-program.ts"),
          import("./text/people.ts"),
        ]);
        printAsIs(await readFile(inProgram("host/stick.js"), "utf8"));
        return;
      }
      const [{ lookOnHost }, { askYesNo }, { printAsIs, say }] = await Promise.all([
        import("../host/look-on-host.ts"),
        import("./power/ask-yes-no.ts"),
        import("./text/people.ts"),
      ]);
      const over = new AbortController();
      const ended = new Promise<void>((resolve) => {
        over.signal.addEventListener("abort", () => resolve());
      });
      for (const signal of ["SIGINT", "SIGTERM"]) process.once(signal, () => over.abort());
      process.exitCode = await lookOnHost(
        {
          sysfs: options.sysfs,
          everySeconds: options.every,
          watch: options.watch === true,
          rescan: options.rescan === true,
          yes: options.yes === true,
        },
        {
          print: (line) => printAsIs(`${line}\n`),
          say,
          confirm: async (question) => {
            if (process.stdin.isTTY) return await askYesNo(question, over.signal);
            say("firstamp: this is not a terminal, so it cannot ask: add --yes");
            return false;
          },
          ended,
        },
      );
    });
}
