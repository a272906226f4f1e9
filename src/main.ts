#!/usr/bin/env node
import { Command } from "commander";
import { BenchError } from "../shared/bench-error.ts";
import { messageOf } from "../shared/words/message-of.ts";
import { EXIT, exitCodeOf } from "./command/input/exit-code.ts";
import { outliveReaders, PARSER_OUTPUT, say, shoutOutputUnknown } from "./command/text/people.ts";
import { leaveLostTerminal } from "./system/leave-lost-terminal.ts";
import { refuseDebugger } from "./system/refuse-debugger.ts";

/** One loader a command, so that a command loads what it needs when it runs and `--help` answers at once. */
const COMMANDS: Record<string, () => Promise<Command>> = {
  find: async () => (await import("./command/find.ts")).findCommand(),
  powerup: async () => (await import("./command/powerup.ts")).powerupCommand(),
  "null-leads": async () => (await import("./command/null-leads.ts")).nullLeadsCommand(),
  "lead-ohms": async () => (await import("./command/lead-ohms.ts")).leadOhmsCommand(),
  soak: async () => (await import("./command/soak.ts")).soakCommand(),
  cycle: async () => (await import("./command/cycle.ts")).cycleCommand(),
  margin: async () => (await import("./command/margin.ts")).marginCommand(),
  inject: async () => (await import("./command/inject.ts")).injectCommand(),
  sweep: async () => (await import("./command/sweep.ts")).sweepCommand(),
  classify: async () => (await import("./command/classify.ts")).classifyCommand(),
  diagnose: async () => (await import("./command/diagnose.ts")).diagnoseCommand(),
  "host-look": async () => (await import("./command/host-look.ts")).hostLookCommand(),
  "start-order": async () => (await import("./command/start-order.ts")).startOrderCommand(),
  job: async () => (await import("./command/job.ts")).jobCommand(),
  board: async () => (await import("./command/board.ts")).boardCommand(),
  shop: async () => (await import("./command/shop.ts")).shopCommand(),
  off: async () => (await import("./command/off.ts")).offCommand(),
  use: async () => (await import("./command/use.ts")).useCommand(),
  serve: async () => (await import("./command/serve.ts")).serveCommand(),
  simulate: async () => (await import("./command/simulate.ts")).simulateCommand(),
  try: async () => (await import("./command/try.ts")).tryCommand(),
};

const program = new Command("firstamp")
  .description("Puts the first ampere through an unknown circuit board under a current limit, and keeps the evidence.")
  .version("0.1.0")
  .addHelpText(
    "after",
    "\nExit codes: 0 as planned; 1 failed, output off; 2 bad input, nothing touched; 3 stopped because of the board, output off;\n4 the output could not be confirmed off; 5 no instrument answered.",
  );

const name = process.argv[2];
const load = name !== undefined && Object.hasOwn(COMMANDS, name) ? COMMANDS[name] : undefined;
if (load !== undefined) program.addCommand(await load());
else for (const each of Object.values(COMMANDS)) program.addCommand(await each());

outliveReaders();
refuseDebugger();
leaveLostTerminal();

for (const command of [program, ...program.commands, ...program.commands.flatMap((each) => each.commands)]) {
  command.configureOutput(PARSER_OUTPUT);
  command.showHelpAfterError("Nothing was touched; --help lists what there is.");
  command.exitOverride((error) => {
    // Help and version are answers; anything else the parser refuses is bad input.
    process.exit(error.exitCode === 0 ? EXIT.asPlanned : EXIT.badInput);
  });
}

/** Somebody sits before it and gave no command: they are asked what they want, in place of a list. */
const isAlone = name === undefined && process.stdin.isTTY && process.stdout.isTTY && process.stderr.isTTY;

try {
  if (isAlone) process.exitCode = await (await import("./command/setup/first-use.ts")).firstUse();
  else await program.parseAsync();
} catch (cause) {
  say(`firstamp: ${messageOf(cause)}`);
  if (!(cause instanceof BenchError) && cause instanceof Error) say(cause.stack ?? "");
  process.exitCode = exitCodeOf(cause);
  if (process.exitCode === EXIT.outputUnknown) shoutOutputUnknown();
}
